"""Volume of a test object from gas that expands into it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from voidless.errors import InputError
from voidless.measure.series.trend import coverage_factor

__all__ = ["expansion_volume"]


def expansion_volume(
    known: float,
    known_uncertainty: float,
    before_known: Sequence[float],
    before_object: Sequence[float],
    after: Sequence[float],
    pressure_uncertainty: float = 0.0,
) -> tuple[float, float]:
    """
    Return the volume of an object from a known volume that is opened to it.

    Parameters
    ----------
    known, known_uncertainty : float
        The known volume and its standard uncertainty. [m³]
    before_known, before_object, after : sequence of float
        Absolute pressures in the known volume and in the object before, and in both after, of each expansion; all at
        one temperature. [Pa]
    pressure_uncertainty : float
        Standard uncertainty of one reading. [Pa]

    Returns
    -------
    volume : (float, float)
        Mean over the expansions, and its standard uncertainty. [m³]

    Raises
    ------
    InputError
        The pressures do not fit an expansion, or are not equally many.

    Notes
    -----
    Boyle: known (p1 - p) = object (p - p2).
    """
    first, second, end = (np.asarray(item, dtype=float) for item in (before_known, before_object, after))
    if not (first.size == second.size == end.size > 0) or not np.all((first - end) * (end - second) > 0):
        raise InputError(
            "volume", "pressures that are no expansion", "p after between the two before", "Check them."
        )
    ratio = (first - end) / (end - second)
    volume = known * float(ratio.mean())
    each = known / np.abs(end - second) * pressure_uncertainty
    reading = float(np.sqrt(np.mean(each**2 * (1.0 + ratio**2 + (1.0 + ratio) ** 2)) / ratio.size))
    scatter = 0.0
    if ratio.size > 1:
        scatter = known * float(ratio.std(ddof=1)) / ratio.size**0.5 * coverage_factor(ratio.size - 1)
    return volume, math.hypot(known_uncertainty * float(ratio.mean()), max(scatter, reading))
