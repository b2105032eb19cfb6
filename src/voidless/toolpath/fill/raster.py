"""
The raster of a region: parallel beads of one pitch, joined by turns into strings.

Beads have one width throughout and end where their round ends touch what surrounds the region; what they leave
open along its edge is for the bead that follows the edge (`ring.py`), laid after them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.toolpath.fill.beside import Lines
from voidless.toolpath.fill.edge import no_strokes, strokes_between
from voidless.toolpath.fill.route import route
from voidless.toolpath.fill.types import Fill, Floats, Piece
from voidless.toolpath.moves import Kind
from voidless.toolpath.region import inset, oriented, raster_lines, rings_of, turned_edges

__all__ = ["Raster", "lay_raster"]

_TURN_PITCHES = 2.0
"""Neighbouring beads nearer than this are joined by a turn; further apart the nozzle travels. [pitches]"""
_LEAST_BACK = 0.28
_MOST_BACK = 0.45
_BARE_BACK, _WITHIN = 0.503, 0.001
"""
How far the middle of a bead keeps from the region's edge, and from the outline where no contour is: there a little more
than half a pitch, lest slits stay open beside strokes, and outermost beads lie so far within that. [pitches]
"""
_SHORTEST = 0.05
"""Shorter beads are left to the bead along the edge. [pitches]"""
_THINNEST = 0.5
"""A region with room for less than this is left to the beads about it. [pitches]"""
_SAME = 0.01
"""How far neighbouring lines may be from a pitch apart. [pitches]"""
_FOOT = 3.0
"""Longest way along the outline between neighbouring ends that is laid; others run along the beads. [pitches]"""
_SLANT = 0.95
"""Furthest that a turn runs along its beads; the longer bead is cut back, lest the two crowd. [pitches]"""


@dataclass(frozen=True, eq=False)
class Raster:
    """
    A raster.

    Attributes
    ----------
    pieces : tuple of Piece
        Moves in order; each string begins with a travel.
    strokes : (m, 5) float array
        What the beads fill: all within a distance of straight lines; X and Y of both ends, distance. [mm]
    """

    pieces: tuple[Piece, ...]
    strokes: Floats


@dataclass(frozen=True, eq=False)
class _Beads:
    """
    Straight beads in the turned frame: place across `v`, ends `u` `(n, 2)` in walking order.

    `at` `(n, 2)` is the edge of the region that each end lies on, -1 for none.
    """

    v: Floats
    u: Floats
    at: NDArray[np.int64]


def _intervals(edges: Floats, lines: Floats) -> _Beads:
    """Return the parts of lines inside a region given by its edges, line by line."""
    u0, v0, u1, v1 = edges.T
    met = (v0 <= lines[:, None]) != (v1 <= lines[:, None])
    line, edge = np.nonzero(met)
    place = u0[edge] + (lines[line] - v0[edge]) * (u1[edge] - u0[edge]) / (v1[edge] - v0[edge])
    order = np.lexsort((place, line))
    line, place, edge = line[order], place[order], edge[order]
    return _Beads(lines[line[0::2]], place.reshape(-1, 2), edge.reshape(-1, 2))


def _ordered(beads: _Beads, start: Floats) -> _Beads:
    """Return the beads in walking order: from an outermost line near the start, always to the nearest end."""
    number = len(beads.v)
    left = np.ones(number, dtype=bool)
    candidates = (beads.v == beads.v.min()) | (beads.v == beads.v.max())
    here, walk, flips = start, np.zeros(number, dtype=np.int64), np.zeros(number, dtype=bool)
    for step in range(number):
        squared = (beads.u - here[0]) ** 2 + (beads.v[:, None] - here[1]) ** 2
        squared[~(left & candidates)] = np.inf
        bead, side = divmod(int(np.argmin(np.round(squared, 6))), 2)
        walk[step], flips[step], left[bead] = bead, bool(side), False
        here = np.array([beads.u[bead, 1 - side], beads.v[bead]])
        candidates = left
    u, at = beads.u[walk], beads.at[walk]
    u[flips], at[flips] = u[flips, ::-1], at[flips, ::-1]
    return _Beads(beads.v[walk], u, at)


def _joined(beads: _Beads, pitch: float) -> NDArray[np.bool_]:
    """Return which beads are joined to the one before by a turn."""
    step_u, step_v = beads.u[1:, 0] - beads.u[:-1, 1], np.diff(beads.v)
    near = np.hypot(step_u, step_v) <= _TURN_PITCHES * pitch
    return np.concatenate([[False], near & (np.abs(np.abs(step_v) - pitch) < _SAME * pitch)])


def _trimmed(beads: _Beads, joined: NDArray[np.bool_], pitch: float) -> _Beads:
    """Return the beads with the longer end of each strongly slanted turn cut back."""
    u = beads.u.copy()
    way = np.sign(u[:, 1] - u[:, 0])
    for number in np.flatnonzero(joined).tolist():
        over = (u[number, 0] - u[number - 1, 1]) * way[number - 1]  # above 0: the next bead reaches further
        cut = abs(over) - _SLANT * pitch
        if cut <= 0.0:
            continue
        if over > 0.0:
            u[number, 0] += way[number] * min(cut, abs(u[number, 1] - u[number, 0]) / 3.0)
        else:
            u[number - 1, 1] -= way[number - 1] * min(cut, abs(u[number - 1, 1] - u[number - 1, 0]) / 3.0)
    return _Beads(beads.v, u, beads.at)


def lay_raster(
    region: Any, fill: Fill, angle_deg: float, reference_mm: float | None, start: Floats
) -> Raster:
    """
    Return the raster of a region.

    Parameters
    ----------
    region : shapely Polygon or MultiPolygon
        What is inside of the contours. [mm]
    fill : Fill
        Pitch, width, overlap.
    angle_deg : float
        Direction of the beads from the X axis. [deg]
    reference_mm : float or None
        Width that a whole number of beads divides, unless they were too narrow; None is the region's own. [mm]
    start : (2,) float array
        Where the nozzle comes from. [mm]

    Returns
    -------
    raster : Raster
        Without pieces where no bead finds room.
    """
    nothing = Raster((), np.zeros((0, 5)))
    if not region.area > 0.0:
        return nothing
    cosine, sine = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    back = np.array([[cosine, sine], [-sine, cosine]])
    edges = turned_edges(region, angle_deg)
    lines, pitch = raster_lines(edges, fill.pitch_mm, reference_mm)
    if pitch < fill.narrowest_mm:  # too little between the contours of a waist, which take it
        lines, pitch = raster_lines(edges, fill.pitch_mm, None)
    wanted = pitch / 2.0 - fill.overlap_pct / 100.0 * fill.width_mm
    keep = min(max(wanted, _LEAST_BACK * pitch), _MOST_BACK * pitch) if fill.contours else _BARE_BACK * pitch
    inner = oriented(inset(region, keep))
    if not fill.contours:
        within = keep + _WITHIN * pitch
        lines = np.clip(lines, edges[:, 1].min() + within, edges[:, 1].max() - within)
    if not inner.area > 0.0 or pitch < _THINNEST * fill.pitch_mm:
        return nothing
    beads = _intervals(turned_edges(inner, angle_deg), lines)
    long = np.abs(beads.u[:, 1] - beads.u[:, 0]) >= _SHORTEST * pitch
    if not long.any():
        return nothing
    beads = _ordered(_Beads(beads.v[long], beads.u[long], beads.at[long]), start @ back.T)
    joined = _joined(beads, pitch)
    ways = no_strokes()
    if fill.contours:
        beads = _trimmed(beads, joined, pitch)
    else:
        rings = [ring @ back.T for ring in rings_of(inner)]
        ways = strokes_between(
            rings, beads.at.ravel(), Lines(beads.v, beads.u, pitch), joined, _FOOT * pitch, fill.narrowest_mm
        )
    moves = route(beads.v, beads.u, joined, ways, pitch, fill.hook_mm(pitch / 2.0))
    kinds, turned, radius = moves[:, 0].astype(int), moves[:, 1:3] @ back, moves[:, 3]
    laid = kinds != Kind.TRAVEL
    pieces = tuple(
        Piece(Kind(kind), point[None], np.array([reach]))
        for kind, point, reach in zip(kinds.tolist(), turned, radius, strict=True)
    )
    number = np.flatnonzero(laid)
    strokes = np.hstack([turned[number - 1], turned[number], np.full((len(number), 1), pitch / 2.0)])
    return Raster(pieces, strokes)
