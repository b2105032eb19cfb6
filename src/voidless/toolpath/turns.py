"""Turns of a path that rises all the way, one bead round and round, as layers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from voidless.toolpath.moves import Moves

__all__ = ["rises", "turned", "turns_as_layers"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

_FEWEST = 20  # rising moves in a row that are a path which rises all the way, not a ramp
_TRIES = 25  # starts from which a turn is followed
_AWAY = 0.25  # of the size of the path: farther than that from a start, a turn is under way
_BACK = 0.1  # and nearer than that, it comes to its end


def rises(moves: Moves) -> bool:
    """Return whether some path rises turn by turn, so that its heights are no layers."""
    return turned(moves)[0] is not moves


def turned(moves: Moves) -> tuple[Moves, Floats]:
    """
    Return moves whose layers count the turns of rising paths, and the height up to which each lays.

    Parameters
    ----------
    moves : Moves
        Moves in order; those whose layer is negative belong to none and are left out.

    Returns
    -------
    moves : Moves
        The same object where no path rises turn by turn.
    height_mm : (n,) float array
        Of a turn, where it ends; else where the move ends. [mm]
    """
    keep = np.flatnonzero(moves.deposits & (moves.layer >= 0))
    height = moves.z_mm.astype(float)
    if not keep.size or not _runs(_rising(moves)[keep]):
        return moves, height
    number, tops = turns_as_layers(moves, keep)
    if np.array_equal(tops, height[keep]):
        return moves, height
    height[keep] = tops
    following = np.minimum(np.searchsorted(keep, np.arange(len(moves))), len(keep) - 1)
    return replace(moves, layer=np.where(moves.layer >= 0, number[following], moves.layer)), height


def _rising(moves: Moves) -> NDArray[np.bool_]:
    """Return which moves end higher than they begin."""
    before = np.concatenate([[moves.start_mm[2]], moves.z_mm[:-1]])
    return np.asarray(moves.z_mm > before + 1e-9)


def turns_as_layers(moves: Moves, keep: Integers) -> tuple[Integers, Floats]:
    """
    Return layer and height of moves, turns of a rising path counted as layers.

    Parameters
    ----------
    moves : Moves
        Moves in order.
    keep : (n,) int array
        Those that lay material.

    Returns
    -------
    layer : (n,) int array
        Number of the layer, from 0, without gaps.
    height : (n,) float array
        Height of its top; of a turn, where it ends. [mm]

    Notes
    -----
    The pitch is the rise between places of the path that lie above each other, the median of several. Where none lie
    so, for one (a ramp that never comes back), or on one height, moves keep the layers they have.
    """
    start_z = np.concatenate([[moves.start_mm[2]], moves.z_mm[:-1]])[keep]
    height = moves.z_mm[keep].astype(float)
    name = moves.layer[keep].astype(float)
    places = np.column_stack([moves.x_mm[keep], moves.y_mm[keep]])
    for first, stop in _runs(_rising(moves)[keep]):
        pitch = _pitch(places[first:stop], height[first:stop])
        if not pitch > 0.0:
            continue
        bottom = start_z[first]
        turn = np.floor((0.5 * (height + start_z)[first:stop] - bottom) / pitch)
        height[first:stop] = bottom + (turn + 1.0) * pitch
        name[first:stop] = name[first] + turn / (turn.max() + 1.0)  # between the layers before and after
    _, layer = np.unique(name, return_inverse=True)
    return layer.astype(np.int64), height


def _runs(rising: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return first and stop of every long run of rising moves; single level ones in it count."""
    near = np.convolve(rising, np.ones(2 * _FEWEST + 1), mode="same") > 0.4 * _FEWEST
    both = np.flatnonzero(np.diff(np.concatenate([[False], near, [False]]).astype(int)))
    found = []
    for first, stop in zip(both[::2].tolist(), both[1::2].tolist(), strict=True):
        inside = first + np.flatnonzero(rising[first:stop])
        if inside.size >= _FEWEST:
            found.append((int(inside[0]), int(inside[-1]) + 1))
    return found


def _pitch(places: Floats, height: Floats) -> float:
    """Return the rise of one turn, NaN where the path does not come back above itself. [mm]"""
    size = float(np.hypot(*np.ptp(places, axis=0)))
    rises = []
    for start in np.unique(np.linspace(0, 0.8 * len(height), _TRIES).astype(int)).tolist():
        apart = np.hypot(*(places[start:] - places[start]).T)
        gone = np.flatnonzero(apart > _AWAY * size)
        if not gone.size:
            continue
        back = gone[0] + np.flatnonzero(apart[gone[0] :] < _BACK * size)
        if not back.size:
            continue
        on = back[0] + np.flatnonzero(apart[back[0] :] > _BACK * size)
        nearest = int(back[0] + np.argmin(apart[back[0] : on[0] if on.size else None]))
        rises.append(height[start + nearest] - height[start])
    return float(np.median(rises)) if rises else float("nan")
