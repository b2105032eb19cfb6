"""Haze and transmittance from four frames: with and without a black spot, with and without the plaque."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import log, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from voidless.errors import InputError
from voidless.measure.optics.bench import Bench, check_bench
from voidless.measure.optics.frames import BRIGHTEST
from voidless.measure.optics.spot import NARROW_DEG, REGION_DEG, find_spot, off_axis
from voidless.measure.series.trend import coverage_factor
from voidless.physics.optics.fresnel import plate_transmittance

__all__ = ["Frames", "Haze", "haze_of_readings", "reduce_haze"]

Floats = NDArray[np.float64]

_VEIL_WITHIN = 0.05
"""Standard uncertainty of the camera's veil with a plaque, as share of the veil without. [1] Assumed, no source."""
_LAMP_DRIFT = 0.005
"""Standard uncertainty of the lamp between frames where one set alone was taken. [1] Common practice, no source."""
_PANEL_REFLECTS = 0.6
"""Largest reflectance of a diffuser before a lamp. [1] Assumed, no source."""
_WORST_VEIL = 0.2
_SECTORS = 8
DETECTION = 3.0
"""Standard uncertainties at no haze that must be passed before haze is claimed. [1]"""


@dataclass(frozen=True)
class Frames:
    """
    One set of frames of one place of a plaque, dark taken off. [(h, w) float arrays, share of full scale]

    Attributes
    ----------
    open, plaque : (h, w) float array
        Without spot: panel alone, panel through the plaque.
    spot, plaque_spot : (h, w) float array
        The same with the spot on the panel.
    """

    open: Floats
    plaque: Floats
    spot: Floats
    plaque_spot: Floats


@dataclass(frozen=True)
class Haze:
    """
    Haze and transmittance of one place of a plaque.

    Attributes
    ----------
    haze_pct, haze_uncertainty_pct : float
        By the definition of ASTM D1003, and its standard uncertainty. [%]
    haze_low_pct, haze_high_pct : float
        95 % interval; its low end may be below 0. [%]
    detection_pct : float
        Haze below which none is claimed. [%]
    transmittance_pct, transmittance_uncertainty_pct : float
        Total, and its standard uncertainty. [%]
    veil_pct : float
        Light that the camera itself puts on the spot. [%]
    spread_per_deg2 : float
        How haze grows with the square of the distance from the axis; it measures how narrow the lobe is. [%/°²]
    sets : int
        Sets of frames. [1]
    shares : tuple of (str, float)
        Sources of the uncertainty of haze, each with its effect. [%]
    rings : (k, 2) float array
        Angle off axis and haze, for a plot. [°], [%]
    warnings : tuple of str
        What a person should know.
    """

    haze_pct: float
    haze_uncertainty_pct: float
    haze_low_pct: float
    haze_high_pct: float
    detection_pct: float
    transmittance_pct: float
    transmittance_uncertainty_pct: float
    veil_pct: float
    spread_per_deg2: float
    sets: int
    shares: tuple[tuple[str, float], ...]
    rings: Floats
    warnings: tuple[str, ...]


def haze_of_readings(
    incident: float, total: float, instrument: float, scattered: float
) -> tuple[float, float]:
    """
    Return total transmittance and haze of the four readings of ASTM D1003.

    Parameters
    ----------
    incident, total : float
        T1, light that falls on the plaque; T2, all that passes it. [1]
    instrument, scattered : float
        T3, light scattered by the instrument; T4, by instrument and plaque. [1]

    Returns
    -------
    transmittance : float
        T2/T1. [1]
    haze : float
        T4/T2 - T3/T1. [1]

    Raises
    ------
    InputError
        The incident or the total light is not positive.

    Notes
    -----
    Wording of the four readings from memory; the algebra is exact.

    Examples
    --------
    >>> [round(x, 6) for x in haze_of_readings(100.0, 90.0, 1.0, 5.0)]
    [0.9, 0.045556]
    """
    if not (incident > 0 and total > 0):
        raise InputError("haze", f"readings {incident:g} and {total:g}", "light above 0", "Check the frames.")
    return total / incident, scattered / total - instrument / incident


def _axis_haze(
    frames: Frames, box: tuple[slice, slice], angle: Floats, where: str
) -> tuple[Floats, float, float]:
    """Return intercept and slope of haze against the squared angle, transmittance, and veil."""
    near = angle <= REGION_DEG
    t1, t2, t3, t4 = (
        each[box][near] for each in (frames.open, frames.plaque, frames.spot, frames.plaque_spot)
    )
    if not (np.all(np.isfinite(t2)) and t1.mean() > 0.02 and t2.mean() > 0.002):
        raise InputError(
            where, "too little light about the spot", "frames exposed to half of full scale", "Expose longer."
        )
    if not (np.all(t1 > 0) and np.all(t2 > 0)):
        raise InputError(
            where, "pixels without light about the spot", "an evenly lit panel", "Check the frames."
        )
    haze = t4 / t2 - t3 / t1
    design = np.column_stack([np.ones(int(near.sum())), angle[near] ** 2])
    fitted = np.linalg.lstsq(design, haze, rcond=None)[0]
    return np.asarray(fitted), float((t2 / t1).mean()), float(t3.mean() / t1.mean())


def reduce_haze(sets: Sequence[Frames], bench: Bench, where: str = "haze") -> Haze:
    """
    Return haze and transmittance of one place of a plaque from one or more sets of frames.

    Parameters
    ----------
    sets : sequence of Frames
        Taken one after the other (interleaved), dark taken off; each holds four frames.
    bench : Bench
        Geometry.
    where : str
        Name of the plaque, for errors.

    Returns
    -------
    haze : Haze
        With the interval of its definition; a sphere instrument itself departs from the definition by up to 20 %
        of the value on some plaques.

    Raises
    ------
    InputError
        Frames are burnt out or too dark, the spot is not of 2.5°, the veil is large, or more light passes than
        the faces let.

    Notes
    -----
    By reciprocity a pixel that looks along the normal through the plaque at an even panel reads the total
    transmittance, and with all directions within 2.5° blackened the part that is scattered farther: T4/T2 - T3/T1
    is the haze of ASTM D1003. Off the axis the spot is seen askew and haze grows with the square of the angle: the
    intercept is taken, and the same growth gives the effect of the pupil, whose mean squared angle is half its
    own. Light that one face bends crosses the plaque at an angle smaller by the index, so what the far face scatters
    sees the spot from farther off by the thickness over the index: the middle is taken, either end is possible. What
    a finite panel misses lies between nothing and a Lambertian lobe: half is put back, a rectangular law remains.
    Derived and simulated; no comparison with an instrument is known.
    """
    check_bench(bench, where)
    if not sets:
        raise InputError(where, "no frames", "sets of four", "Take the frames.")
    for frames in sets:
        brightest = max(float(each.max()) for each in (frames.open, frames.plaque))
        if not brightest < BRIGHTEST:
            raise InputError(
                where, "burnt-out pixels", f"below {BRIGHTEST:g} of full scale", "Expose shorter."
            )
    spot = find_spot(sets[0].open, sets[0].spot, where)
    box, angle = off_axis(sets[0].open.shape, spot)
    found = [_axis_haze(frames, box, angle, where) for frames in sets]
    fits, through, veils = (
        np.array([fit for fit, _, _ in found]),
        [t for _, t, _ in found],
        [v for _, _, v in found],
    )
    veil = float(np.mean(veils))
    if not veil < _WORST_VEIL:
        raise InputError(
            where, f"the spot reads {100 * veil:.0f} % without plaque", "below 20 %", "Shade the lens."
        )
    growth = float(fits[:, 1].mean()), _uneven(sets, (box, angle))
    each = fits[:, 0] - fits[:, 1] * 0.5 * bench.pupil_deg**2
    return _finished(each, growth, np.array(through), veil, sets, bench, where, (box, angle))


def _finished(
    each: Floats,
    growth: tuple[float, float],
    through: Floats,
    veil: float,
    sets: Sequence[Frames],
    bench: Bench,
    where: str,
    place: tuple[tuple[slice, slice], Floats],
) -> Haze:
    n = len(each)
    raw = float(each.mean())
    scatter = float(each.std(ddof=1)) / sqrt(n) if n > 1 else _single(sets[0], place)
    reach = float(stdtrit(n - 1, 0.975)) if n > 1 else 1.96
    lost = _panel_loss(raw, bench)
    value, angle, depth = _at_narrow(raw + 0.5 * lost, growth, bench)
    fixed = (
        ("veil of the camera", veil * _VEIL_WITHIN),
        ("panel that ends", 0.5 * lost / sqrt(3.0)),
        ("half-angle of the spot", angle),
        ("depth of what scatters", depth),
        ("lamp between frames", (value + veil) * _LAMP_DRIFT if n == 1 else 0.0),
    )
    shared = sqrt(sum(effect**2 for _, effect in fixed))
    half = sqrt((reach * scatter) ** 2 + (1.96 * shared) ** 2)
    at_none = sqrt((scatter * reach / 1.96) ** 2 + (veil * _VEIL_WITHIN) ** 2)
    passed, passed_spread = _transmittance(through, raw, bench, where)
    return Haze(
        100 * value,
        100 * half / 1.96,
        100 * (value - half),
        100 * (value + half),
        100 * DETECTION * at_none,
        100 * passed,
        100 * passed_spread,
        100 * veil,
        100 * growth[0],
        n,
        (("frames", 100 * scatter), *((name, 100 * effect) for name, effect in fixed)),
        _rings(sets, place),
        _words(where, n, veil, value, bench),
    )


def _at_narrow(haze: float, growth: tuple[float, float], bench: Bench) -> tuple[float, float, float]:
    """
    Return haze beyond 2.5° of haze beyond the spot's half-angle, and what its angle and the depth of scatter leave.

    Of lobes h_i = S_i exp(-x_i/2), x_i the squared angle over that of the lobe, haze falls with the logarithm of the
    angle by Σ h_i x_i and grows off the axis by Σ h_i x_i²/4 per squared share of the angle: by Cauchy's inequality the
    fall is at most 2 √(growth × haze), as it is for one lobe, and by the log-sum inequality at most 2 h ln(1/h).
    """
    slope, doubt = growth
    known = min(max(haze, 1e-6), 1.0)
    fall, most = (
        min(2.0 * bench.half_angle_deg * sqrt(max(grown, 0.0) * known), 2.0 * known * log(1.0 / known))
        for grown in (slope, slope + 2.0 * doubt)
    )
    off = log(bench.half_angle_deg / NARROW_DEG)
    gauges = np.hypot(
        bench.distance_uncertainty_mm / bench.reach_mm, bench.spot_uncertainty_mm / bench.spot_mm
    )
    # the true fall lies between nothing and the most: rectangular
    angle = most * float(np.hypot(gauges, off / sqrt(12.0)))
    # most plaques scatter at one face, seldom evenly through: the law of two equal chances
    return haze + fall * off, angle, most * bench.half_depth_mm / bench.reach_mm


def _uneven(sets: Sequence[Frames], place: tuple[tuple[slice, slice], Floats]) -> float:
    """
    Return the standard error of haze's growth with the squared angle, from eight sectors about the axis. [1/°²]

    Lobes grow alike to all sides; noise of the frames and unevenness of the plaque do not.
    """
    box, angle = place
    near = angle <= REGION_DEG
    haze = np.mean([each.plaque_spot[box][near] / each.plaque[box][near] for each in sets], axis=0)
    rows, columns = np.indices(angle.shape) - (np.array(angle.shape)[:, None, None] - 1) / 2.0
    turn = np.floor(np.arctan2(rows[near], columns[near]) / (2.0 * np.pi) * _SECTORS)
    sector = turn.astype(int) % _SECTORS
    haze, off = haze - haze.mean(), angle[near] ** 2
    off -= off.mean()
    weight = np.bincount(sector, off**2, _SECTORS)
    slopes = np.bincount(sector, off * haze, _SECTORS) / np.maximum(weight, 1e-12)
    return float(slopes.std(ddof=1)) / sqrt(_SECTORS)


def _single(frames: Frames, place: tuple[tuple[slice, slice], Floats]) -> float:
    """Return the standard error of the intercept from the scatter of pixels, for a single set."""
    box, angle = place
    near = angle <= REGION_DEG
    haze = (
        frames.plaque_spot[box][near] / frames.plaque[box][near]
        - frames.spot[box][near] / frames.open[box][near]
    )
    # a straight line in the squared angle over a disc: the intercept has four times the variance of the mean
    return 2.0 * float(haze.std()) / sqrt(float(near.sum()))


def _panel_loss(haze: float, bench: Bench) -> float:
    """Return the haze that a Lambertian lobe would lose past the panel's edge. [1]"""
    wide = 0.5 * bench.panel_mm / bench.distance_mm
    missed = max(haze, 0.0) / (1.0 + wide**2)
    return missed * (1.0 - max(haze, 0.0))


def _transmittance(through: Floats, haze: float, bench: Bench, where: str) -> tuple[float, float]:
    n = len(through)
    raw = float(through.mean())
    scatter = _LAMP_DRIFT * raw
    if n > 1:
        scatter = float(through.std(ddof=1)) / sqrt(n) * coverage_factor(n - 1)
    half = 0.5 * bench.plaque_mm / bench.distance_mm
    # light goes from plaque to panel and back: it adds between nothing and this
    added = raw * _PANEL_REFLECTS * (1.0 - raw if raw < 1.0 else 0.0) * half**2 / (1.0 + half**2)
    lost = raw * max(haze, 0.0) / (1.0 + (0.5 * bench.panel_mm / bench.distance_mm) ** 2)
    value = raw - 0.5 * added + 0.5 * lost
    spread = sqrt(scatter**2 + ((added + lost) ** 2) / 12.0)
    ceiling = float(plate_transmittance(bench.index))
    if not value <= ceiling + 2.0 * spread:
        raise InputError(
            where,
            f"{100 * value:.1f} % of the light passes",
            f"at most {100 * ceiling:.1f} %, what two smooth faces of index {bench.index:g} let pass",
            "A calibration fault: check dark frames, exposure and lamp, and the index.",
        )
    return value, spread


def _rings(sets: Sequence[Frames], place: tuple[tuple[slice, slice], Floats]) -> Floats:
    box, angle = place
    frames = sets[0]
    haze = frames.plaque_spot[box] / frames.plaque[box] - frames.spot[box] / frames.open[box]
    edges = np.linspace(0.0, REGION_DEG, 9)
    rows = []
    for low, high in pairwise(edges):
        there = (angle >= low) & (angle < high)
        if there.any():
            rows.append((float(angle[there].mean()), 100.0 * float(haze[there].mean())))
    return np.array(rows).reshape(-1, 2)


def _words(where: str, n: int, veil: float, haze: float, bench: Bench) -> tuple[str, ...]:
    words = []
    if n < 3:
        words.append(f"{where}: {n} set(s) of frames; three or more, interleaved, show the lamp's drift")
    if veil > 0.01:
        words.append(f"{where}: the camera's veil is {100 * veil:.1f} %; below 1 % is wanted")
    if haze > 0.30:
        words.append(f"{where}: haze above 30 % is beyond the scope of ASTM D1003 (a diffuser; goniometry)")
    if bench.panel_mm < 6.0 * bench.distance_mm:
        words.append(f"{where}: the panel is narrower than six distances; wide lobes are partly missed")
    if bench.pupil_deg > 0.25:
        words.append(f"{where}: a pupil of {bench.pupil_deg:g}°; 0.25° or less is wanted")
    return tuple(words)
