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

__all__ = ["Exclusion", "coverage_of", "exclusions", "mask_of"]

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
    from voidless.compiling import njit  # slow to import

    def sweep(step: Any, edges: Any) -> None:
        """Add, row by row, by how much an edge changes the covered share of the cells from its place on."""
        rows, columns = step.shape
        for edge in range(len(edges)):
            u0, v0, u1, v1 = edges[edge]
            sign = 1.0
            if v0 > v1:
                u0, v0, u1, v1, sign = u1, v1, u0, v0, -1.0
            if not v1 > v0:
                continue
            slope = (u1 - u0) / (v1 - v0)
            for row in range(max(0, int(np.floor(v0))), min(rows, int(np.ceil(v1)))):
                low, high = max(v0, float(row)), min(v1, row + 1.0)
                left, right = u0 + (low - v0) * slope, u0 + (high - v0) * slope
                if left > right:
                    left, right = right, left
                first, last = int(np.floor(left)), int(np.floor(right))
                passed = 0.0  # share of the edge's height that lies left of the cell's right side, on average
                for column in range(first, last + 1):
                    if last == first:
                        share = 1.0 - ((left + right) / 2.0 - column)
                    else:
                        begin, end = max(left, float(column)), min(right, column + 1.0)
                        share = (end - begin) * (column + 1.0 - (begin + end) / 2.0)
                        share = (share + max(0.0, min(right, float(column)) - left)) / (right - left)
                    step[row, min(max(column, 0), columns - 1)] += sign * (high - low) * (share - passed)
                    passed = share
                step[row, min(max(last + 1, 0), columns - 1)] += sign * (high - low) * (1.0 - passed)

    return njit(cache=True)(sweep)


def coverage_of(region: Any, grid: Grid) -> NDArray[np.float32]:
    """
    Return the share of each cell that lies in a region.

    Parameters
    ----------
    region : shapely Polygon or MultiPolygon
        Inside of the grid but for its last column, holes included. [mm]
    grid : Grid
        Cells.

    Returns
    -------
    coverage : (rows, columns) float array
        Exact but for rounding. [1]
    """
    from shapely.geometry.polygon import orient

    step = np.zeros((grid.rows, grid.columns))
    shapes = [orient(shape) for shape in getattr(region, "geoms", [region]) if not shape.is_empty]
    rings = [(ring - (grid.x_mm, grid.y_mm)) / grid.cell_mm for shape in shapes for ring in rings_of(shape)]
    if rings:
        _kernel()(step, np.vstack([np.hstack([ring[:-1], ring[1:]]) for ring in rings]))
    np.cumsum(step, axis=1, out=step)
    return np.abs(step, out=step).astype(np.float32)


def mask_of(region: Any, grid: Grid) -> NDArray[np.bool_]:
    """
    Return which cells lie at least by half in a region.

    Parameters
    ----------
    region : shapely Polygon or MultiPolygon
        As of `coverage_of`. [mm]
    grid : Grid
        Cells.

    Returns
    -------
    mask : (rows, columns) bool array
        Whether half of the cell or more is covered.
    """
    return coverage_of(region, grid) >= 0.5


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
