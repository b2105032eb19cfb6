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
from voidless.twin.chain import run_chain
from voidless.twin.context import context_of
from voidless.twin.fast import predict
from voidless.twin.ground import ground_of

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


GROUND, CONTEXT = ground_of(ABS, MACHINE), context_of({})
FITTED = ("flow_offset_log", "closure_log", "fill_scatter_log")
PURE_ERROR = 0.0058, 0.020  # of void share and contact, from repeats


def _run(nozzle, speed, theta=()):
    named = dict(zip(FITTED, theta, strict=False))
    chain = run_chain(_columns(nozzle, speed), GROUND, CONTEXT, named)
    return chain.fill.gaps, chain.fill.contact_beads


def _fit(rows):
    """Return three constants, shared by both responses, that fit some rows best."""

    def misfit(theta):
        voids, bond = _run(NOZZLE[rows], SPEED[rows], theta)
        return np.concatenate([(voids - VOIDS[rows]) / PURE_ERROR[0], (bond - BOND[rows]) / PURE_ERROR[1]])

    return least_squares(misfit, np.zeros(3), bounds=([-0.2, -4.0, -2.0], [0.2, 4.0, 2.0])).x


def _rms(values):
    return float(np.sqrt(np.mean(np.square(values))))


def test_rigid_beads_at_their_own_width():
    """The data's first porosity, 0.18777660702723, is the stadium formula."""
    assert np.unique(RIGID) == pytest.approx([0.18777660702723], abs=1e-14)
    assert void_share(0.7, 0.8, 0.8) == pytest.approx(0.18777660702723, abs=1e-14)


def test_signs_of_temperature_and_speed():
    """Voids fall with temperature and rise with speed, in the data and in the twin; contact the reverse."""
    for voids, bond in ((VOIDS, BOND), _run(NOZZLE, SPEED)):
        plane = np.column_stack([np.ones(39), NOZZLE, SPEED])
        to_voids, to_bond = (np.linalg.lstsq(plane, y, rcond=None)[0] for y in (voids, bond))
        assert to_voids[1] < 0.0 < to_voids[2]
        assert to_bond[2] < 0.0 < to_bond[1]


def test_speed_ladder_at_239_degrees():
    """25.2 to 40.4 mm/s: measured 0.82 to 5.65 %; the twin rises at every step."""
    ladder = np.array([25.2, 29.0, 32.8, 36.6, 40.4])
    voids, bond = _run(np.full(5, 239.0), ladder)
    assert np.all(np.diff(voids) > 0.0)
    assert np.all(np.diff(bond) < 0.0)


def test_unfitted_means_and_ranking():
    """
    Without any fit: mean void share within a factor of 1.5, and correlation above 0.7.

    Reached when this was written: mean 2.8 % against 2.6 %, root mean square 0.0115 (plain linear fit of the
    data itself: 0.0103), correlation 0.82; contact 0.76 against 0.75, root mean square 0.070 (linear fit
    0.055).
    """
    voids, bond = _run(NOZZLE, SPEED)
    assert 1 / 1.5 < voids.mean() / VOIDS.mean() < 1.5
    assert abs(bond.mean() - BOND.mean()) < 0.1
    assert np.corrcoef(voids, VOIDS)[0, 1] > 0.7
    assert np.corrcoef(bond, BOND)[0, 1] > 0.7


def test_bands_cover_the_builds():
    """95 % bands of the void share before any data hold at least 90 % of the 39 measured ones."""
    found = predict(_columns(NOZZLE, SPEED), ABS, MACHINE).responses["void_pct"]
    inside = (found.low <= 100 * VOIDS) & (found.high >= 100 * VOIDS)
    assert inside.mean() >= 0.9


def test_three_shared_constants_beat_the_linear_fit():
    """
    Plain linear fits, three constants per response, leave 0.0103 and 0.055; physics needs three for both.

    Reached when this was written: 0.0083 and 0.048. The repeats alone scatter by 0.0058 and 0.020.
    """
    voids, bond = _run(NOZZLE, SPEED, _fit(np.arange(39)))
    assert _rms(voids - VOIDS) < 0.0103
    assert _rms(bond - BOND) < 0.055


@pytest.mark.slow
def test_settings_left_out_are_predicted():
    """
    Leave one of the 20 settings out, fit the three constants, predict it: no worse than the linear fit.

    Reached when this was written: 0.0091 and 0.053.
    """
    settings = np.unique(TABLE[:, :2], axis=0)
    errors = []
    for nozzle, speed in settings:
        left_out = (nozzle == NOZZLE) & (speed == SPEED)
        voids, bond = _run(NOZZLE[left_out], SPEED[left_out], _fit(np.flatnonzero(~left_out)))
        errors.append(np.column_stack([voids - VOIDS[left_out], bond - BOND[left_out]]))
    found = np.concatenate(errors)
    assert len(settings) == 20
    assert _rms(found[:, 0]) < 0.0103, _rms(found[:, 0])
    assert _rms(found[:, 1]) < 0.055, _rms(found[:, 1])
