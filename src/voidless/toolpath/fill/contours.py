"""Contours of a region: closed beads whose width follows the room about them."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from voidless.toolpath.fill.ring import Ring, measure_ring
from voidless.toolpath.fill.types import Fill, Floats, Piece
from voidless.toolpath.moves import Kind
from voidless.toolpath.region import rings_of

__all__ = ["edges_of", "far_corner", "lay_contour", "oriented_rings"]

_SMOOTH = 8
"""Pieces on each side over which the shift of a path is averaged."""
_SMOOTH_FREE = 2
"""As many where the room ends in the middle of a wall, which has no notches."""
_SAME_PITCHES = 0.05
"""Corners of a path nearer than this are one. [pitches]"""
_FEWEST = 3
"""Corners that a path keeps. [1]"""
_LOOP_HOOKS = 8.0
"""How many times the way back a loop has to be long. [1]"""
_STRAIGHT = 2.0
"""Way from a sharp corner over which a path comes to be moved in full. [pitches]"""
_OFF = 0.9
"""How far from its corners a loop begins where none of its sides is long enough, in the most that it can. [1]"""
_NEAR = 4
"""Pieces on each side whose deepest room a path has to reach."""
_REACH = 1.45
"""How far the last loop reaches between beads that are laid, in half its room: to the corners of it. [1]"""


def edges_of(region: Any) -> Floats:
    """Return the edges of a region as strokes `(m, 5)` without breadth. [mm]"""
    rings = [np.hstack([ring[:-1], ring[1:], np.zeros((len(ring) - 1, 1))]) for ring in rings_of(region)]
    return np.vstack(rings) if rings else np.zeros((0, 5))


def oriented_rings(region: Any, apart_mm: float) -> list[Floats]:
    """Return the closed rings of a region with the material on their left, corners at least so far apart. [mm]"""
    from shapely.geometry.polygon import orient

    shapes = [shape for shape in getattr(region, "geoms", [region]) if not shape.is_empty]
    return [_spaced(ring, apart_mm) for shape in shapes for ring in rings_of(orient(shape))]


def _spaced(ring: Floats, apart_mm: float) -> Floats:
    """Return a closed ring without the straighter one of two corners that are too near to each other. [mm]"""
    points = ring[:-1]
    edge = np.roll(points, -1, axis=0) - points
    length, before = np.hypot(*edge.T), np.roll(edge, 1, axis=0)
    size = np.maximum(length * np.roll(length, 1), np.finfo(float).tiny)
    straight = (np.sum(before * edge, axis=1) / size).tolist()
    places, kept = points.tolist(), [0]
    for corner, place in enumerate(places[1:], start=1):
        if math.dist(place, places[kept[-1]]) >= apart_mm:
            kept.append(corner)
        elif len(kept) > 1 and straight[corner] < straight[kept[-1]]:
            kept[-1] = corner
    if len(kept) > _FEWEST and math.dist(places[kept[-1]], places[0]) < apart_mm:
        kept.pop()
    return np.vstack([points[kept], points[:1]]) if len(kept) >= _FEWEST else ring


def lay_contour(
    path: Any, ahead: Floats, fill: Fill, outermost: bool, last: bool, here: Floats
) -> list[Piece]:
    """
    Return the closed beads along a region's edges.

    Parameters
    ----------
    path : shapely Polygon or MultiPolygon
        Its edges are the paths, half a pitch from what bounds them outside. [mm]
    ahead : (m, 5) float array
        What bounds the beads on their inner side, as strokes. [mm]
    fill : Fill
        Pitch and limits of width.
    outermost : bool
        Whether nothing bounds them outside.
    last : bool
        Whether all about them is laid, so that they reach for whatever is free.
    here : (2,) float array
        Where the nozzle comes from. [mm]

    Returns
    -------
    pieces : list of Piece
        Each loop begins with a travel.
    """
    apart = _SAME_PITCHES * fill.pitch_mm
    paths = oriented_rings(path, apart)
    lines = np.vstack([np.hstack([ring[:-1], ring[1:]]) for ring in paths])
    pieces: list[Piece] = []
    for ring in (measure_ring(ring, lines, ahead, fill.pitch_mm) for ring in paths):
        points, radius = _moved(ring, fill.pitch_mm, free=outermost)
        points, radius = _begun(ring, points, radius, fill.pitch_mm, here)
        points, radius = _hooked(points, radius, fill, last)
        pieces.append(Piece(Kind.TRAVEL, points[:1], np.zeros(1)))
        pieces.append(Piece(Kind.CONTOUR, points[1:], radius * (_REACH if last else 1.0)))
        here = points[-1]
    return pieces


def _moved(ring: Ring, pitch: float, free: bool) -> tuple[Floats, Floats]:
    """Return the path in the middle of its room, and half of that room; free of a wall outside, or with one."""
    from scipy.ndimage import maximum_filter1d

    shift = (ring.inside_mm - pitch / 2.0) / 2.0
    if np.all(np.abs(shift) < 1e-4 * pitch):
        return ring.points, np.full(len(shift), pitch / 2.0)
    if not free:
        shift = maximum_filter1d(shift, 2 * _NEAR + 1, mode="wrap")
    side = _SMOOTH_FREE if free else _SMOOTH
    wide = np.concatenate([shift[-side:], shift, shift[:side]])
    window = 2 * side + 1
    smooth = np.convolve(wide, np.full(window, 1.0 / window), mode="valid")
    smooth *= np.clip(ring.apart_mm / (_STRAIGHT * pitch), 0.0, 1.0)
    at_points = (smooth + np.roll(smooth, 1)) / 2.0
    edge = np.diff(ring.points, axis=0)
    normal = np.column_stack([-edge[:, 1], edge[:, 0]]) / np.hypot(*edge.T)[:, None]
    both = normal + np.roll(normal, 1, axis=0)
    mitre = both / np.maximum(np.sum(both**2, axis=1), 0.5)[:, None] * 2.0
    moved = ring.points[:-1] + at_points[:, None] * mitre
    return np.vstack([moved, moved[:1]]), pitch / 2.0 + smooth


def far_corner(region: Any) -> Floats:
    """Return the corner of a region that is furthest from its middle, front left where several are. [mm]"""
    points = np.vstack(rings_of(region))
    middle = (points.max(axis=0) + points.min(axis=0)) / 2.0
    far = np.round(np.hypot(*(points - middle).T), 6)
    return np.asarray(points[np.lexsort((points[:, 1], points[:, 0], -far))[0]])


def _begun(ring: Ring, points: Floats, radius: Floats, pitch: float, here: Floats) -> tuple[Floats, Floats]:
    """Return the loop begun nearest to a place, off its corners."""
    squared = np.sum((points[:-1] - here) ** 2, axis=1)
    off = ring.apart_mm > min(_STRAIGHT * pitch, _OFF * float(ring.apart_mm.max()))
    first = int(np.argmin(np.round(np.where(off, squared, np.inf), 6)))
    opened = np.roll(points[:-1], -first, axis=0)
    return np.vstack([opened, opened[:1]]), np.roll(radius, -first)


def _hooked(points: Floats, radius: Floats, fill: Fill, last: bool) -> tuple[Floats, Floats]:
    """
    Return the loop begun a little way along it, back to its start and then round.

    The way back lays the round front that a bead cannot lay at one place. A loop that is free on a side ends where
    its front meets that one; what is left open beside the two is filled after it.
    """
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    back, short = fill.hook_mm(float(radius[0])), 0.0 if last else 2.0 * float(radius[-1])
    if not along[-1] > _LOOP_HOOKS * back:
        return points, radius
    apart = _SAME_PITCHES * fill.pitch_mm
    outward = along[(along > 0.0) & (along < back - apart)]
    hook = np.concatenate([[back], outward[::-1]])
    kept = int(np.searchsorted(along, along[-1] - short - apart))
    ways = np.concatenate([hook, along[:kept], [along[-1] - short]])
    rows = np.column_stack([np.interp(ways, along, points[:, k]) for k in (0, 1)])
    return rows, np.concatenate([radius[: len(hook)][::-1], radius[:kept]])
