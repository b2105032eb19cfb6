"""What beads find free on a lattice of places, and what they leave, laid one after the other, compiled."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from voidless.compiling import njit
from voidless.toolpath.fill.order_kernel import lay_line
from voidless.toolpath.fill.sweep_kernel import free_within, row_spans

__all__ = ["lay_walk"]

_BEYOND = (1.5, 2.5)
"""Where to look behind a free place for more: a slit has none. [places]"""


@njit(cache=True, nogil=True)
def _scale(line: Any) -> float:
    """Return one over the square of a straight line's length, 0 for none: `_off` multiplies by it at every place."""
    dx, dy = line[2] - line[0], line[3] - line[1]
    squared = dx * dx + dy * dy
    return 1.0 / squared if squared > 0.0 else 0.0


@njit(cache=True, nogil=True)
def _off(line: Any, scale: float, row: int, column: int) -> tuple[float, float, float]:
    """Return the share of a straight line at which it comes nearest to a place, and the way from there to the place."""
    dx, dy = line[2] - line[0], line[3] - line[1]
    px, py = column + 0.5 - line[0], row + 0.5 - line[1]
    share = min(1.0, max(0.0, (px * dx + py * dy) * scale))
    return share, px - share * dx, py - share * dy


@njit(cache=True, nogil=True)
def _middle(free: Any, line: Any, first: int, last: int, spans: Any) -> float:
    """Return at which share of a straight line the free places in the columns of rows lie, on average."""
    number, along, scale = 0, 0.0, _scale(line)
    for row in range(first, last):
        for column in range(spans[row - first, 0], spans[row - first, 1]):
            if free[row, column]:
                number += 1
                along += _off(line, scale, row, column)[0]
    return along / max(number, 1)


@njit(cache=True, nogil=True)
def _slits(free: Any, line: Any, radius: float, spans: Any) -> int:
    """Take free places beside a straight line that have nothing free behind them; return how many."""
    number, scale = 0, _scale(line)
    first, stop = row_spans(free.shape, line, radius + 1.0, spans)
    for row in range(first, stop):
        for column in range(spans[row - first, 0], spans[row - first, 1]):
            if not free[row, column]:
                continue
            share, x, y = _off(line, scale, row, column)
            away = math.sqrt(x * x + y * y)
            if away <= 0.5 or share <= 0.0 or share >= 1.0:
                continue
            behind = 0
            for far in _BEYOND:
                behind += free[int(row + 0.5 + far * y / away), int(column + 0.5 + far * x / away)]
            if behind == 0:
                free[row, column] = 0
                number += 1
    return number


@njit(cache=True, nogil=True)
def lay_walk(
    free: Any,
    lines: Any,
    radius: Any,
    away: Any,
    limits: Any,
    steps: Any,
    distance: Any,
    first: Any,
    step: float,
    area: Any,
    laid: Any,
) -> None:
    """
    Lay straight beads one after the other, each with the area that it finds free.

    Parameters
    ----------
    free : (rows, columns) uint8 array
        1 where a place is free; 0 after it was filled.
    lines : (n, 4) float array
        Column and row of both ends, in places.
    radius : (n,) float array
        How far from its line a bead looks for free places, 0 for none. [places]
    away : (n,) bool array
        Which lie away from ends: an even one fills all within its radius, without looking closer.
    limits : (8,) float array
        Narrowest and widest bead, width and least length of one laid on part of its line, in places; what rounding
        may do to an area; how much too much one may lay before it is laid so; how far from a straight one counts as
        straight, [1] and [places].
    steps, distance, first : arrays
        As of `order_places`.
    step : float
        Way over which it does so at a time. [places]
    area : (n,) float array
        Written: what each fills. [places]
    laid : (n, 2) float array
        Written: on which part of its line, from 0 to 1.
    """
    narrowest, widest, middling, shortest, rounded, worth, even, few = limits
    spans = np.zeros((free.shape[0], 2), np.int64)
    state, passed = np.zeros(5), 0.0
    for bead in range(len(lines)):
        laid[bead, 0], laid[bead, 1] = 0.0, 1.0
        if radius[bead] <= 0.0:
            continue
        line = lines[bead]
        length = math.hypot(line[2] - line[0], line[3] - line[1])
        top, last = row_spans(free.shape, line, radius[bead], spans)
        found = free_within(free, top, last, spans)
        plain, most = 2.0 * radius[bead] * length, widest * length - rounded
        if plain <= most and abs(passed + plain - found) < even * plain + few:
            passed += plain - found  # what is passed over stays small in all
            area[bead] = plain
            if away[bead]:
                for row in range(top, last):
                    free[row, spans[row - top, 0] : spans[row - top, 1]] = 0
                continue
        else:
            area[bead] = min(float(found), most)
        least = narrowest * length + rounded
        if least - worth <= area[bead] < least:
            area[bead] = least
        elif area[bead] < least:
            share = area[bead] / middling / length
            if share * length < shortest:
                area[bead] = 0.0
                continue
            middle = _middle(free, line, top, last, spans)
            begin = min(max(middle - share / 2.0, 0.0), 1.0 - share)
            laid[bead, 0], laid[bead, 1] = begin, begin + share
            line = np.empty(4)
            for end in (0, 1):
                line[2 * end] = lines[bead, 0] + laid[bead, end] * (lines[bead, 2] - lines[bead, 0])
                line[2 * end + 1] = lines[bead, 1] + laid[bead, end] * (lines[bead, 3] - lines[bead, 1])
        lay_line(free, line, area[bead], steps, distance, first, step, state)
        room = widest * length * (laid[bead, 1] - laid[bead, 0]) - rounded - area[bead]
        if room > 0.0:
            area[bead] += min(room, float(_slits(free, line, radius[bead], spans)))
