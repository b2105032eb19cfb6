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
_ABOVE = 0.005  # of the size: places of far turns nearer than that lie above each other
_WHOLE = 0.1  # of a turn: a path that ends so near to where a turn does ends with it


def rises(moves: Moves) -> bool:
    """Return whether some path rises turn by turn, so that its heights are no layers."""
    return turned(moves)[0] is not moves


def turned(moves: Moves) -> tuple[Moves, Floats]:
    """
    Return moves whose layers count the turns of rising paths, and the height to which each lays.

    Parameters
    ----------
    moves : Moves
        Moves in order; those whose layer is negative belong to none and are left out.

    Returns
    -------
    moves : Moves
        The same object where no path rises turn by turn.
    height_mm : (n,) float array
        Of a turn, half way up; else where the move ends. [mm]
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
        Height of its top; of a turn, half way up, so that its thickness is the mean over what is below. [mm]

    Notes
    -----
    The pitch is the rise between places of the path that lie above each other, first one turn apart (the median of
    several), then as many turns apart as lie above each other; a path that ends within a tenth of a turn of a whole
    number of turns is taken to have that many. Where none lie so, for one (a ramp that never comes back), or on one
    height, moves keep the layers they have.
    """
    start_z = np.concatenate([[moves.start_mm[2]], moves.z_mm[:-1]])[keep]
    height = moves.z_mm[keep].astype(float)
    name = moves.layer[keep].astype(float)
    for first, stop in _runs(_rising(moves)[keep]):
        run = keep[first:stop]
        places = np.column_stack([moves.x_mm[run], moves.y_mm[run]])
        places = np.vstack([moves.starts_mm(run[:1])[:, :2], places])
        pitch = _pitch(places, np.concatenate([start_z[first : first + 1], moves.z_mm[run]]))
        if not pitch > 0.0:
            continue
        bottom = start_z[first]
        turn = np.floor((0.5 * (height + start_z)[first:stop] - bottom) / pitch)
        height[first:stop] = bottom + (turn + 0.5) * pitch
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
    """
    Return the rise of one turn, NaN where the path does not come back above itself. [mm]

    Parameters
    ----------
    places : (n + 1, 2) float array
        Where a path begins, and where each of its moves ends. [mm]
    height : (n + 1,) float array
        Heights of these. [mm]
    """
    size = float(np.hypot(*np.ptp(places, axis=0)))
    starts = np.unique(np.linspace(0, 0.8 * len(height), _TRIES).astype(int)).tolist()
    rises = [rise for start in starts if (rise := _return(places, height, start, size)) is not None]
    if not rises:
        return float("nan")
    once = float(np.median(rises))
    if not once > 0.0 or (np.diff(height) < 0.0).any():
        return once
    pitch = _over_many(places, height, once, _ABOVE * size)
    count = (height[-1] - height[0]) / pitch
    whole = round(count)
    return float((height[-1] - height[0]) / whole) if whole and abs(count - whole) < _WHOLE else pitch


def _return(places: Floats, height: Floats, start: int, size: float) -> float | None:
    """Return how much higher the path is where it first comes back above a place; None where it does not. [mm]"""
    apart = np.hypot(*(places[start:] - places[start]).T)
    gone = np.flatnonzero(apart > _AWAY * size)
    if not gone.size:
        return None
    back = gone[0] + np.flatnonzero(apart[gone[0] :] < _BACK * size)
    if not back.size:
        return None
    on = back[0] + np.flatnonzero(apart[back[0] :] > _BACK * size)
    stop = start + (int(on[0]) if on.size else len(apart))
    return _nearest(places, height, start, start + int(back[0]), stop)[0] - float(height[start])


def _nearest(places: Floats, height: Floats, of: int, first: int, stop: int) -> tuple[float, float]:
    """Return height and distance of the path, between two of its places, where it passes nearest to a third. [mm]"""
    first, stop = max(first - 1, 0), min(stop + 1, len(height))
    begin, way = places[first : stop - 1], np.diff(places[first:stop], axis=0)
    along = ((places[of] - begin) * way).sum(axis=1) / np.maximum((way**2).sum(axis=1), 1e-300)
    along = np.clip(along, 0.0, 1.0)
    apart = np.hypot(*(begin + along[:, None] * way - places[of]).T)
    at = int(np.argmin(apart))
    rise = height[first + at + 1] - height[first + at]
    return float(height[first + at] + along[at] * rise), float(apart[at])


def _over_many(places: Floats, height: Floats, pitch: float, near: float) -> float:
    """Return the rise of a turn from places 2, 4, 8 ... turns apart: what one turn is off is divided by them. [mm]"""
    turns, found = 2, pitch
    while height[0] + (turns + 0.5) * found < height[-1]:
        wanted = height[0] + turns * found + np.array([-0.4, 0.4]) * found
        first, stop = np.searchsorted(height, wanted).tolist()
        if stop - first < 2:
            return found
        above, apart = _nearest(places, height, 0, first, stop)
        if apart > near:
            return found
        found = (above - float(height[0])) / turns
        turns *= 2
    return found
