"""The way of the nozzle along the beads of a raster and the strokes between their ends."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from voidless.toolpath.fill.beside import Aside, spaced
from voidless.toolpath.fill.edge import Foot, Strokes
from voidless.toolpath.fill.types import Floats
from voidless.toolpath.moves import Kind

__all__ = ["route"]

_ZONE = 1.5
"""Way along a bead from each end within which its melt may differ. [pitches]"""
_JOG, _NEAR = 0.002, 0.1
"""Way over which a bead goes aside where an outline begins beside it, and over which places count as one. [pitches]"""

_SAME_MM = 1e-6

Move = tuple[float, ...]
"""Kind, place along and across, half of the room."""


def route(
    v: Floats, u: Floats, joined: NDArray[np.bool_], strokes: Strokes, pitch_mm: float, hook_mm: float
) -> Floats:
    """
    Return the moves of a raster.

    Parameters
    ----------
    v : (n,) float array
        Places of the beads across, in the order of the walk. [mm]
    u : (n, 2) float array
        Where each begins and ends along. [mm]
    joined : (n,) bool array
        Which are joined to the one before by a turn.
    strokes : Strokes
        Ways between ends.
    pitch_mm, hook_mm : float
        Pitch, and the way back by which a string of beads begins. [mm]

    Returns
    -------
    moves : (m, 4) float array
        Kind, end along and across and radius of each; beads are cut near their ends, where melt differs. [1], [mm]
    """
    moves: list[Move] = []
    radius, zone = pitch_mm / 2.0, _ZONE * pitch_mm
    for bead, (place, (first, last)) in enumerate(zip(v.tolist(), u.tolist(), strict=True)):
        feet, way = strokes.feet.get(2 * bead, []), math.copysign(1.0, last - first)
        if joined[bead]:
            turn = strokes.turns.get(2 * bead, np.array([[first, place], [first, place]]))[1:]
            moves += [(Kind.TURN, *point, radius) for point in turn.tolist()]
            moves += _there_and_back(feet, (first, place))
        elif feet and math.dist(feet[0].points[0], (first, place)) < _NEAR * pitch_mm:
            moves += [*_along(feet[0].turned()), *_there_and_back(feet[1:], (first, place))]
        else:  # begun a little way along and back, so that the round front is there when the bead sets off
            moves += _there_and_back(feet, (first, place))
            moves.append((Kind.TRAVEL, first + way * min(hook_mm, 0.6 * abs(last - first)), place, 0.0))
            moves.append((Kind.RASTER, first, place, radius))
        stops = [first + way * zone, last - way * zone, last] if abs(last - first) > 4.0 * zone else [last]
        moves += _bead([first, *stops], place, [one for one in strokes.asides if one.bead == bead], pitch_mm)
        moves += _there_and_back(strokes.feet.get(2 * bead + 1, []), (last, place))
    needless = [this[0] == Kind.TRAVEL == after[0] for this, after in pairwise(moves)]
    return np.array([move for move, skip in zip(moves, [*needless, False], strict=True) if not skip])


def _along(foot: Foot) -> list[Move]:
    """Return the moves to a foot and along it."""
    rows = zip(foot.points[1:].tolist(), foot.radius_mm.tolist(), strict=True)
    return [
        (Kind.TRAVEL, *foot.points[0].tolist(), 0.0),
        *[(Kind.TURN, *point, reach) for point, reach in rows],
    ]


def _there_and_back(feet: list[Foot], here: tuple[float, float]) -> list[Move]:
    """Return the moves along feet, each laid on the way there only."""
    moves: list[Move] = []
    for foot in feet:
        moves += _along(foot)[int(math.dist(foot.points[0], here) < _SAME_MM) :]
        moves.append((Kind.TRAVEL, *here, 0.0))
    return moves


def _bead(stops: list[float], v: float, asides: list[Aside], pitch_mm: float) -> list[Move]:
    """Return the moves of a bead, which goes aside to the middle of its room where an outline runs along it."""
    if not asides:
        return [(Kind.RASTER, stop, v, pitch_mm / 2.0) for stop in stops[1:]]
    jog = _JOG * pitch_mm * np.array([-1.0, 0.0, 1.0])
    edges = [end + jog for one in asides for end in (one.u[0], one.u[-1])]
    places = np.unique(np.concatenate([stops, *edges, *(one.u for one in asides)]))
    places = places[(places >= min(stops)) & (places <= max(stops))]
    each = np.array([np.interp(places, one.u, one.across, 0.0, 0.0) for one in asides])
    points = np.column_stack([places, v + each.sum(axis=0)])
    reach = pitch_mm / 2.0 + np.abs(each).sum(axis=0)
    if stops[-1] < stops[0]:
        points, reach = points[::-1], reach[::-1]
    kept = spaced(points, _NEAR * pitch_mm)
    half = (reach[kept][1:] + reach[kept][:-1]) / 2.0
    return [
        (Kind.RASTER, *point, r) for point, r in zip(points[kept][1:].tolist(), half.tolist(), strict=True)
    ]
