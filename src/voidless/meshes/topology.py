"""Edges and shells of a mesh: which faces meet where, in which direction, and what hangs together."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from voidless.meshes.mesh import Mesh

__all__ = ["Topology", "winding_number"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

_CHUNK = 200_000


@dataclass(frozen=True, eq=False)
class Topology:
    """
    Edges of a mesh; faces that name one vertex twice are left out, since they bound nothing.

    Attributes
    ----------
    mesh : Mesh
        With joined corners.
    """

    mesh: Mesh

    @cached_property
    def collapsed(self) -> NDArray[np.bool_]:
        """Which faces name one vertex twice, `(m,)`."""
        a, b, c = self.mesh.faces.T
        return np.asarray((a == b) | (b == c) | (c == a))

    @cached_property
    def kept(self) -> Integers:
        """Numbers of the faces that bound something, `(k,)`."""
        return np.flatnonzero(~self.collapsed)

    @cached_property
    def _edges(self) -> tuple[Integers, Integers, NDArray[np.bool_]]:
        """Return distinct edges `(e, 2)`, the edge of each side of each kept face, and its direction."""
        faces = self.mesh.faces[self.kept]
        ends = np.stack([faces, np.roll(faces, -1, axis=1)], axis=2).reshape(-1, 2)
        forward = ends[:, 0] < ends[:, 1]
        low, high = ends.min(axis=1), ends.max(axis=1)
        key = low * len(self.mesh.vertices) + high
        distinct, number = np.unique(key, return_inverse=True)
        edges = np.column_stack(np.divmod(distinct, len(self.mesh.vertices)))
        return edges, number, forward

    @property
    def edges(self) -> Integers:
        """Ends of the distinct edges, `(e, 2)`, lower vertex first."""
        return self._edges[0]

    @property
    def side_edges(self) -> Integers:
        """Number of the edge of each side of the kept faces, `(k, 3)`; side i runs from corner i to i + 1."""
        return self._edges[1].reshape(-1, 3)

    @cached_property
    def uses(self) -> Integers:
        """How many sides run along each edge, `(e,)`."""
        return np.bincount(self._edges[1], minlength=len(self.edges))

    @cached_property
    def surplus(self) -> Integers:
        """Sides that run along each edge upwards in number, less those that run back, `(e,)`."""
        sign = np.where(self._edges[2], 1, -1)
        return np.bincount(self._edges[1], weights=sign, minlength=len(self.edges)).astype(np.int64)

    @cached_property
    def shells(self) -> Integers:
        """Number of the shell of each kept face, `(k,)`: faces that hang together by edges."""
        from scipy.sparse import coo_array
        from scipy.sparse.csgraph import connected_components

        sides = self._edges[1]
        order = np.argsort(sides, kind="stable")
        same = np.flatnonzero(np.diff(sides[order]) == 0)
        first, second = order[same] // 3, order[same + 1] // 3
        size = len(self.kept)
        graph = coo_array((np.ones(len(first), dtype=np.int8), (first, second)), shape=(size, size))
        return np.asarray(connected_components(graph, directed=False)[1], dtype=np.int64)

    @cached_property
    def shell_volumes_mm3(self) -> Floats:
        """Enclosed volume of each shell, negative where its faces look inwards. [mm³]"""
        corners = self.mesh.corners[self.kept]
        number = int(self.shells.max(initial=-1)) + 1
        first = np.full(number, -1)
        first[self.shells[::-1]] = np.arange(len(self.kept))[::-1]
        a, b, c = (corners[:, k] - corners[first[self.shells], 0] for k in range(3))
        part = np.einsum("ij,ij->i", a, np.cross(b, c)) / 6.0
        return np.bincount(self.shells, weights=part, minlength=number).astype(float)


def winding_number(corners: Floats, point: Floats) -> float:
    """
    Return how often faces go round a point: 1 inside of a closed surface, 0 outside.

    Parameters
    ----------
    corners : (m, 3, 3) float array
        Corners of faces. [mm]
    point : (3,) float array
        Where, not on a face. [mm]

    Returns
    -------
    number : float
        Sum of solid angles over 4π. [1]

    Notes
    -----
    van Oosterom and Strackee, "The Solid Angle of a Plane Triangle", IEEE Trans. Biomed. Eng. BME-30
    (1983) 125, eq. 8 (from memory).
    """
    total = 0.0
    for begin in range(0, len(corners), _CHUNK):
        a, b, c = (corners[begin : begin + _CHUNK, k] - point for k in range(3))
        la, lb, lc = (np.linalg.norm(v, axis=1) for v in (a, b, c))
        top = np.einsum("ij,ij->i", a, np.cross(b, c))
        ab, bc, ca = (np.einsum("ij,ij->i", u, v) for u, v in ((a, b), (b, c), (c, a)))
        total += float(np.sum(np.arctan2(top, la * lb * lc + ab * lc + bc * la + ca * lb)))
    return total / (2.0 * np.pi)
