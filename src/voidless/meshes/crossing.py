"""Faces that pass through one another."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voidless.meshes.mesh import Mesh

__all__ = ["crossing_faces"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

_DEEP_MM = 0.001
"""Faces that reach through others by less are taken to touch. [mm] Common files hold 32-bit floats,
8 nm apart at 100 mm."""
_CHUNK = 400_000


def _pairs(corners: Floats, faces: Integers) -> Integers:
    """Return pairs of faces `(p, 2)` whose boxes overlap and that share fewer than two corners."""
    from shapely import STRtree, box

    low, high = corners.min(axis=1), corners.max(axis=1)
    tree = STRtree(box(low[:, 0], low[:, 1], high[:, 0], high[:, 1]))
    found = []
    for begin in range(0, len(corners), _CHUNK // 8):
        part = slice(begin, begin + _CHUNK // 8)
        one, other = tree.query(box(low[part, 0], low[part, 1], high[part, 0], high[part, 1]))
        one = one + begin
        near = (one < other) & (low[one, 2] <= high[other, 2]) & (low[other, 2] <= high[one, 2])
        one, other = one[near], other[near]
        shared = (faces[one][:, :, None] == faces[other][:, None, :]).sum(axis=(1, 2))
        found.append(np.column_stack([one, other])[shared < 2])
    return np.vstack(found)


def _pierces(segment: Floats, triangle: Floats) -> NDArray[np.bool_]:
    """Return which segments `(p, 2, 3)` pass through triangles `(p, 3, 3)` deeper than a touch."""
    a, b, c = (triangle[:, k] for k in range(3))
    normal = np.cross(b - a, c - a)
    size = np.linalg.norm(normal, axis=1)
    flat = size == 0.0
    unit = normal / np.where(flat, 1.0, size)[:, None]
    start, end = (np.einsum("ij,ij->i", segment[:, k] - a, unit) for k in range(2))
    deep = ~flat & (np.minimum(start, end) < -_DEEP_MM) & (np.maximum(start, end) > _DEEP_MM)
    share = np.divide(start, start - end, out=np.zeros_like(start), where=deep)
    point = segment[:, 0] + share[:, None] * (segment[:, 1] - segment[:, 0])
    for p, q in ((a, b), (b, c), (c, a)):
        side = q - p
        length = np.linalg.norm(side, axis=1)
        inward = np.einsum("ij,ij->i", np.cross(unit, side), point - p)
        deep &= inward > _DEEP_MM * length
    return np.asarray(deep)


def _across(corners: Floats, pairs: Integers) -> NDArray[np.bool_]:
    """Return in which pairs the first face reaches through the plane of the second: most do not."""
    a, b, c = (corners[:, k] for k in range(3))
    normal = np.cross(b - a, c - a)
    size = np.linalg.norm(normal, axis=1)
    unit = normal / np.where(size > 0.0, size, 1.0)[:, None]
    found = np.zeros(len(pairs), dtype=bool)
    for begin in range(0, len(pairs), _CHUNK):
        first, second = pairs[begin : begin + _CHUNK].T
        away = np.einsum("pkj,pj->pk", corners[first] - a[second][:, None], unit[second])
        found[begin : begin + _CHUNK] = (away.min(axis=1) < -_DEEP_MM) & (away.max(axis=1) > _DEEP_MM)
    return found


def crossing_faces(mesh: Mesh, kept: Integers) -> Integers:
    """
    Return the pairs of faces that pass through one another.

    Parameters
    ----------
    mesh : Mesh
        With joined corners.
    kept : (k,) int array
        Faces to look at.

    Returns
    -------
    pairs : (p, 2) int array
        Numbers of faces.

    Notes
    -----
    An edge of one face has to pass the other's plane by more than 1 µm on both sides, and to meet it more than
    1 µm inside of its outline. Faces that share an edge, and faces that lie in one plane, are not compared.
    """
    corners, faces = mesh.corners[kept], mesh.faces[kept]
    pairs = _pairs(corners, faces)
    pairs = pairs[_across(corners, pairs) | _across(corners, pairs[:, ::-1])]
    crossed = np.zeros(len(pairs), dtype=bool)
    for begin in range(0, len(pairs), _CHUNK):
        part = slice(begin, begin + _CHUNK)
        one, other = corners[pairs[part, 0]], corners[pairs[part, 1]]
        for side in range(3):
            sides = [side, (side + 1) % 3]
            crossed[part] |= _pierces(one[:, sides], other) | _pierces(other[:, sides], one)
    return np.asarray(kept[pairs[crossed]])
