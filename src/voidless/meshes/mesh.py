"""A surface of triangles as arrays: volume, box, joined corners."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

__all__ = ["Mesh", "joined", "moved"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Mesh:
    """
    A surface of triangles.

    Attributes
    ----------
    vertices : (n, 3) float array
        Corners. [mm]
    faces : (m, 3) int array
        Indices of corners, anticlockwise seen from outside.
    """

    vertices: Floats
    faces: Integers

    @property
    def corners(self) -> Floats:
        """Corners of each face, `(m, 3, 3)`: face, corner, axis. [mm]"""
        return np.asarray(self.vertices[self.faces])

    @cached_property
    def volume_mm3(self) -> float:
        """Enclosed volume, positive if the faces of a closed surface look outwards. [mm³]"""
        a, b, c = (self.vertices[self.faces[:, corner]] - self.vertices[0] for corner in range(3))
        return float(np.sum(a * np.cross(b, c)) / 6.0)

    @cached_property
    def box_mm(self) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
        """Lowest and highest corner of the faces' box. [mm]"""
        used = self.vertices[self.faces.ravel()]
        low, high = used.min(axis=0), used.max(axis=0)
        return (float(low[0]), float(low[1]), float(low[2])), (float(high[0]), float(high[1]), float(high[2]))

    @cached_property
    def size_mm(self) -> tuple[float, float, float]:
        """Size in X, Y and Z. [mm]"""
        low, high = self.box_mm
        return high[0] - low[0], high[1] - low[1], high[2] - low[2]

    @cached_property
    def areas_mm2(self) -> Floats:
        """Area of each face, `(m,)`. [mm²]"""
        a, b, c = (self.vertices[self.faces[:, corner]] for corner in range(3))
        return np.asarray(np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2.0)


def joined(mesh: Mesh, apart_mm: float = 0.0) -> Mesh:
    """
    Return a mesh in which corners at one place are one vertex.

    Parameters
    ----------
    mesh : Mesh
        As read; files of separate triangles repeat every corner.
    apart_mm : float
        Corners on a common grid of this size are taken for one; 0 joins equal ones alone. [mm]

    Returns
    -------
    mesh : Mesh
        Faces keep their order; faces that lose a side stay, as degenerate ones.
    """
    placed = np.round(mesh.vertices / apart_mm) if apart_mm > 0.0 else mesh.vertices + 0.0  # -0 and 0 are one
    if not len(placed):
        return mesh
    order = np.lexsort(placed.T)
    new = np.concatenate([[True], np.any(np.diff(placed[order], axis=0) != 0.0, axis=1)])
    number = np.empty(len(placed), dtype=np.int64)
    number[order] = np.cumsum(new) - 1
    return Mesh(mesh.vertices[order[new]], number[mesh.faces])


def moved(mesh: Mesh, shift_mm: tuple[float, float, float]) -> Mesh:
    """Return a mesh shifted along X, Y and Z. [mm]"""
    return Mesh(mesh.vertices + np.asarray(shift_mm, dtype=float), mesh.faces)
