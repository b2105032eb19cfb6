"""
The 39 ABS builds of Kapusuzoglu and Mahadevan, JOM 72 (2020) 4695 (MIT, tests/data/bond-and-porosity).

Beads of 0.7 by 0.8 mm, so nothing here proves the twin at 0.12 mm layers. Nothing is fitted: the library's
ABS on a 0.6 mm machine; bed, chamber and filament of the study are not stated and are assumed as below.
"""

from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import least_squares

from voidless.beads.stadium import void_share
from voidless.machines import load_machine
from voidless.materials import load_material
from voidless.physics.fill.contact import contact_in_layer
from voidless.twin.chain import run_chain
from voidless.twin.context import context_of
from voidless.twin.fast import predict
from voidless.twin.ground import ground_of
from voidless.twin.links import LINKS
from voidless.twin.parameters import PARAMETERS, prior_sd

DATA = Path(__file__).parents[1] / "data" / "bond-and-porosity" / "labeled_data.dat"
TABLE = np.loadtxt(DATA)
NOZZLE, SPEED, BOND, VOIDS, RIGID = TABLE[:, 0], TABLE[:, 1], TABLE[:, 9], TABLE[:, 10], TABLE[:, 11]
ASSUMED = {
    "layer_mm": 0.7,
    "width_mm": 0.8,
    "flow_pct": 100.0,
    "contours": 0.0,
    "raster_deg": 0.0,
    "raster_step_deg": 0.0,
    "overlap_pct": 20.0,
    "bed_c": 100.0,
    "chamber_c": 70.0,
    "fan_pct": 0.0,
}
ABS, MACHINE = load_material("abs"), load_machine("bench-0.6")


def _columns(nozzle, speed):
    size = len(nozzle)
    return {name: np.full(size, value) for name, value in ASSUMED.items()} | {
        "nozzle_c": np.asarray(nozzle, dtype=float),
        "speed_mm_s": np.asarray(speed, dtype=float),
    }


# 15 roads of 35 mm by 0.8 mm in each layer, six layers of 0.7 mm; the rest follows.
SITE = {
    "flat_area_mm2": 15 * 35 * 0.8,
    "flat_slenderness_1_mm": 2 * (35 + 12) / (35 * 12),
    "flat_height_mm": 3.0,
    "flat_line_mm": 35.0,
}
GROUND, CONTEXT = ground_of(ABS, MACHINE), context_of(SITE)
FITTED = ("closure_log", "heating_log", "flow_offset_log")
START = np.array([0.0, -0.3, -0.01])
PURE_ERROR = np.array([0.0058, 0.020])  # of void share and contact, from repeats
LINEAR = np.array([0.0103, 0.055])  # residual spread of plain linear fits in temperature and speed
SETTINGS = np.unique(TABLE[:, :2], axis=0)


def _run(nozzle, speed, theta=(), names=FITTED):
    """Return void share and contact, (n, 2)."""
    named = dict(zip(names, theta, strict=False))
    chain = run_chain(_columns(nozzle, speed), GROUND, CONTEXT, named)
    return np.column_stack([chain.fill.gaps, chain.fill.contact_beads])


def _fit(rows):
    """Return three constants, shared by both responses, that fit some rows best, and their covariance."""
    measured = np.column_stack([VOIDS, BOND])[rows]

    def misfit(theta):
        return ((_run(NOZZLE[rows], SPEED[rows], theta) - measured) / PURE_ERROR).ravel()

    found = least_squares(misfit, START, bounds=([-4.0, -2.0, -0.2], [4.0, 2.0, 0.2]))
    spread = 2.0 * found.cost / (2 * len(rows) - 3)
    return found.x, spread * np.linalg.inv(found.jac.T @ found.jac)


def _rms(values):
    return np.sqrt(np.mean(np.square(values), axis=0))


@pytest.fixture(scope="module")
def left_out():
    """Return error and half-width of the 95 % band of each build, predicted from the other settings alone."""
    errors, halves = np.empty((39, 2)), np.empty((39, 2))
    for nozzle, speed in SETTINGS:
        out = (nozzle == NOZZLE) & (speed == SPEED)
        rows = np.flatnonzero(~out)
        theta, covariance = _fit(rows)
        residual = _rms(_run(NOZZLE[rows], SPEED[rows], theta) - np.column_stack([VOIDS, BOND])[rows])
        at = _run(NOZZLE[out], SPEED[out], theta)
        steps = np.sqrt(np.diag(covariance))
        slopes = np.stack(
            [
                (_run(NOZZLE[out], SPEED[out], theta + e) - at) / s
                for e, s in zip(np.diag(steps), steps, strict=True)
            ]
        )
        of_theta = np.einsum("anr,ab,bnr->nr", slopes, covariance, slopes)
        errors[out] = at - np.column_stack([VOIDS, BOND])[out]
        halves[out] = 1.96 * np.sqrt(of_theta + residual**2)
    return errors, halves


def test_rigid_beads_at_their_own_width():
    """The data's first porosity, 0.18777660702723, is the stadium formula."""
    assert np.unique(RIGID) == pytest.approx([0.18777660702723], abs=1e-14)
    assert void_share(0.7, 0.8, 0.8) == pytest.approx(0.18777660702723, abs=1e-14)


def test_signs_of_temperature_and_speed():
    """Voids fall with temperature and rise with speed, in the data and in the twin; contact the reverse."""
    for voids, bond in ((VOIDS, BOND), _run(NOZZLE, SPEED).T):
        plane = np.column_stack([np.ones(39), NOZZLE, SPEED])
        to_voids, to_bond = (np.linalg.lstsq(plane, y, rcond=None)[0] for y in (voids, bond))
        assert to_voids[1] < 0.0 < to_voids[2]
        assert to_bond[2] < 0.0 < to_bond[1]


def test_speed_ladder_at_239_degrees():
    """25.2 to 40.4 mm/s: measured 0.82 to 5.65 %; the fitted twin rises at every step, 0.9 to 6.3 %."""
    ladder = np.array([25.2, 29.0, 32.8, 36.6, 40.4])
    voids, bond = _run(np.full(5, 239.0), ladder, _fit(np.arange(39))[0]).T
    assert np.all(np.diff(voids) > 0.0)
    assert np.all(np.diff(bond) < 0.0)
    assert voids[[0, -1]] == pytest.approx([0.0082, 0.0565], abs=2 * PURE_ERROR[0])


def test_contact_follows_from_the_measured_voids():
    """Two limiting shapes of a void, no constant: within the scatter of repeats (0.020; reached 0.0208)."""
    assert _rms(contact_in_layer(VOIDS, RIGID) - BOND) < 0.0215


def test_unfitted_bands_cover_the_builds():
    """
    95 % bands before any data hold at least 90 % of the builds, both responses.

    They are far wider than four times the residual spread of a linear fit (4.1 % and 0.22; reached: see
    docs/methods/bead-and-fill.md): the viscosity of the grade and the pressure under the nozzle are unknown
    within factors, and the strand leaves the melt zone colder than the twin was ever checked for. Two or three
    builds make them that narrow: see below.
    """
    found = predict(_columns(NOZZLE, SPEED), ABS, MACHINE, SITE).responses["void_pct"]
    assert np.mean((found.low <= 100 * VOIDS) & (found.high >= 100 * VOIDS)) >= 0.9
    rng = np.random.default_rng(5)
    draws = []
    for _ in range(400):
        theta = {p.name: prior_sd(p, ABS, MACHINE) * rng.standard_normal() for p in PARAMETERS}
        draws.append(run_chain(_columns(NOZZLE, SPEED), GROUND, CONTEXT, theta).fill.contact_beads)
    low, high = np.quantile(draws, [0.025, 0.975], axis=0)
    assert np.mean((low <= BOND) & (high >= BOND)) >= 0.9


def test_three_shared_constants_reach_the_scatter_of_repeats():
    """Linear fits, three constants for each response, leave 0.0103 and 0.055; reached: 0.0054 and 0.0273."""
    found = _rms(_run(NOZZLE, SPEED, _fit(np.arange(39))[0]) - np.column_stack([VOIDS, BOND]))
    assert np.all(found < [0.0058, 0.030])


def test_fitted_constants_are_possible():
    """Pressure 1.0 to 1.4 MPa, the core heated at 0.7 of the plug's rate, flow 0.9 % short: each within 2 sd."""
    theta, covariance = _fit(np.arange(39))
    prior = {p.name: prior_sd(p, ABS, MACHINE) for p in PARAMETERS}
    assert np.all(np.abs(theta) < 2.0 * np.array([prior[name] for name in FITTED]))
    assert np.all(np.sqrt(np.diag(covariance)) < [0.25, 0.08, 0.003])


def test_settings_left_out_are_predicted(left_out):
    """
    Leave one of the 20 settings out, fit three constants for both responses, predict it.

    Asked: at most 0.0065 and 0.032. An exponential without physics, three constants for each response, reaches
    0.0057 and 0.030; repeats scatter by 0.0058 and 0.020. Reached when this was written: 0.0057 and 0.0304.
    """
    errors, _ = left_out
    assert len(SETTINGS) == 20
    assert np.all(_rms(errors) <= [0.0065, 0.032]), _rms(errors)


def test_bands_of_settings_left_out_are_narrow_and_true(left_out):
    """95 % bands from the other settings: 90 % of the builds inside, no wider than four linear residuals."""
    errors, halves = left_out
    assert np.all(np.mean(np.abs(errors) <= halves, axis=0) >= 0.9)
    assert np.all(np.mean(2.0 * halves, axis=0) <= 4.0 * LINEAR)


# What a few builds teach: one build of each of the first settings of a spread-out order is read, priors stay as they
# are, and the builds of all other settings are predicted. Every one of the 20 settings is first once.
MEASURED = np.column_stack([VOIDS, BOND])
# All priors that make more than 0.02 of the variance before any data; flow from build to build, 0.03 to 0.09, is in
# the scatter of repeats.
MOVED = ("flow_offset_log", "closure_log", "heating_log", "nozzle_offset_k")
PRIOR = np.array([prior_sd(p, ABS, MACHINE) for name in MOVED for p in PARAMETERS if p.name == name])
# The twin's own error on the log odds of void share. What three constants leave of contact beyond the scatter of
# repeats, 0.019, is 0.12; the 0.5 assumed for materials that were never checked would make the bands 1.7 times wide.
OWN_ERROR = 0.12


def _run_moved(rows, moved):
    """Return void share and contact of some builds, (n, 2)."""
    return _run(NOZZLE[rows], SPEED[rows], PRIOR * moved, MOVED)


def _root(voids):
    """Return a root of the covariance of both readings of a build: own error, carried to contact, and scatter."""
    voids = np.maximum(voids, 1e-3)
    own = OWN_ERROR * LINKS["void_pct"].slope(100.0 * voids) / 100.0
    step = 1e-4
    slope = (contact_in_layer(voids + step, RIGID[0]) - contact_in_layer(voids, RIGID[0])) / step
    both = own[:, None] * np.column_stack([np.ones_like(slope), slope])
    return np.linalg.cholesky(both[:, :, None] * both[:, None, :] + np.diag(PURE_ERROR**2))


def bands(rows, others, draws=150):
    """Return low and high of the 95 % bands of other builds after the builds of some rows were read, (n, 2) each."""
    whiten = np.linalg.inv(_root(VOIDS[rows]))

    def misfit(moved):
        away = np.einsum("nij,nj->ni", whiten, _run_moved(rows, moved) - MEASURED[rows])
        return np.concatenate([away.ravel(), moved])

    found = least_squares(misfit, np.zeros(len(MOVED)), bounds=(-4.0, 4.0))
    rng = np.random.default_rng(1)
    after = rng.multivariate_normal(found.x, np.linalg.inv(found.jac.T @ found.jac), draws)
    drawn = np.stack([_run_moved(others, moved) for moved in after])
    drawn += np.einsum("dnij,dnj->dni", [_root(one[:, 0]) for one in drawn], rng.normal(size=drawn.shape))
    low, high = np.quantile(drawn, [0.025, 0.975], axis=0)
    return low, high


def spread_order(first):
    """Return settings, each as far as can be from those before it."""
    place = (SETTINGS - SETTINGS.min(axis=0)) / np.ptp(SETTINGS, axis=0)
    order = [first]
    while len(order) < len(place):
        away = np.min([np.sum((place - place[k]) ** 2, axis=1) for k in order], axis=0)
        away[order] = -1.0
        order.append(int(np.argmax(away)))
    return order


def starts(count):
    """Yield rows of the builds that are read and of those of all other settings, for every first setting."""
    places = np.column_stack([NOZZLE, SPEED])
    of = np.array([np.flatnonzero(np.all(places == setting, axis=1))[0] for setting in SETTINGS])
    for first in range(len(SETTINGS)):
        taken = spread_order(first)[:count]
        known = np.any([np.all(places == SETTINGS[k], axis=1) for k in taken], axis=0)
        yield of[taken], np.flatnonzero(~known)


def after_builds(count):
    """Return share inside and width over four linear residuals, (20, 2) each: a row for every first setting."""
    inside, width = [], []
    for rows, others in starts(count):
        low, high = bands(rows, others)
        inside.append(np.mean((low <= MEASURED[others]) & (high >= MEASURED[others]), axis=0))
        width.append(np.mean(high - low, axis=0) / (4.0 * LINEAR))
    return np.array(inside), np.array(width)


def test_three_builds_make_bands_narrow_and_true():
    """
    After three builds bands are no wider than four linear residuals, and 90 % of the others inside.

    The residuals are those of all 39 builds. A linear fit needs three builds for its constants and has no band before
    a fourth.
    """
    inside, width = after_builds(3)
    assert np.all(inside.mean(axis=0) >= 0.9)
    assert np.all(width <= 1.0)


def test_two_builds_do_on_average():
    inside, width = after_builds(2)
    assert np.all(inside.mean(axis=0) >= 0.9)
    assert np.all(width.mean(axis=0) <= 1.0)
