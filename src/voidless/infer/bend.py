"""How a surface slopes and bends within the scatter of settings."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

__all__ = ["bend", "steps_of"]

Floats = NDArray[np.float64]

# The outer points of Gauss and Hermite's three, in standard deviations: mean and variance of what normal scatter does
# come out as their quadrature says, at a kink too, where a difference over a small step sees no end of curvature.
_OUTER = float(np.sqrt(3.0))


def steps_of(spread: Floats | None) -> dict[int, float]:
    """Return the step along every factor that scatters, by its column. [1 of the unit cube]"""
    if spread is None:
        return {}
    return {int(column): _OUTER * float(spread[column]) for column in np.flatnonzero(spread > 0.0)}


def bend(
    surface: Callable[[Floats], Floats], points: Floats, steps: Mapping[int, float]
) -> tuple[Floats, Floats]:
    """
    Return slope and curvature of a surface along some factors, per unit of the unit cube.

    Parameters
    ----------
    surface : callable
        Points `(n, k)` of the unit cube -> values `(n, ...)`.
    points : (n, k) float array
        Points of the unit cube. [1]
    steps : mapping of int to float
        Step to either side, by column. [1]

    Returns
    -------
    slope, curvature : (s, n, ...) float array
        First and second differences over the steps, factors in the order of `steps`.
    """
    here = surface(points)
    slope, curvature = np.zeros((2, len(steps), *here.shape))
    for place, (column, step) in enumerate(steps.items()):
        aside = np.zeros(points.shape[1])
        aside[column] = step
        above, below = surface(points + aside), surface(points - aside)
        slope[place] = (above - below) / (2.0 * step)
        curvature[place] = (above - 2.0 * here + below) / step**2
    return slope, curvature
