"""What beads sweep of a lattice of places, compiled."""

from __future__ import annotations

import math
from typing import Any

from numba import njit

__all__ = ["mark_inside", "sweep"]


@njit(cache=True, nogil=True)
def mark_inside(free: Any, edges: Any) -> None:
    """
    Mark the places inside of a region.

    Parameters
    ----------
    free : (rows, columns) uint8 array
        Zeros; 1 afterwards where the middle of a place is inside.
    edges : (n, 4) float array
        Edges of the region: column and row of both ends, in places.
    """
    rows, columns = free.shape
    for edge in range(len(edges)):
        u0, v0, u1, v1 = edges[edge]
        if v0 > v1:
            u0, v0, u1, v1 = u1, v1, u0, v0
        for row in range(max(0, math.ceil(v0 - 0.5)), min(rows, math.ceil(v1 - 0.5))):
            u = u0 + (row + 0.5 - v0) * (u1 - u0) / (v1 - v0)
            free[row, min(columns - 1, max(0, math.ceil(u - 0.5)))] ^= 1
    for row in range(rows):
        inside = 0
        for column in range(columns):
            inside ^= free[row, column]
            free[row, column] = inside


@njit(cache=True, nogil=True)
def _span(x0: float, y0: float, x1: float, y1: float, radius: float, y: float) -> tuple[float, float]:
    """Return between which columns a row lies within a radius of a straight line; the first is larger if nowhere."""
    left, right = math.inf, -math.inf
    for x, apart in ((x0, y - y0), (x1, y - y1)):
        rest = radius * radius - apart * apart
        if rest >= 0.0:
            half = math.sqrt(rest)
            left, right = min(left, x - half), max(right, x + half)
    dx, dy = x1 - x0, y1 - y0
    length = math.hypot(dx, dy)
    if length > 0.0 and dy != 0.0:
        dx, dy = dx / length, dy / length
        for side in (-radius, radius):
            way = (y - y0 - side * dx) / dy
            if 0.0 <= way <= length:
                x = x0 - side * dy + way * dx
                left, right = min(left, x), max(right, x)
    return left, right


@njit(cache=True, nogil=True)
def _taken(free: Any, line: Any, radius: float, take: bool) -> int:
    """Return how many free places lie within a radius of a straight line; take them if asked."""
    x0, y0, x1, y1 = line[0], line[1], line[2], line[3]
    rows, columns = free.shape
    number = 0
    for row in range(
        max(0, math.ceil(min(y0, y1) - radius - 0.5)), min(rows, int(max(y0, y1) + radius + 0.5))
    ):
        left, right = _span(x0, y0, x1, y1, radius, row + 0.5)
        if left > right:
            continue
        for column in range(max(0, math.ceil(left - 0.5)), min(columns, math.floor(right - 0.5) + 1)):
            number += free[row, column]
            if take:
                free[row, column] = 0
    return number


@njit(cache=True, nogil=True)
def sweep(free: Any, lines: Any, radius: Any, most: Any, swept: Any) -> None:
    """
    Sweep places by one straight bead after the other.

    Parameters
    ----------
    free : (rows, columns) uint8 array
        1 where a place is free; 0 after it was swept.
    lines : (n, 4) float array
        Column and row of both ends, in places.
    radius : (n,) float array
        How far from its line a bead sweeps, 0 for none. [places]
    most : (n,) float array
        How many places a bead sweeps at most; then it sweeps less far. [1]
    swept : (n,) float array
        Written: how many places each sweeps. [1]
    """
    for bead in range(len(lines)):
        reach = radius[bead]
        if reach <= 0.0:
            continue
        number = _taken(free, lines[bead], reach, False)
        if number > most[bead]:
            low = 0.0
            for _ in range(12):
                middle = 0.5 * (low + reach)
                if _taken(free, lines[bead], middle, False) > most[bead]:
                    reach = middle
                else:
                    low = middle
            reach = low
        if number > 0:
            swept[bead] = _taken(free, lines[bead], reach, True)
