"""Places of a lattice inside of a region, and about straight lines, compiled."""

from __future__ import annotations

import math
from typing import Any

from voidless.compiling import njit

__all__ = ["free_within", "mark_inside", "row_spans"]


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
def row_spans(shape: Any, line: Any, radius: float, spans: Any) -> tuple[int, int]:
    """Write the columns, from and before, within a radius of a straight line, row by row; return the rows so."""
    x0, y0, x1, y1 = line[0], line[1], line[2], line[3]
    rows, columns = shape
    first = max(0, math.ceil(min(y0, y1) - radius - 0.5))
    last = min(rows, int(max(y0, y1) + radius + 0.5))
    dx, dy = x1 - x0, y1 - y0
    length = math.hypot(dx, dy)
    sloped = length > 0.0 and dy != 0.0
    if sloped:
        dx, dy = dx / length, dy / length
    for row in range(first, last):
        y, left, right = row + 0.5, math.inf, -math.inf
        for x, apart in ((x0, y - y0), (x1, y - y1)):
            rest = radius * radius - apart * apart
            if rest >= 0.0:
                half = math.sqrt(rest)
                left, right = min(left, x - half), max(right, x + half)
        if sloped:
            for side in (-radius, radius):
                way = (y - y0 - side * dx) / dy
                if 0.0 <= way <= length:
                    x = x0 - side * dy + way * dx
                    left, right = min(left, x), max(right, x)
        if left > right:  # nowhere
            left, right = 0.0, 0.0
        spans[row - first, 0] = max(0, math.ceil(left - 0.5))
        spans[row - first, 1] = min(columns, math.floor(right - 0.5) + 1)
    return first, last


@njit(cache=True, nogil=True)
def free_within(free: Any, first: int, last: int, spans: Any) -> int:
    """Return how many places are free in the columns of rows."""
    number = 0
    for row in range(first, last):
        places = free[row, spans[row - first, 0] : spans[row - first, 1]]
        for k in range(len(places)):  # a slice, so that the loop is one over neighbouring bytes
            number += places[k]
    return number
