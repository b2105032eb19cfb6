"""Planes through a closed mesh -> regions with holes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.meshes.mesh import Mesh
from voidless.meshes.topology import Topology

__all__ = ["mesh_sections"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

_SEGMENTS = 4_000_000
"""Segments that are held at once. [1]"""
_STRAIGHT_MM = 1e-7
"""How far from the line between its neighbours a point may lie that is left out: some grid steps of the union. [mm]"""
_SPECK_MM2 = 1e-8
"""Smaller regions are where a plane touches the surface in a point or along a line. [mm²]"""


def mesh_sections(mesh: Mesh, heights_mm: Floats) -> Iterator[Any]:
    """
    Return the section of a mesh at each height, one after the other.

    Parameters
    ----------
    mesh : Mesh
        A closed surface (`require_solid`) with joined corners. [mm]
    heights_mm : (n,) float array
        Ascending heights of the planes. [mm]

    Returns
    -------
    sections : iterator of shapely.Polygon or shapely.MultiPolygon
        Where faces wind round at least once, so that overlapping bodies are united; empty where the plane
        misses the mesh.

    Raises
    ------
    InputError
        The heights do not ascend, or the surface is not closed.

    Notes
    -----
    A corner at the very height counts as above the plane. So a plane never contains a corner, no edge lies
    in it, and faces in its height need no rule of their own: the section is that just below. Points on an edge are
    computed from the edge alone, so that neighbouring faces agree to the last bit and rings close.
    """
    heights = np.asarray(heights_mm, dtype=float)
    if not (np.isfinite(heights).all() and np.all(np.diff(heights) >= 0.0)):
        raise InputError("sections", "heights do not ascend", "finite ascending heights", "Sort them.")
    topology = Topology(mesh)
    if np.any(topology.surplus != 0):
        raise InputError(
            "sections", "the surface is not closed", "a closed mesh", "Check it with find_faults."
        )
    return _sections(mesh, topology, heights)


def _sections(mesh: Mesh, topology: Topology, heights: Floats) -> Iterator[Any]:
    rise = mesh.corners[topology.kept, :, 2]
    first = np.searchsorted(heights, rise.min(axis=1), side="right")
    last = np.searchsorted(heights, rise.max(axis=1), side="right")
    load = np.cumsum(
        np.bincount(first, minlength=len(heights) + 1) - np.bincount(last, minlength=len(heights) + 1)
    )[: len(heights)]
    begin = 0
    while begin < len(heights):
        end = max(begin + 1, int(np.searchsorted(np.cumsum(load[begin:]), _SEGMENTS, side="right")) + begin)
        yield from _batch(
            mesh, topology, heights, (first.clip(begin, end), last.clip(begin, end)), begin, end
        )
        begin = end


def _batch(
    mesh: Mesh, topology: Topology, heights: Floats, span: tuple[Integers, Integers], begin: int, end: int
) -> Iterator[Any]:
    """Return the sections of heights `begin` to `end`; face k crosses `span[0][k]` to `span[1][k]`."""
    first, count = span[0], span[1] - span[0]
    face = np.repeat(np.arange(len(first)), count)
    layer = np.arange(len(face)) - np.repeat(np.cumsum(count) - count, count) + first[face]
    order = np.argsort(layer, kind="stable")
    face, layer = face[order], layer[order]
    start, stop = _segments(mesh, topology, face, heights[layer])
    bounds = np.searchsorted(layer, np.arange(begin, end + 1))
    ends = mesh.vertices[topology.edges]
    for number in range(begin, end):
        low, high = bounds[number - begin], bounds[number - begin + 1]
        yield _region(_rings(start[low:high], stop[low:high]), ends, float(heights[number]))


def _segments(mesh: Mesh, topology: Topology, face: Integers, height: Floats) -> tuple[Integers, Integers]:
    """Return the edges at which each face's segment starts and ends, the solid on its left."""
    above = mesh.corners[topology.kept[face], :, 2] >= height[:, None]
    lone = above.sum(axis=1) == 1
    alone = np.where(lone, above.argmax(axis=1), (~above).argmax(axis=1))
    sides = topology.side_edges[face]
    rows = np.arange(len(face))
    leaving, coming = sides[rows, alone], sides[rows, (alone + 2) % 3]
    return np.where(lone, leaving, coming), np.where(lone, coming, leaving)


def _rings(start: Integers, stop: Integers) -> list[list[int]]:
    """Return closed rings of edges; where rings touch at an edge, any pairing winds round the same."""
    order = np.argsort(start, kind="stable")
    starts = start[order].tolist()
    stops = stop[order].tolist()
    following: dict[int, list[int]] = {}
    for node, after in zip(starts, stops, strict=True):
        following.setdefault(node, []).append(after)
    rings = []
    for first in dict.fromkeys(starts):
        while following[first]:
            ring, node = [first], following[first].pop()
            while node != first:
                ring.append(node)
                node = following[node].pop()
            rings.append(ring)
    return rings


def _region(rings: list[list[int]], ends: Floats, height: float) -> Any:
    from manifold3d import CrossSection, FillRule  # slow to import, needed for meshes alone
    from shapely import MultiPolygon, Polygon

    contours = [_points(ends[ring], height) for ring in rings]
    contours = [points for points in contours if len(points) > 2]
    if not contours:
        return Polygon()
    shapes = []
    for part in CrossSection(contours, FillRule.Positive).decompose():
        loops = [_corners(np.asarray(loop)) for loop in part.to_polygons()]
        areas = [_area(loop) for loop in loops]
        outer = int(np.argmax(areas))
        if areas[outer] > _SPECK_MM2:
            holes = [loop for loop, area in zip(loops, areas, strict=True) if area < -_SPECK_MM2]
            shapes.append(Polygon(loops[outer], holes))
    region = shapes[0] if len(shapes) == 1 else MultiPolygon(shapes)
    return region.normalize()  # rings begin at a corner that does not depend on where triangles meet


def _corners(loop: Floats) -> Floats:
    """
    Return a loop `(n, 2)` without points amid straight sides.

    They lie where triangles of a flat face meet and move from height to height, so that no two sections of an upright
    wall would be the same. Never two neighbours are left out at once, so that a fine curve is not straightened.
    """
    while len(loop) > 3:
        coming, going = loop - np.roll(loop, 1, axis=0), np.roll(loop, -1, axis=0) - loop
        along = coming + going
        off = np.abs(coming[:, 0] * along[:, 1] - coming[:, 1] * along[:, 0])
        straight = (off < _STRAIGHT_MM * np.hypot(*along.T)) & (np.sum(coming * going, axis=1) > 0.0)
        even = np.arange(len(loop)) % 2 == 0
        even[-1] = False
        left_out = straight & even if np.any(straight & even) else straight & ~np.roll(straight, 1)
        if not left_out.any():
            break
        loop = loop[~left_out]
    return loop


def _points(ends: Floats, height: float) -> Floats:
    """Return where edges `(n, 2, 3)` meet a height, `(k, 2)`, repeated points once."""
    low, high = ends[:, 0], ends[:, 1]
    share = (height - low[:, 2]) / (high[:, 2] - low[:, 2])
    points = low[:, :2] + share[:, None] * (high[:, :2] - low[:, :2])
    return np.asarray(points[np.any(points != np.roll(points, 1, axis=0), axis=1)])


def _area(loop: Floats) -> float:
    x, y = loop.T
    return float(0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
