"""Melt of given beads on a lattice of places, and what squares about them hold, compiled."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numba import njit

from voidless.toolpath.fill.lay_kernel import BINS, take_nearest

__all__ = ["lay_given", "mark_shares", "square_sums"]


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
def lay_given(
    free: Any, over: Any, lines: Any, area: Any, laid: Any, guess: float, reach: float, step: float
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
    guess : float
        How far melt is expected to flow. [places]
    reach : float
        How far it flows at most. [places]
    step : float
        Way over which it does so at a time. [places]
    """
    counts = np.zeros(int(reach * BINS) + 4, np.int64)
    spans = np.zeros((free.shape[0], 2), np.int64)
    most = int(2.0 * reach + step) + 3
    seen = np.zeros((most * most, 3), np.int32)
    part, left = np.empty(4), 0.0
    for bead in range(len(lines)):
        if not laid[bead]:
            continue
        line = lines[bead]
        dx, dy = line[2] - line[0], line[3] - line[1]
        number, near = max(1, math.ceil(math.hypot(dx, dy) / step)), guess
        for portion in range(number):
            for end in (0, 1):
                part[2 * end] = line[0] + (portion + end) / number * dx
                part[2 * end + 1] = line[1] + (portion + end) / number * dy
            left += area[bead] / number
            want = int(left)
            left -= want
            if want > 0:
                far, lack = take_nearest(free, part, want, near, reach, counts, seen, spans)
                near = 1.1 * far + 1.0
                if lack > 0:
                    _pile(over, (part[0] + part[2]) / 2.0, (part[1] + part[3]) / 2.0, reach / 2.0, lack)


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
