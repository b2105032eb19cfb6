"""What beads find free on a lattice of places, and what they leave, laid one after the other, compiled."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from voidless.compiling import njit
from voidless.toolpath.fill.sweep_kernel import free_within, row_spans

__all__ = ["BINS", "lay_walk", "take_nearest"]

BINS = 4.0
"""Parts of a place by which distances from a bead are told apart when the nearest places are taken."""
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
def _counted(
    free: Any, line: Any, want: int, guess: float, reach: float, counts: Any, seen: Any, spans: Any
) -> tuple[int, int]:
    """
    List free places about a line as row, column and part of the distance, as far as there are as many as wanted.

    Returns how many, and the last part; `counts` holds how many there are in each part.
    """
    scale, radius = _scale(line), min(guess, reach)
    while True:
        last = int(radius * BINS)
        counts[: last + 2] = 0
        total = 0
        first, stop = row_spans(free.shape, line, radius, spans)
        for row in range(first, stop):
            for column in range(spans[row - first, 0], spans[row - first, 1]):
                if free[row, column]:
                    _, x, y = _off(line, scale, row, column)
                    part = min(last, int(math.sqrt(x * x + y * y) * BINS))
                    counts[part] += 1
                    seen[total, 0], seen[total, 1], seen[total, 2] = row, column, part
                    total += 1
        if total >= want or radius >= reach:
            return total, last
        radius = min(reach, 1.3 * radius + 2.0)


@njit(cache=True, nogil=True)
def take_nearest(
    free: Any, line: Any, want: int, guess: float, reach: float, counts: Any, seen: Any, spans: Any
) -> tuple[float, int]:
    """Take the free places nearest to a short line, those wanted or within reach; return how far, and how many lack."""
    total, last = _counted(free, line, want, guess, reach, counts, seen, spans)
    front, before = 0, 0  # all nearer than the front are taken, at the front some, evenly among them
    while front <= last and before + counts[front] <= want:
        before += counts[front]
        front += 1
    some = want - before if front <= last else 0
    turn = counts[front] // 2
    for place in range(total):
        part = seen[place, 2]
        turn += some if part == front else 0
        if part < front or (part == front and turn >= counts[front]):
            turn -= counts[front] if part == front else 0
            free[seen[place, 0], seen[place, 1]] = 0
    return (front + 1.0) / BINS, max(0, want - total)


@njit(cache=True, nogil=True)
def _lay(
    free: Any,
    line: Any,
    area: float,
    radius: float,
    reach: float,
    step: float,
    counts: Any,
    seen: Any,
    spans: Any,
) -> float:
    """Lay an area evenly along a straight line, short step by short step; return what is left for the next. [places]"""
    dx, dy = line[2] - line[0], line[3] - line[1]
    number = max(1, math.ceil(math.hypot(dx, dy) / step))
    part, left, guess = np.empty(4), 0.0, 1.1 * radius + 1.0
    for portion in range(number):
        for end in (0, 1):
            part[2 * end] = line[0] + (portion + end) / number * dx
            part[2 * end + 1] = line[1] + (portion + end) / number * dy
        left += area / number
        want = int(left)
        left -= want
        if want > 0:
            far, _ = take_nearest(free, part, want, guess, reach, counts, seen, spans)
            guess = 1.1 * far + 1.0
    return left


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
    reach: float,
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
    reach : float
        How far melt flows at most. [places]
    step : float
        Way over which it does so at a time. [places]
    area : (n,) float array
        Written: what each fills. [places]
    laid : (n, 2) float array
        Written: on which part of its line, from 0 to 1.
    """
    narrowest, widest, middling, shortest, rounded, worth, even, few = limits
    counts = np.zeros(int(reach * BINS) + 4, np.int64)
    spans = np.zeros((free.shape[0], 2), np.int64)
    across = int(2.0 * reach + step) + 3  # of all that melt reaches in a step
    seen = np.zeros((across * across, 3), np.int32)
    left, passed = 0.0, 0.0
    for bead in range(len(lines)):
        laid[bead, 0], laid[bead, 1] = 0.0, 1.0
        if radius[bead] <= 0.0:
            continue
        line = lines[bead]
        length = math.hypot(line[2] - line[0], line[3] - line[1])
        first, last = row_spans(free.shape, line, radius[bead], spans)
        found = free_within(free, first, last, spans)
        plain, most = 2.0 * radius[bead] * length, widest * length - rounded
        if plain <= most and abs(passed + plain - found) < even * plain + few:
            passed += plain - found  # what is passed over stays small in all
            area[bead] = plain
            if away[bead]:
                for row in range(first, last):
                    free[row, spans[row - first, 0] : spans[row - first, 1]] = 0
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
            middle = _middle(free, line, first, last, spans)
            begin = min(max(middle - share / 2.0, 0.0), 1.0 - share)
            laid[bead, 0], laid[bead, 1] = begin, begin + share
            line = np.empty(4)
            for end in (0, 1):
                line[2 * end] = lines[bead, 0] + laid[bead, end] * (lines[bead, 2] - lines[bead, 0])
                line[2 * end + 1] = lines[bead, 1] + laid[bead, end] * (lines[bead, 3] - lines[bead, 1])
        left = _lay(free, line, area[bead] + left, radius[bead], reach, step, counts, seen, spans)
        room = widest * length * (laid[bead, 1] - laid[bead, 0]) - rounded - area[bead]
        if room > 0.0:
            area[bead] += min(room, float(_slits(free, line, radius[bead], spans)))
