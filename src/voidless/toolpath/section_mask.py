"""A section on a grid of cells, and the places of it that a nozzle cannot fill."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.beads.spread import Grid
from voidless.toolpath.region import rings_of

__all__ = ["Exclusion", "exclusions", "mask_of"]

_SQUARE_COSINE = math.sin(math.radians(0.5))
"""Corners up to half a degree sharper than a right angle count as right: rounding of coordinates."""
_SPECK_MM2 = 1e-3
"""Smaller remains of cutting off necks are rounding at curved outlines. [mm²]"""


@dataclass(frozen=True, eq=False)
class Exclusion:
    """A place that is not judged: why, where [mm], and the region left out."""

    reason: str
    place_mm: tuple[float, float]
    region: Any


@cache
def _kernel() -> Callable[..., None]:
    from numba import njit  # slow to import

    def cross(crossed: Any, edges: Any) -> None:
        """Flip, in every row that an edge crosses, the first cell whose middle lies right of it."""
        rows, columns = crossed.shape
        for edge in range(len(edges)):
            u0, v0, u1, v1 = edges[edge]
            low, high = min(v0, v1), max(v0, v1)
            first, last = max(0, int(np.ceil(low - 0.5))), min(rows, int(np.ceil(high - 0.5)))
            for row in range(first, last):
                place = u0 + (row + 0.5 - v0) * (u1 - u0) / (v1 - v0)
                column = min(max(int(np.ceil(place - 0.5)), 0), columns)
                if column < columns:
                    crossed[row, column] ^= True

    return njit(cache=True)(cross)


def mask_of(region: Any, grid: Grid) -> NDArray[np.bool_]:
    """
    Return which cells have their middle inside a region.

    Parameters
    ----------
    region : shapely Polygon or MultiPolygon
        Holes included. [mm]
    grid : Grid
        Cells.

    Returns
    -------
    mask : (rows, columns) bool array
        Even-odd rule.
    """
    crossed = np.zeros(grid.shape, dtype=np.bool_)
    rings = [(ring - (grid.x_mm, grid.y_mm)) / grid.cell_mm for ring in rings_of(region)]
    if rings:
        _kernel()(crossed, np.vstack([np.hstack([ring[:-1], ring[1:]]) for ring in rings]))
    return np.asarray(np.logical_xor.accumulate(crossed, axis=1))


def _sharp_corners(region: Any) -> list[tuple[float, float]]:
    """Return the corners whose inner angle is under 90 degrees. [mm]"""
    from shapely.geometry.polygon import orient

    found = []
    for shape in getattr(region, "geoms", [region]):
        for ring in rings_of(orient(shape)):  # material on the left of every edge
            here = ring[:-1]
            step = ring[1:] - here
            step = step / np.hypot(*step.T)[:, None]
            before = np.roll(step, 1, axis=0)
            left = before[:, 0] * step[:, 1] - before[:, 1] * step[:, 0] > 0.0
            sharp = left & (np.sum(before * step, axis=1) < -_SQUARE_COSINE)
            found += [(float(x), float(y)) for x, y in here[sharp]]
    return found


def exclusions(region: Any, nozzle_mm: float) -> tuple[Exclusion, ...]:
    """
    Return the places that no nozzle of this size can fill to measure.

    Parameters
    ----------
    region : shapely Polygon or MultiPolygon
        A section. [mm]
    nozzle_mm : float
        Nozzle diameter. [mm]

    Returns
    -------
    exclusions : tuple of Exclusion
        Circles of one nozzle radius about corners sharper than 90 degrees, and what is narrower than
        0.8 nozzle diameters.
    """
    from shapely import Point

    found = [
        Exclusion("corner sharper than 90 deg", place, Point(place).buffer(nozzle_mm / 2.0))
        for place in _sharp_corners(region)
    ]
    half = 0.4 * nozzle_mm
    opened = region.buffer(-half, join_style="mitre").buffer(half, join_style="mitre")
    narrow = region.difference(opened.buffer(1e-6))
    for shape in getattr(narrow, "geoms", [narrow]):
        if shape.area > _SPECK_MM2:
            place = shape.representative_point()
            found.append(Exclusion("narrower than 0.8 nozzle diameters", (place.x, place.y), shape))
    return tuple(found)
