"""Melt of given beads along the edges of a region, laid again in windows, compiled."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from voidless.compiling import njit
from voidless.toolpath.fill.even_kernel import mark_edges, pile
from voidless.toolpath.fill.order_kernel import lay_line
from voidless.toolpath.fill.sweep_kernel import free_within, row_spans

__all__ = ["lay_beads", "lift_beads", "mark_lack", "means_about", "off_of", "room_of", "square_more"]


_SAME = 0.004
"""How far what a bead finds within its radius may be from its area for it to fill just that. [1]"""


@njit(cache=True, nogil=True)
def mark_lack(lack: Any, edges: Any, parts: int, first: Any, spans: Any, tile: int) -> None:
    """
    Mark the share of each place that lies inside of a region, within spans that hold all of its edges.

    Parameters
    ----------
    lack : (rows, columns) float array
        Zeros; written within the spans.
    edges : (n, 4) float array
        Edges of the region with the material on their left: column and row of both ends, in places.
    parts : int
        Lines through a place, along its row, on which it is looked at.
    first, spans, tile : arrays and int
        Spans of columns of each row of tiles, `spans[first[k] : first[k + 1]]`, and places along the side of a tile.
    """
    mark_edges(lack, edges, parts)
    for row in range(len(lack)):
        inside = 0.0
        for k in range(first[row // tile], first[row // tile + 1]):
            for column in range(spans[k, 0], spans[k, 1]):
                inside += lack[row, column]
                lack[row, column] = inside


@njit(cache=True, nogil=True)
def _fill(free: Any, owner: Any, name: int, top: int, last: int, spans: Any) -> None:
    """Fill what is free in the columns of rows."""
    for row in range(top, last):
        for column in range(spans[row - top, 0], spans[row - top, 1]):
            if free[row, column]:
                free[row, column] = 0
                owner[row, column] = name


@njit(cache=True, nogil=True)
def lay_beads(
    free: Any, owner: Any, lack: Any, lost: Any, extra: Any, lines: Any, area: Any, radius: Any, chosen: Any,
    steps: Any, distance: Any, first: Any, step: float,
) -> None:  # fmt: skip
    """
    Lay straight beads with given areas one after the other.

    Parameters
    ----------
    free : (rows, columns) uint8 array
        1 where a place is free; 0 after it was filled.
    owner : (rows, columns) int array
        Written: one more than the number of the bead that filled a place.
    lack : (rows, columns) float array
        What finds no room is taken from it about the middle of its bead, within half of the reach. [places]
    lost : (n,) float array
        Written: how much that is. [places]
    extra : (n,) float array
        What beads before it that just fill have left, which a bead lays beside its own area; written. [places]
    lines : (n, 4) float array
        Column and row of both ends, in places.
    area : (n,) float array
        What each lays. [places]
    radius : (n,) float array
        Above 0 for a bead that fills all within it if that is what it has, below 0 for one that does so with half of
        its width, 0 for others. [places]
    chosen : (m,) int array
        Numbers of the beads to lay, in order.
    steps, distance, first : arrays
        As of `order_places`.
    step : float
        Way over which melt is laid at a time. [places]
    """
    state, spans = np.zeros(5), np.zeros((free.shape[0], 2), np.int64)
    reach, carried = distance[0, distance.shape[1] - 1], 0.0
    for bead in chosen:
        line, away = lines[bead], radius[bead] > 0.0
        if not away:
            extra[bead] += carried
            carried = 0.0
        given = area[bead] + extra[bead]
        if radius[bead] != 0.0:
            length = math.hypot(line[2] - line[0], line[3] - line[1])
            half = radius[bead] if away else given / (2.0 * length)
            top, last = row_spans(free.shape, line, half, spans)
            found = free_within(free, top, last, spans)
            if abs(given - found) <= _SAME * given:
                _fill(free, owner, 0 if away else bead + 1, top, last, spans)
                if away:
                    carried += given - found
                else:
                    state[3] += given - found
                continue
        lost[bead] = lay_line(free, owner, bead + 1, line, given, steps, distance, first, step, 0.5, state)
        if lost[bead] > 0.0:
            pile(lack, line, reach / 2.0, -lost[bead])


@njit(cache=True, nogil=True)
def lift_beads(
    free: Any, owner: Any, lack: Any, lost: Any, lines: Any, chosen: Any, reach: float,
    first: Any, spans: Any, tile: int,
) -> None:  # fmt: skip
    """
    Take up beads that were laid, so that their places are free again.

    Parameters
    ----------
    free, owner, lack, lost, lines, chosen : arrays
        As of `lay_beads`.
    reach : float
        How far melt flows at most. [places]
    first, spans, tile : arrays and int
        As of `mark_lack`: where their melt is looked for.
    """
    mine = np.zeros(len(lines) + 1, np.bool_)
    for bead in chosen:
        mine[bead + 1] = True
        if lost[bead] > 0.0:
            pile(lack, lines[bead], reach / 2.0, lost[bead])
            lost[bead] = 0.0
    for row in range(free.shape[0]):
        for k in range(first[row // tile], first[row // tile + 1]):
            for column in range(spans[k, 0], spans[k, 1]):
                if mine[owner[row, column]]:
                    free[row, column] = 1
                    owner[row, column] = 0


@njit(cache=True, nogil=True)
def square_more(
    free: Any,
    lack: Any,
    given_first: Any,
    given: Any,
    first: Any,
    spans: Any,
    tile: int,
    half: int,
    more: Any,
) -> None:
    """
    Sum how much more melt than room there is over the square about each place.

    Parameters
    ----------
    free, lack : (rows, columns) arrays
        As of `lay_beads`.
    given_first, given : arrays
        Spans as of `mark_lack` that reach beyond the others by half a square.
    first, spans, tile : arrays and int
        As of `mark_lack`: where sums are wanted, at least half a square from the edges of the lattice.
    half : int
        How far the square goes to each side. [places]
    more : (rows, columns) float array
        Written within the spans. [places]
    """
    rows, columns = free.shape
    column_sums = np.zeros(columns)
    for row in range(rows + half):
        for line, sign in ((row, 1.0), (row - 2 * half - 1, -1.0)):
            if 0 <= line < rows:
                for k in range(given_first[line // tile], given_first[line // tile + 1]):
                    for column in range(given[k, 0], given[k, 1]):
                        column_sums[column] += sign * (1.0 - free[line, column] - lack[line, column])
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
def room_of(room: Any, lack: Any, first: Any, spans: Any, tile: int) -> None:
    """Turn sums of `square_more` with nothing laid into room about the places of the spans, 0 where none is judged."""
    for row in range(room.shape[0]):
        for k in range(first[row // tile], first[row // tile + 1]):
            for column in range(spans[k, 0], spans[k, 1]):
                room[row, column] = -room[row, column] if lack[row, column] >= 0.5 else 0.0


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
        As of `mark_lack`: where it is done.
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
