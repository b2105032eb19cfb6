"""Contours of a region: closed beads whose width follows the room about them."""

from __future__ import annotations

from typing import Any

import numpy as np

from voidless.toolpath.fill.ring import SHARP, Ring, measure_ring
from voidless.toolpath.fill.types import Floats, Piece
from voidless.toolpath.moves import Kind
from voidless.toolpath.region import rings_of

__all__ = ["edges_of", "far_corner", "lay_contour", "oriented_rings"]

_SMOOTH = 8
"""Pieces on each side over which the shift of a path is averaged."""
_LEEWAY = 0.03
"""How much area a move may lay too early or too late. [pitches squared]"""
_SAME_MM = 1e-6
"""Corners nearer than this are one. [mm]"""
_LEVEL_MM = 0.003
"""How far a move may leave the path it stands for. [mm]"""
_PUSH = 0.55
"""Share of the way to the corner's tip by which it is pushed. [1]"""
_PUSH_REACH = 0.8
"""How far from a corner a path begins to be pushed. [pitches]"""
_OPEN = (0.7, 0.7)
_CLOSED = (1.4, 1.2)
"""How far along a loop begins, and how far short of its start it ends, among free room and between beads
that are laid. [pitches]"""
_STRAIGHT = 2.0
"""Way from a sharp corner over which a path comes to be moved in full. [pitches]"""
_TAPER = 3.0
"""Way at the end of a loop over which the difference of the two is saved. [pitches]"""
_NEAR = 4
"""Pieces on each side whose deepest room a path has to reach."""


def edges_of(region: Any) -> Floats:
    """Return the edges of a region as strokes `(m, 5)` without breadth. [mm]"""
    rings = [np.hstack([ring[:-1], ring[1:], np.zeros((len(ring) - 1, 1))]) for ring in rings_of(region)]
    return np.vstack(rings) if rings else np.zeros((0, 5))


def oriented_rings(region: Any) -> list[Floats]:
    """Return the closed rings of a region with the material on their left. [mm]"""
    from shapely.geometry.polygon import orient

    shapes = [shape for shape in getattr(region, "geoms", [region]) if not shape.is_empty]
    rings = [ring for shape in shapes for ring in rings_of(orient(shape))]
    return [ring[np.append(np.hypot(*np.diff(ring, axis=0).T) > _SAME_MM, True)] for ring in rings]


def lay_contour(
    path: Any, ahead: Floats, pitch: float, area_mm2: float, outermost: bool, last: bool, here: Floats
) -> list[Piece]:
    """
    Return the closed beads along a region's edges.

    Parameters
    ----------
    path : shapely Polygon or MultiPolygon
        Its edges are the paths. [mm]
    ahead : (m, 5) float array
        What bounds the beads on their inner side, as strokes. [mm]
    pitch : float
        Twice the distance of the path from what bounds it outside. [mm]
    area_mm2 : float
        Area that the beads fill together. [mm²]
    outermost : bool
        Whether nothing bounds them outside, so that corners are pushed out less.
    last : bool
        Whether all about them is laid, so that their melt has to go where there is room.
    here : (2,) float array
        Where the nozzle comes from. [mm]

    Returns
    -------
    pieces : list of Piece
        Each loop begins with a travel.
    """
    paths = oriented_rings(path)
    lines = np.vstack([np.hstack([ring[:-1], ring[1:]]) for ring in paths])
    rings = [measure_ring(ring, lines, ahead, pitch) for ring in paths]
    measured = sum(float(ring.area_mm2.sum()) for ring in rings)
    pieces: list[Piece] = []
    for ring in rings:
        points, area = _moved(ring, pitch, free=outermost), ring.area_mm2 * (area_mm2 / measured)
        points, area = _begun(ring, points, area, pitch, here)
        points, area = _merged(points, area, pitch)
        if not last:
            points, area = _pushed(points, area, pitch, _PUSH if outermost else 1.0)
        points, area = _hooked(points, area, pitch, _CLOSED if last else _OPEN)
        pieces.append(Piece(Kind.TRAVEL, points[:1], np.zeros(1)))
        pieces.append(Piece(Kind.CONTOUR, points[1:], area))
        here = points[-1]
    return pieces


def _moved(ring: Ring, pitch: float, free: bool) -> Floats:
    """Return the path in the middle of its room; where it has a wall outside, only from rooms beyond a pitch."""
    from scipy.ndimage import maximum_filter1d

    shift = (ring.inside_mm - pitch / 2.0) / 2.0
    if np.all(np.abs(shift) < 1e-4 * pitch):
        return ring.points
    if not free:
        shift = maximum_filter1d(shift, 2 * _NEAR + 1, mode="wrap")
    wide = np.concatenate([shift[-_SMOOTH:], shift, shift[:_SMOOTH]])
    window = 2 * _SMOOTH + 1
    smooth = np.convolve(wide, np.full(window, 1.0 / window), mode="valid")
    smooth *= np.clip(ring.apart_mm / (_STRAIGHT * pitch), 0.0, 1.0)
    at_points = (smooth + np.roll(smooth, 1)) / 2.0
    edge = np.diff(ring.points, axis=0)
    normal = np.column_stack([-edge[:, 1], edge[:, 0]]) / np.hypot(*edge.T)[:, None]
    both = normal + np.roll(normal, 1, axis=0)
    mitre = both / np.maximum(np.sum(both**2, axis=1), 0.5)[:, None] * 2.0
    moved = ring.points[:-1] + at_points[:, None] * mitre
    return np.vstack([moved, moved[:1]])


def far_corner(region: Any) -> Floats:
    """Return the corner of a region that is furthest from its middle, front left where several are. [mm]"""
    points = np.vstack(rings_of(region))
    middle = (points.max(axis=0) + points.min(axis=0)) / 2.0
    far = np.round(np.hypot(*(points - middle).T), 6)
    return np.asarray(points[np.lexsort((points[:, 1], points[:, 0], -far))[0]])


def _begun(ring: Ring, points: Floats, area: Floats, pitch: float, here: Floats) -> tuple[Floats, Floats]:
    """Return the loop begun nearest to a place, off its corners."""
    squared = np.sum((points[:-1] - here) ** 2, axis=1)
    off = ring.apart_mm > _STRAIGHT * pitch
    first = int(np.argmin(np.round(np.where(off, squared, np.inf) if off.any() else squared, 6)))
    opened = np.roll(points[:-1], -first, axis=0)
    return np.vstack([opened, opened[:1]]), np.roll(area, -first)


def _merged(points: Floats, area: Floats, pitch: float) -> tuple[Floats, Floats]:
    """Return the loop with pieces joined where one straight, even move stands for them."""
    from voidless.toolpath.fill.ring_kernel import thinned  # compiled, slow to import

    keep = thinned(points, area, _LEVEL_MM, _LEEWAY * pitch**2)
    return points[keep], np.add.reduceat(area, keep[:-1])


def _pushed(points: Floats, area: Floats, pitch: float, push: float) -> tuple[Floats, Floats]:
    """Return the loop with its corners pushed out, so that the round front reaches further into them."""
    opened = points[:-1]
    edge = np.diff(points, axis=0)
    length = np.hypot(*edge.T)
    unit = edge / length[:, None]
    before = np.roll(unit, 1, axis=0)
    turn = np.arctan2(before[:, 0] * unit[:, 1] - before[:, 1] * unit[:, 0], np.sum(before * unit, axis=1))
    sharp = np.abs(turn) > SHARP
    if not sharp.any():
        return points, area
    rows, areas = [], []
    reach = np.where(
        sharp, np.minimum(_PUSH_REACH * pitch, 0.4 * np.minimum(length, np.roll(length, 1))), 0.0
    )
    reach[0] = 0.0
    for k in range(len(opened)):
        share_in, share_out = reach[k] / length[k - 1], reach[k] / length[k]
        following = reach[(k + 1) % len(reach)] / length[k]
        if reach[k] > 0.0:
            out = before[k] - unit[k]
            far = min(push * pitch / 2.0 * (1.0 / np.cos(turn[k] / 2.0) - 1.0), 0.3 * pitch)
            rows += [opened[k] - before[k] * reach[k], opened[k] + out / np.hypot(*out) * far]
            rows.append(opened[k] + unit[k] * reach[k])
            areas += [area[k - 1] * share_in, area[k] * share_out]
        else:
            rows.append(opened[k])
        areas.append(area[k] * (1.0 - share_out - following))
    return np.vstack([*rows, rows[0]]), np.array(areas)


def _hooked(points: Floats, area: Floats, pitch: float, way: tuple[float, float]) -> tuple[Floats, Floats]:
    """
    Return the loop begun a little way along it, back to its start and then round, short of its end.

    The way back lays the round front and what lies behind it, so that the end finds that much filled.
    """
    back, short = way[0] * pitch, way[1] * pitch
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    total = float(along[-1])
    if not total > 4.0 * (back + short):
        return points, area
    filled = np.concatenate([[0.0], np.cumsum(area)])
    taper = _TAPER * pitch
    marks = np.unique(np.concatenate([along, [total - short - taper, total - short]]))
    marks = marks[marks <= total - short]
    placed = np.column_stack([np.interp(marks, along, points[:, 0]), np.interp(marks, along, points[:, 1])])
    main = np.diff(np.interp(marks, along, filled))
    first = float(np.interp(back, along, filled))
    surplus = first - float(
        area.sum() - main.sum()
    )  # laid twice at the start, less what is left out at the end
    late = (marks[1:] + marks[:-1]) / 2.0 > total - short - taper
    main -= np.where(late, np.diff(marks), 0.0) * surplus / taper
    outward = marks[(marks > 0.0) & (marks < back)]
    hook = np.concatenate([[back], outward[::-1]])
    begun = np.column_stack([np.interp(hook, along, points[:, 0]), np.interp(hook, along, points[:, 1])])
    steps = -np.diff(np.interp(np.append(hook, 0.0), along, filled))
    return np.vstack([begun, placed]), np.concatenate([steps, main])
