"""A front of melt about a nozzle that takes the free room nearest to it, found exactly, compiled."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from voidless.compiling import njit

__all__ = ["lay_beads", "lay_line", "lay_strip", "room_to_work"]

_CORNER = 0.7072
"""How far a cell reaches from its middle. [cells]"""
_AHEAD, _WIDER = 0.25, 1.0
"""How much further than the front before, and then again and again, free cells are looked for. [cells]"""
_CLOSE = 1e-5
"""How close to its melt a front comes; the next portion makes it good. [cells]"""
_ROUGH = 0.1
"""How close a strip comes. [cells]"""
_STEEP = 1e-9
"""A line that rises less runs along the rows. [1]"""
_NOTHING = 1e-7
"""Less free room than single precision tells. [cells]"""


@njit(cache=True, nogil=True)
def room_to_work(reach: float) -> Any:
    """Return arrays for the free cells that a front meets: `(6, n)` of `_look` and `(n, 2)` of rows and columns."""
    number = int(4.0 * (reach + 2.0) ** 2)
    return np.zeros((6, number)), np.zeros((number, 2), np.int64)


@njit(cache=True, nogil=True)
def _covered(beyond: float, long: float, short: float) -> tuple[float, float]:
    """
    Return the share of a cell that lies behind a straight front, and how it grows with the front's way.

    Parameters
    ----------
    beyond : float
        How far the front is beyond the cell's middle. [cells]
    long, short : float
        The front's direction along the sides of the cell, the larger one first.

    Notes
    -----
    Shares of all cells under one line add up to the area under it, whatever the line's direction: so fronts lie
    between cells, and melt does not drift to one side of its path.
    """
    within = 0.5 * (long + short) - abs(beyond)
    if within <= 0.0:
        return (0.0, 0.0) if beyond < 0.0 else (1.0, 0.0)
    if within < short:
        share, growth = within * within / (2.0 * long * short), within / (long * short)
    else:
        share, growth = (within - 0.5 * short) / long, 1.0 / long
    return (share, growth) if beyond < 0.0 else (1.0 - share, growth)


@njit(cache=True, nogil=True)
def _look(
    fill: Any, rooms: Any, given: Any, when: Any, x: float, y: float, inner: float, outer: float, since: int,
    found: Any, places: Any, number: int,
) -> int:  # fmt: skip
    """
    Add free cells whose middles lie from one distance to before another; return how many there are then.

    Rows of `found`: distance from the nozzle, free room, what the front at hand has put there, room, direction (longer
    and shorter part).
    """
    for row in range(math.ceil(y - outer - 0.5), math.floor(y + outer - 0.5) + 1):
        up = row + 0.5 - y
        far = math.sqrt(max(outer * outer - up * up, 0.0))
        near = math.sqrt(max(inner * inner - up * up, 0.0))
        column, last = math.ceil(x - far - 0.5), math.floor(x + far - 0.5)
        skip, then = math.ceil(x - near - 0.5), math.floor(x + near - 0.5) + 1
        if near <= 0.0:
            skip, then = last + 1, last + 1
        while column <= last:
            if skip <= column < then:
                column = then
                continue
            room = rooms[row, column] if len(rooms) else 1.0
            free = room - fill[row, column]
            if free > _NOTHING:
                aside = column + 0.5 - x
                away = math.sqrt(aside * aside + up * up)
                over = 1.0 / away if away > 0.0 else 0.0
                found[0, number], found[1, number], found[3, number] = away, free, room
                found[2, number] = given[row, column] if when[row, column] >= since else 0.0
                found[4, number] = max(abs(aside), abs(up)) * over if away > 0.0 else 1.0
                found[5, number] = min(abs(aside), abs(up)) * over
                places[number, 0], places[number, 1] = row, column
                number += 1
            column += 1
    return number


@njit(cache=True, nogil=True)
def _taken(found: Any, number: int, radius: float) -> tuple[float, float]:
    """Return what the free cells take up to a radius, and how it grows with the radius."""
    melt, growth = 0.0, 0.0
    for cell in range(number):
        share, more = _covered(radius - found[0, cell], found[4, cell], found[5, cell])
        most = share * found[3, cell] - found[2, cell]
        if most >= found[1, cell]:
            melt += found[1, cell]
        elif most > 0.0:
            melt += most
            growth += more * found[3, cell]
    return melt, growth


@njit(cache=True, nogil=True)
def _closer(low: float, high: float, radius: float, more: float, growth: float) -> tuple[float, float, float]:
    """Return closer bounds and radius, if one takes so much more: by slopes, halving where they lead astray."""
    if more < 0.0:
        low = radius
    else:
        high = radius
    radius = radius - more / growth if growth > 0.0 else high
    return low, high, radius if low < radius < high else 0.5 * (low + high)


@njit(cache=True, nogil=True)
def _radius(found: Any, number: int, melt: float, radius: float, highest: float) -> float:
    """Return up to which radius free cells take so much."""
    low, high = 0.0, highest
    while True:
        taken, growth = _taken(found, number, radius)
        if abs(taken - melt) < _CLOSE or high - low < _NOTHING:
            return radius
        low, high, radius = _closer(low, high, radius, taken - melt, growth)


@njit(cache=True, nogil=True)
def _take(
    fill: Any, given: Any, when: Any, found: Any, places: Any, number: int, radius: float, now: int
) -> float:
    """Fill free cells up to a radius; return how much they take."""
    taken = 0.0
    for cell in range(number):
        share, _ = _covered(radius - found[0, cell], found[4, cell], found[5, cell])
        most = min(share * found[3, cell] - found[2, cell], found[1, cell])
        if most > 0.0:
            row, column = places[cell]
            fill[row, column] += most
            given[row, column] = found[2, cell] + most
            when[row, column] = now
            taken += most
    return taken


@njit(cache=True, nogil=True)
def _heap(fill: Any, x: float, y: float, radius: float, melt: float) -> None:
    """Lay melt evenly over the cells about the nozzle, whether they have room or not."""
    number = 0
    for once in range(2):
        for row in range(math.ceil(y - radius - 0.5), math.floor(y + radius - 0.5) + 1):
            far = math.sqrt(max(radius * radius - (row + 0.5 - y) ** 2, 0.0))
            for column in range(math.ceil(x - far - 0.5), math.floor(x + far - 0.5) + 1):
                if once == 0:
                    number += 1
                else:
                    fill[row, column] += melt / number


@njit(cache=True, nogil=True)
def lay_line(
    fill: Any, rooms: Any, given: Any, when: Any, line: Any, area: float, reach: float, step: float, state: Any,
    found: Any, places: Any,
) -> None:  # fmt: skip
    """
    Lay an area evenly along a straight line, short step by short step.

    Parameters
    ----------
    fill : (rows, columns) float array
        How full each cell is; written. [cells]
    rooms : (rows, columns) float array
        Room of each cell; without rows it is 1 everywhere. [cells]
    given, when : (rows, columns) arrays
        What the front at hand has put into a cell, and at which portion it did so last, at first -1e9; written.
    line : (4,) float array
        Column and row of both ends. [cells]
    area : float
        What is laid. [cells]
    reach : float
        How far from the nozzle melt finds room; what finds none lies under it then, within half of that. [cells]
    step : float
        Way over which melt is laid at a time. [cells]
    state : (6,) float array
        Zeros at first: column and row of the nozzle, how near to it all cells are full, radius of the front, portions
        laid, and melt that is still to be laid; written.
    found, places : arrays
        Of `room_to_work`.
    """
    across, up = line[2] - line[0], line[3] - line[1]
    portions = max(1, math.ceil(math.hypot(across, up) / step))
    since = int(
        2.0 * reach / step
    )  # what was put there earlier was another front's, maybe from the other side
    for portion in range(portions):
        x, y = line[0] + (portion + 1.0) / portions * across, line[1] + (portion + 1.0) / portions * up
        now = int(state[4])
        state[5] += area / portions
        begin = max(0.0, state[2] - math.hypot(x - state[0], y - state[1]) - 1e-6)
        highest, inner, number, taken = min(reach, max(state[3], begin) + _AHEAD), begin, 0, 0.0
        while True:
            outer = highest + _CORNER
            number = _look(fill, rooms, given, when, x, y, inner, outer, now - since, found, places, number)
            taken, _ = _taken(found, number, highest)
            if taken >= state[5] or highest >= reach:
                break
            inner, highest = outer, min(reach, highest + _WIDER)
        radius = highest
        if taken > state[5]:
            radius = _radius(found, number, state[5], min(max(state[3], 0.0), highest), highest)
        state[5] -= _take(fill, given, when, found, places, number, radius, now)
        if highest >= reach and state[5] > _CLOSE:
            _heap(fill, x, y, reach / 2.0, state[5])
            state[5] = 0.0
        state[0], state[1], state[2], state[3] = x, y, max(0.0, radius - _CORNER), radius
        state[4] += 1.0


@njit(cache=True, nogil=True)
def lay_beads(fill: Any, rooms: Any, lines: Any, area: Any, reach: float, step: float) -> None:
    """
    Lay straight beads one after the other.

    Parameters
    ----------
    fill, rooms : (rows, columns) float arrays
        As of `lay_line`.
    lines : (n, 4) float array
        Column and row of both ends of each. [cells]
    area : (n,) float array
        What each lays. [cells]
    reach, step : float
        As of `lay_line`.
    """
    given, when = np.zeros(fill.shape, np.float32), np.full(fill.shape, -1_000_000_000, np.int32)
    state, (found, places) = np.zeros(6), room_to_work(reach)
    for bead in range(len(lines)):
        lay_line(fill, rooms, given, when, lines[bead], area[bead], reach, step, state, found, places)


@njit(cache=True, nogil=True)
def _strip(
    fill: Any, given: Any, when: Any, line: Any, radius: float, since: int, now: int, lay: bool
) -> tuple[float, float]:
    """Return what a front of one radius takes along a line, and how it grows with it; lay it if told to."""
    across, up = line[2] - line[0], line[3] - line[1]
    length = math.hypot(across, up)
    across, up = across / length, up / length
    outer, melt, growth = radius + _CORNER, 0.0, 0.0
    for row in range(
        math.ceil(min(line[1], line[3]) - outer - 0.5), math.floor(max(line[1], line[3]) + outer - 0.5) + 1
    ):
        y = row + 0.5 - line[1]
        low, high = min(line[0], line[2]) - outer, max(line[0], line[2]) + outer
        if abs(up) > _STEEP:  # |x up - y across| <= outer
            one, other = line[0] + (y * across - outer) / up, line[0] + (y * across + outer) / up
            low, high = max(low, min(one, other)), min(high, max(one, other))
        for column in range(math.ceil(low - 0.5), math.floor(high - 0.5) + 1):
            free = 1.0 - fill[row, column]
            if free <= _NOTHING:
                continue
            x = column + 0.5 - line[0]
            along = min(max(x * across + y * up, 0.0), length)
            right, ahead = abs(x - along * across), abs(y - along * up)
            away = math.sqrt(right * right + ahead * ahead)
            over = 1.0 / away if away > 0.0 else 0.0
            long = max(right, ahead) * over if away > 0.0 else 1.0
            share, more = _covered(radius - away, long, min(right, ahead) * over)
            put = given[row, column] if when[row, column] >= since else 0.0
            most = share - put
            if most <= 0.0:
                continue
            if most >= free:
                most = free
            else:
                growth += more
            melt += most
            if lay:
                fill[row, column] += most
                given[row, column], when[row, column] = put + most, now
    return melt, growth


@njit(cache=True, nogil=True)
def lay_strip(
    fill: Any, given: Any, when: Any, line: Any, area: float, reach: float, step: float, state: Any
) -> bool:
    """
    Lay an area along a straight line at once, by a front of one radius all the way; return whether it was laid.

    For lines away from ends, where portions of melt come to the same. It is not laid if its radius is a tenth from that
    of a bead that is free on both sides, or if it finds no room. Parameters as of `lay_line`, room 1 everywhere.
    """
    plain = area / (2.0 * math.hypot(line[2] - line[0], line[3] - line[1]))
    since, now, melt = int(state[4]) - int(2.0 * reach / step), int(state[4]), area + state[5]
    low, high = 0.9 * plain, min(1.1 * plain, reach)
    radius = state[3] if low < state[3] < high else plain  # of the piece before
    if high <= low:
        return False
    while True:
        taken, growth = _strip(fill, given, when, line, radius, since, now, False)
        if abs(taken - melt) < _ROUGH or high - low < _NOTHING:
            break
        low, high, radius = _closer(low, high, radius, taken - melt, growth)
    if abs(taken - melt) >= _ROUGH:
        return False
    state[5] = melt - _strip(fill, given, when, line, radius, since, now, True)[0]
    state[0], state[1], state[2], state[3] = line[2], line[3], max(0.0, radius - _CORNER), radius
    state[4] += 1.0
    return True
