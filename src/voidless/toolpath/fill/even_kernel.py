"""Melt of given beads on a lattice of places, and what squares about them hold, compiled."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from voidless.compiling import njit
from voidless.toolpath.fill.order_kernel import lay_line

__all__ = ["first_moments", "lay_given", "mark_edges", "mark_shares", "pile", "square_sums"]


@njit(cache=True, nogil=True)
def mark_edges(share: Any, edges: Any, parts: int) -> None:
    """Mark at each edge what sums along its row to the share inside; parameters as of `mark_shares`."""
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
    mark_edges(share, edges, parts)
    rows, columns = share.shape
    for row in range(rows):
        inside = 0.0
        for column in range(columns):
            inside += share[row, column]
            share[row, column] = inside


@njit(cache=True, nogil=True)
def pile(over: Any, line: Any, radius: float, amount: float) -> None:
    """Add an amount evenly to the places within a radius of the middle of a straight line."""
    x, y, each = (line[0] + line[2]) / 2.0, (line[1] + line[3]) / 2.0, amount / (math.pi * radius * radius)
    for row in range(int(y - radius), int(y + radius) + 1):
        rest = radius * radius - (row + 0.5 - y) ** 2
        if rest > 0.0:
            half = math.sqrt(rest)
            for column in range(math.ceil(x - half - 0.5), math.floor(x + half - 0.5) + 1):
                over[row, column] += each


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
        Zeros; what finds no room is added about the middle of its bead, within half of the reach. [places]
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
    state, nowhere = np.zeros(5), np.zeros((0, 0), np.int32)
    reach = distance[0, distance.shape[1] - 1]
    for bead in range(len(lines)):
        if laid[bead]:
            line = lines[bead]
            lost = lay_line(free, nowhere, 0, line, area[bead], steps, distance, first, step, 0.5, state)
            if lost > 0:
                pile(over, line, reach / 2.0, lost)


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
