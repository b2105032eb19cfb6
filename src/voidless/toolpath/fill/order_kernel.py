"""Melt that takes the free places nearest to the nozzle, from an order of places that is formed once, compiled."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from voidless.compiling import njit

__all__ = ["lay_line", "order_places"]

_PHASES = 8
"""Places of a nozzle's middle within a place that are told apart, per direction. [1]"""
_BINS = 4.0
"""Parts of a place in which distances are looked up. [1]"""
_DITHER = (0.7548776662466927, 0.5698402909980532)
"""Fractions whose multiples spread evenly over a square (M. Roberts 2018, from memory). [1]"""


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
    steps = np.zeros((_PHASES * _PHASES, number, 2), np.int16)
    distance = np.zeros((_PHASES * _PHASES, number), np.float32)
    first = np.zeros((_PHASES * _PHASES, int((far + 2) * _BINS)), np.int32)
    across = 2 * far + 1
    found = np.zeros(across * across)
    for phase in range(_PHASES * _PHASES):
        y, x = (phase // _PHASES + 0.5) / _PHASES, (phase % _PHASES + 0.5) / _PHASES
        for place in range(across * across):
            found[place] = math.hypot(place // across - far + 0.5 - y, place % across - far + 0.5 - x)
        order = np.argsort(found)
        for place in range(number):
            steps[phase, place, 0] = order[place] // across - far
            steps[phase, place, 1] = order[place] % across - far
            distance[phase, place] = found[order[place]]
        first[phase] = np.minimum(
            np.searchsorted(distance[phase], np.arange(first.shape[1]) / _BINS), number - 1
        )
    return steps, distance, first


@njit(cache=True, nogil=True)
def lay_line(
    free: Any,
    line: Any,
    area: float,
    steps: Any,
    distance: Any,
    first: Any,
    step: float,
    state: Any,
) -> None:
    """
    Lay an area evenly along a straight line, short step by short step; what finds no room within reach is lost.

    Parameters
    ----------
    free : (rows, columns) uint8 array
        1 where a place is free; 0 after it was filled.
    line : (4,) float array
        Column and row of both ends, in places.
    area : float
        What is laid. [places]
    steps, distance, first : arrays
        As of `order_places`.
    step : float
        Way over which melt is laid at a time. [places]
    state : (5,) float array
        Zeros at first: column and row of the nozzle, how near to it all places are full, melt that is not yet a whole
        place, and how often melt was laid; written.
    """
    number = steps.shape[1]
    dx, dy = line[2] - line[0], line[3] - line[1]
    portions = max(1, math.ceil(math.hypot(dx, dy) / step))
    for portion in range(portions):
        state[3] += area / portions
        want = int(state[3])
        if want <= 0:
            continue
        state[3] -= want
        state[4] += 1.0  # middles are rounded up or down in turn
        share = (portion + 1.0) / portions
        x = line[0] + share * dx + ((state[4] * _DITHER[0]) % 1.0 - 0.5) / _PHASES
        y = line[1] + share * dy + ((state[4] * _DITHER[1]) % 1.0 - 0.5) / _PHASES
        row, column = int(y), int(x)
        phase = int((y - row) * _PHASES) * _PHASES + int((x - column) * _PHASES)
        nearer = state[2] - math.hypot(x - state[0], y - state[1]) - 2.0 / _PHASES
        place = first[phase, max(0, int(nearer * _BINS))]
        while want > 0 and place < number:
            here = (row + steps[phase, place, 0], column + steps[phase, place, 1])
            if free[here]:
                free[here] = 0
                want -= 1
            place += 1
        state[0], state[1], state[2] = x, y, distance[phase, min(place, number - 1)]
