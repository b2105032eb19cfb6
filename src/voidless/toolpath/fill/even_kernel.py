"""Melt of given beads on a lattice of places, and what squares about them hold, compiled."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from voidless.compiling import njit

__all__ = ["first_moments", "lay_given", "mark_shares", "order_places", "square_sums"]

PHASES = 8
"""Places of a nozzle's middle within a place that are told apart, per direction. [1]"""
BINS = 4.0
"""Parts of a place in which distances are looked up. [1]"""
DITHER = (0.7548776662466927, 0.5698402909980532)
"""Fractions whose multiples spread evenly over a square (M. Roberts 2018, from memory). [1]"""


@njit(cache=True, nogil=True)
def mark_shares(share: Any, edges: Any, parts: int) -> None:
    """
    Mark the share of each place that lies inside of a region.

    Parameters
    ----------
    share : (rows, columns) float array
        Zeros; written.
    edges : (n, 4) float array
        Edges of the region with the material on their left: column and row of both ends, in places.
    parts : int
        Lines through a place, along its row, on which it is looked at.
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
        for column in range(columns):
            inside += share[row, column]
            share[row, column] = inside


@njit(cache=True, nogil=True)
def order_places(reach: float) -> Any:
    """
    Return places about a nozzle in the order in which melt takes them, for every place of its middle within one.

    Parameters
    ----------
    reach : float
        How far melt flows at most. [places]

    Returns
    -------
    steps : (phases squared, n, 2) int16 array
        Rows and columns to each, from the place that holds the middle.
    distance : (phases squared, n) float array
        How far from it they are. [places]
    first : (phases squared, m) int array
        First of those further than so many parts of a place.
    """
    far, number = math.ceil(reach) + 1, int(math.pi * reach * reach)
    steps = np.zeros((PHASES * PHASES, number, 2), np.int16)
    distance = np.zeros((PHASES * PHASES, number), np.float32)
    first = np.zeros((PHASES * PHASES, int((far + 2) * BINS)), np.int32)
    across = 2 * far + 1
    found = np.zeros(across * across)
    for phase in range(PHASES * PHASES):
        y, x = (phase // PHASES + 0.5) / PHASES, (phase % PHASES + 0.5) / PHASES
        for place in range(across * across):
            found[place] = math.hypot(place // across - far + 0.5 - y, place % across - far + 0.5 - x)
        order = np.argsort(found)
        for place in range(number):
            steps[phase, place, 0] = order[place] // across - far
            steps[phase, place, 1] = order[place] % across - far
            distance[phase, place] = found[order[place]]
        first[phase] = np.minimum(
            np.searchsorted(distance[phase], np.arange(first.shape[1]) / BINS), number - 1
        )
    return steps, distance, first


@njit(cache=True, nogil=True)
def lay_given(
    free: Any, over: Any, lines: Any, area: Any, laid: Any, steps: Any, distance: Any, first: Any, step: float
) -> None:
    """
    Lay straight beads with given areas one after the other.

    Parameters
    ----------
    free : (rows, columns) uint8 array
        1 where a place is free; 0 after it was filled.
    over : (rows, columns) float array
        Zeros; what finds no room is added about the nozzle, within half of the reach. [places]
    lines : (n, 4) float array
        Column and row of both ends, in places.
    area : (n,) float array
        What each lays. [places]
    laid : (n,) bool array
        Which are beads.
    steps, distance, first : arrays
        As of `order_places`.
    step : float
        Way over which melt is laid at a time. [places]
    """
    number = steps.shape[1]
    left, full, x, y, turn = 0.0, 0.0, 0.0, 0.0, 0  # all places nearer to x, y than `full` are full
    for bead in range(len(lines)):
        if not laid[bead]:
            continue
        x0, y0, x1, y1 = lines[bead]
        portions = max(1, math.ceil(math.hypot(x1 - x0, y1 - y0) / step))
        for portion in range(portions):
            left += area[bead] / portions
            want = int(left)
            left -= want
            if want == 0:
                continue
            share, before_x, before_y = (portion + 0.5) / portions, x, y
            turn += 1  # middles are rounded up or down in turn
            x = x0 + share * (x1 - x0) + ((turn * DITHER[0]) % 1.0 - 0.5) / PHASES
            y = y0 + share * (y1 - y0) + ((turn * DITHER[1]) % 1.0 - 0.5) / PHASES
            row, column = int(y), int(x)
            phase = int((y - row) * PHASES) * PHASES + int((x - column) * PHASES)
            nearer = full - math.hypot(x - before_x, y - before_y) - 1.0 / PHASES
            place = first[phase, max(0, int(nearer * BINS))]
            while want > 0 and place < number:
                here = (row + steps[phase, place, 0], column + steps[phase, place, 1])
                if free[here]:
                    free[here] = 0
                    want -= 1
                place += 1
            full = distance[phase, min(place, number - 1)]
            if want > 0:
                _pile(over, x, y, distance[0, number - 1] / 2.0, want)


@njit(cache=True, nogil=True)
def _pile(over: Any, x: float, y: float, radius: float, amount: float) -> None:
    """Add an amount evenly to the places within a radius."""
    each = amount / (math.pi * radius * radius)
    for row in range(int(y - radius), int(y + radius) + 1):
        rest = radius * radius - (row + 0.5 - y) ** 2
        if rest > 0.0:
            half = math.sqrt(rest)
            for column in range(math.ceil(x - half - 0.5), math.floor(x + half - 0.5) + 1):
                over[row, column] += each


@njit(cache=True, nogil=True)
def square_sums(values: Any, spans: Any, half: int, sums: Any) -> None:
    """
    Sum values over the square about each place, as far to each side as given.

    Parameters
    ----------
    values : (rows, columns) float array
        Zero beyond the spans.
    spans : (rows, 2) int array
        Columns, from and before, of each row in which values or sums are wanted; at least `half` from the edges.
    half : int
        How far the square goes to each side. [places]
    sums : (rows, columns) float array
        Written within the spans.
    """
    rows, columns = values.shape
    column_sums = np.zeros(columns)
    for row in range(rows + half):
        for line, sign in ((row, 1.0), (row - 2 * half - 1, -1.0)):
            if 0 <= line < rows:
                for column in range(spans[line, 0], spans[line, 1]):
                    column_sums[column] += sign * values[line, column]
        middle = row - half
        if not 0 <= middle < rows or spans[middle, 0] >= spans[middle, 1]:
            continue
        total = 0.0
        for column in range(spans[middle, 0] - half, spans[middle, 0] + half):
            total += column_sums[column]
        for column in range(spans[middle, 0], spans[middle, 1]):
            total += column_sums[column + half]
            sums[middle, column] = total
            total -= column_sums[column - half]


@njit(cache=True, nogil=True)
def first_moments(values: Any, middles: Any, radius: float) -> Any:
    """
    Return the first moments of values about places, over what lies within a radius.

    Parameters
    ----------
    values : (rows, columns) float array
        What is summed.
    middles : (n, 2) float array
        Column and row of the places. [places]
    radius : float
        How far it goes. [places]

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
                    moments[number, 0] += values[row, column] * right
                    moments[number, 1] += values[row, column] * up
    return moments
