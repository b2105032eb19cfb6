"""Lines that prime the nozzle, laid aside before the body is begun."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from voidless.toolpath.moves import Moves
from voidless.toolpath.ramps import ramps_in_layers

__all__ = ["without_priming"]

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]

_AT_ONCE = 1 << 17  # beads: bounds the memory taken
_MOST = 3
"""Heights at which lines prime the nozzle; a path that goes on like that is none that primes. Assumed."""


def without_priming(moves: Moves) -> Moves:
    """
    Return the same moves where lines that prime the nozzle belong to no layer; the other layers close up.

    Parameters
    ----------
    moves : Moves
        Moves in order.

    Notes
    -----
    Priming is what is laid at height 0, and what is laid first if nothing else is laid at its height and all that
    follows lies beside it, not over it, at three heights at most: a file states no purpose. So are up to three lines
    laid first at the first layer's own height, if all else at that height, and every other layer, lies beside them.
    Beads that climb between layers count to the layer that they lead up to (`ramps`).
    """
    moves = ramps_in_layers(moves)
    bead = moves.deposits & (moves.layer >= 0)
    aside = bead & ~(moves.z_mm > 0.0)
    low, high = _boxes(moves, bead)
    at_zero = aside
    for _ in range(_MOST + 1):
        found = _leading(moves, bead & ~aside, low, high)
        if found is None:
            break
        aside = aside | found
    else:
        aside = at_zero
    aside = aside | _first_lines(moves, bead & ~aside)
    if not aside.any():
        return moves
    kept = np.unique(moves.layer[bead & ~aside])
    known = np.isin(moves.layer, kept) & ~aside
    return replace(moves, layer=np.where(known, np.searchsorted(kept, moves.layer), -1))


def _leading(moves: Moves, bead: Bools, low: Floats, high: Floats) -> Bools | None:
    """Return the beads of the layer that is laid first, if it is laid at once and every other layer lies beside it."""
    order = np.flatnonzero(bead)
    if not order.size:
        return None
    first = int(moves.layer[order[0]])
    mine = bead & (moves.layer == first)
    others = np.unique(moves.layer[bead & ~mine])
    if not others.size or np.flatnonzero(mine)[-1] > np.flatnonzero(bead & ~mine)[0]:
        return None
    beside = (high[first] < low[others]) | (low[first] > high[others])
    return mine if beside.any(axis=1).all() else None


def _first_lines(moves: Moves, bead: Bools) -> Bools:
    """Return lines laid first that lie beside all else of their layer and beside every other layer, three at most."""
    found = np.zeros(len(bead), dtype=bool)
    order = np.flatnonzero(bead)
    if not order.size or (moves.layer[order] == moves.layer[order[0]]).all():
        return found
    ends = np.flatnonzero(np.diff(order) > 1)[: _MOST + 1] + 1  # a line ends where a move lays nothing
    begin = 0
    for end in ends.tolist():
        line = np.zeros(len(bead), dtype=bool)
        line[order[begin:end]] = True
        if not _lies_beside(moves, bead & ~found & ~line, line):
            return found
        found |= line
        begin = end
    return np.zeros(len(bead), dtype=bool)  # it goes on like that


def _lies_beside(moves: Moves, rest: Bools, line: Bools) -> bool:
    """Return whether each layer of the rest lies beside a line in plan."""
    low, high = _boxes(replace(moves, layer=np.where(line, 0, moves.layer + 1)), rest | line)
    there = np.isfinite(low[:, 0])
    there[0] = False
    return bool(((high[0] < low[there]) | (low[0] > high[there])).any(axis=1).all())


def _boxes(moves: Moves, bead: Bools) -> tuple[Floats, Floats]:
    """Return the lowest and highest corner in plan of the beads of each layer. [mm]"""
    count = int(moves.layer.max(initial=-1)) + 1
    low, high = np.full((count, 2), np.inf), np.full((count, 2), -np.inf)
    beads = np.flatnonzero(bead)
    for rows in np.split(beads, range(_AT_ONCE, len(beads), _AT_ONCE)):
        layer = moves.layer[rows]
        runs = np.flatnonzero(np.diff(layer, prepend=-1))
        if not len(runs):
            continue
        for points in (np.column_stack([moves.x_mm[rows], moves.y_mm[rows]]), moves.starts_mm(rows)[:, :2]):
            np.minimum.at(low, layer[runs], np.minimum.reduceat(points, runs))
            np.maximum.at(high, layer[runs], np.maximum.reduceat(points, runs))
    return low, high
