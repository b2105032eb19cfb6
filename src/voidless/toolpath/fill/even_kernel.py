"""Melt of given beads on places of a region, and what squares about places hold, compiled."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from voidless.beads.front_kernel import lay_line, lay_strip, room_to_work
from voidless.compiling import njit

__all__ = ["first_moments", "lay_evenly", "mark_shares", "means_about", "off_of", "room_of", "square_more"]


@njit(cache=True, nogil=True)
def mark_shares(share: Any, edges: Any, parts: int, first: Any, spans: Any, tile: int) -> None:
    """
    Mark the share of each place that lies inside of a region, within spans that hold all of its edges.

    Parameters
    ----------
    share : (rows, columns) float array
        Zeros; written within the spans.
    edges : (n, 4) float array
        Edges of the region with the material on their left: column and row of both ends, in places.
    parts : int
        Lines through a place, along its row, on which it is looked at.
    first, spans, tile : arrays and int
        Spans of columns of each row of tiles, `spans[first[k] : first[k + 1]]`, and places along the side of a tile.
    """
    rows, columns = share.shape
    for edge in range(len(edges)):
        u0, v0, u1, v1 = edges[edge]
        sign = 1.0 if v0 > v1 else -1.0
        if v0 > v1:
            u0, v0, u1, v1 = u1, v1, u0, v0
        low, high = math.ceil(v0 * parts - 0.5), math.ceil(v1 * parts - 0.5)
        for line in range(max(0, low), min(rows * parts, high)):
            u = u0 + ((line + 0.5) / parts - v0) * (u1 - u0) / (v1 - v0)
            column = min(columns - 2, max(0, int(u)))
            share[line // parts, column] += sign * (column + 1.0 - u) / parts
            share[line // parts, column + 1] += sign * (u - column) / parts
    for row in range(rows):
        inside = 0.0
        for k in range(first[row // tile], first[row // tile + 1]):
            for column in range(spans[k, 0], spans[k, 1]):
                inside += share[row, column]
                share[row, column] = inside


@njit(cache=True, nogil=True)
def lay_evenly(
    fill: Any, given: Any, when: Any, lines: Any, area: Any, away: Any, chosen: Any, reach: float, step: float, now: int
) -> int:  # fmt: skip
    """
    Lay straight beads with given areas one after the other; return how many portions were laid so far.

    Parameters
    ----------
    fill, given, when : (rows, columns) arrays
        As of `beads.front_kernel.lay_line`.
    lines : (n, 4) float array
        Column and row of both ends, in places.
    area : (n,) float array
        What each lays. [places]
    away : (n,) bool array
        Which lie away from ends: strips, if that is what they come to.
    chosen : (m,) int array
        Numbers of the beads to lay, in order.
    reach : float
        How far melt flows at most. [places]
    step : float
        Way over which melt is laid at a time. [places]
    now : int
        Portions laid before.
    """
    state, (found, places) = np.zeros(6), room_to_work(reach)
    nowhere = np.zeros((0, 0), np.float32)
    state[4] = now
    for bead in chosen:
        line = lines[bead]
        if away[bead] and lay_strip(fill, given, when, line, area[bead], reach, step, state):
            continue
        lay_line(fill, nowhere, given, when, line, area[bead], reach, step, state, found, places)
    return int(state[4])


@njit(cache=True, nogil=True)
def square_more(
    fill: Any, share: Any, given_first: Any, given: Any, first: Any, spans: Any, tile: int, half: int, more: Any
) -> None:  # fmt: skip
    """
    Sum how much more melt than room there is over the square about each place.

    Parameters
    ----------
    fill, share : (rows, columns) float arrays
        Melt and room of each place.
    given_first, given : arrays
        Spans as of `mark_shares` that reach beyond the others by half a square.
    first, spans, tile : arrays and int
        As of `mark_shares`: where sums are wanted, at least half a square from the edges of the lattice.
    half : int
        How far the square goes to each side. [places]
    more : (rows, columns) float array
        Written within the spans. [places]
    """
    rows, columns = fill.shape
    column_sums = np.zeros(columns)
    for row in range(rows + half):
        for line, sign in ((row, 1.0), (row - 2 * half - 1, -1.0)):
            if 0 <= line < rows:
                for k in range(given_first[line // tile], given_first[line // tile + 1]):
                    for column in range(given[k, 0], given[k, 1]):
                        column_sums[column] += sign * (fill[line, column] - share[line, column])
        middle = row - half
        if not 0 <= middle < rows:
            continue
        for k in range(first[middle // tile], first[middle // tile + 1]):
            total = 0.0
            for column in range(spans[k, 0] - half, spans[k, 0] + half):
                total += column_sums[column]
            for column in range(spans[k, 0], spans[k, 1]):
                total += column_sums[column + half]
                more[middle, column] = total
                total -= column_sums[column - half]


@njit(cache=True, nogil=True)
def room_of(room: Any, share: Any, first: Any, spans: Any, tile: int) -> None:
    """Turn sums of `square_more` with nothing laid into room about the places of the spans, 0 where none is judged."""
    for row in range(room.shape[0]):
        for k in range(first[row // tile], first[row // tile + 1]):
            for column in range(spans[k, 0], spans[k, 1]):
                room[row, column] = -room[row, column] if share[row, column] >= 0.5 else 0.0


@njit(cache=True, nogil=True)
def off_of(
    off: Any, room: Any, first: Any, spans: Any, tile: int, even: float, worst: Any
) -> tuple[float, int]:
    """
    Divide sums over squares by their room.

    Parameters
    ----------
    off : (rows, columns) float array
        Sums of `square_more`; divided, 0 where no place is judged. [1]
    room : (rows, columns) float array
        Of `room_of`.
    first, spans, tile : arrays and int
        As of `mark_shares`: where it is done.
    even : float
        How even melt has to be. [1]
    worst : (rows of tiles, columns of tiles) float array
        Raised to how far off the worst place of each tile is. [1]

    Returns
    -------
    score : float
        Sum of squares of what is beyond even. [places]
    uneven : int
        Places that are not even.
    """
    score, uneven = 0.0, 0
    for row in range(off.shape[0]):
        for k in range(first[row // tile], first[row // tile + 1]):
            for column in range(spans[k, 0], spans[k, 1]):
                if not room[row, column] > 0.0:
                    off[row, column] = 0.0
                    continue
                off[row, column] /= room[row, column]
                size = abs(off[row, column])
                if size > even:
                    score += (size - even) ** 2
                    uneven += 1
                    place = (row // tile, column // tile)
                    worst[place] = max(worst[place], size)
    return score, uneven


@njit(cache=True, nogil=True)
def means_about(off: Any, room: Any, middles: Any, half: int, dead: float, least: float) -> Any:
    """
    Return the mean of what is beyond a threshold over the squares about places.

    Parameters
    ----------
    off, room : (rows, columns) float arrays
        How far off each place is, 0 where it is not judged; room of its square. [1], [places]
    middles : (n, 2) float array
        Column and row of the places. [places]
    half : int
        How far the square goes to each side. [places]
    dead : float
        What counts as nothing. [1]
    least : float
        Least room over which a mean is formed. [places]

    Returns
    -------
    means : (n,) float array
        0 about places that are not judged. [1]
    """
    means = np.zeros(len(middles))
    for number in range(len(middles)):
        column, row = int(middles[number, 0]), int(middles[number, 1])
        if not room[row, column] > 0.0:
            continue
        total = 0.0
        for line in range(row - half, row + half + 1):
            for place in off[line, column - half : column + half + 1]:
                total += math.copysign(max(abs(place) - dead, 0.0), place)
        means[number] = total / max(room[row, column], least)
    return means


@njit(cache=True, nogil=True)
def first_moments(values: Any, middles: Any, radius: float, dead: float) -> Any:
    """
    Return the first moments of values beyond a threshold about places, over what lies within a radius.

    Parameters
    ----------
    values : (rows, columns) float array
        What is summed, as far as it is further from zero than the threshold.
    middles : (n, 2) float array
        Column and row of the places. [places]
    radius : float
        How far it goes. [places]
    dead : float
        The threshold.

    Returns
    -------
    moments : (n, 2) float array
        Along columns and rows. [places cubed]
    """
    rows, columns = values.shape
    moments = np.zeros((len(middles), 2))
    for number in range(len(middles)):
        x, y = middles[number, 0], middles[number, 1]
        for row in range(max(0, int(y - radius)), min(rows, int(y + radius) + 2)):
            for column in range(max(0, int(x - radius)), min(columns, int(x + radius) + 2)):
                right, up = column + 0.5 - x, row + 0.5 - y
                if right * right + up * up <= radius * radius:
                    value = values[row, column]
                    value = math.copysign(max(abs(value) - dead, 0.0), value)
                    moments[number, 0] += value * right
                    moments[number, 1] += value * up
    return moments
