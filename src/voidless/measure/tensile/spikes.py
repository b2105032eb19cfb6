"""Single readings of a force that stand apart from those beside them: electrical, no event of the specimen."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from voidless.measure.curves.read import Curve
from voidless.measure.series.noise import quick_noise, step_of

__all__ = ["spikes_of", "without_spikes"]

Floats = NDArray[np.float64]

# What makes a reading stand apart: our choices.
SHARE = 0.015
NOISES = 12.0
STEPS = 5.0
DIGITS = 3.0
BACK = 0.25
BESIDE = 4
MOST = 100
"""Readings of which one may stand apart. [1]"""


def spikes_of(force_n: Floats) -> NDArray[np.intp]:
    """
    Return the places of single readings that stand apart from the readings beside them.

    Parameters
    ----------
    force_n : (n,) float array
        Force. [N]

    Returns
    -------
    places : (k,) int array
        A reading counts that is off the middle of its two neighbours by 1.5 % of the largest force, 12 standard
        deviations of the noise, 3 last digits and 5 usual steps between readings, while the neighbours differ by less
        than a quarter of that: a slip or a break does not come back within one reading.
    """
    force = np.asarray(force_n, dtype=float)
    if force.size < 2 * BESIDE + 3:
        return np.empty(0, dtype=np.intp)
    off = np.abs(force[1:-1] - 0.5 * (force[:-2] + force[2:]))
    apart = np.abs(force[2:] - force[:-2])
    level = float(np.quantile(force, 0.98))
    wide = off > max(SHARE * level, NOISES * quick_noise(force), DIGITS * step_of(force))
    found = np.flatnonzero(wide & (apart < BACK * off)) + 1
    return np.array([place for place in found if off[place - 1] > STEPS * _step(force, place)], dtype=np.intp)


def _step(force: Floats, place: np.intp) -> float:
    """Return the usual step between readings about a place, its own two left out. [N]"""
    before, after = force[max(int(place) - BESIDE, 0) : place], force[place + 1 : place + 1 + BESIDE]
    return float(np.median(np.abs(np.concatenate([np.diff(before), np.diff(after)]))))


def without_spikes(curve: Curve) -> Curve:
    """
    Return a curve without single readings that stand apart, each named in its warnings.

    Parameters
    ----------
    curve : Curve
        A curve.

    Returns
    -------
    curve : Curve
        As it was where there are none, or more than one in a hundred readings: that is no single fault.
    """
    force = curve.channels.get("force_n")
    places = np.empty(0, dtype=np.intp) if force is None else spikes_of(force)
    if force is None or not places.size:
        return curve
    shown = ", ".join(f"{force[place]:.4g} N" for place in places[:5])
    if places.size > max(1, force.size // MOST):
        words = (
            f"{places.size} single readings stand apart from those beside them ({shown}, ...): a loose plug?"
        )
        return replace(curve, warnings=(*curve.warnings, words))
    words = f"{curve.name}: a single reading stands apart from those beside it ({shown}); left out"
    channels = {name: np.delete(values, places) for name, values in curve.channels.items()}
    return replace(curve, channels=channels, warnings=(*curve.warnings, words))
