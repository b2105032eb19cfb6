"""A kind of specimen as a closed triangle mesh, and as the bytes of an STL or 3MF file."""

from __future__ import annotations

from typing import Any

import numpy as np

from voidless.meshes.mesh import Mesh
from voidless.meshes.stl import write_stl
from voidless.meshes.writing import write_3mf
from voidless.specimens.kind import SpecimenKind
from voidless.specimens.stack import Stack

__all__ = ["mesh_3mf", "mesh_stl", "specimen_mesh", "stack_mesh"]


def stack_mesh(stack: Stack) -> Mesh:
    """Return the closed surface of a body: walls between its outlines, flat bottom and top. [mm]"""
    from manifold3d import triangulate  # needed for files alone

    levels = stack.levels
    size = len(levels[0].outline)
    vertices = np.vstack([np.column_stack([lv.outline, np.full(size, lv.height_mm)]) for lv in levels])
    here = np.arange(size)
    after = np.roll(here, -1)
    walls = []
    for level in range(len(levels) - 1):
        low, high = level * size, (level + 1) * size
        walls.append(np.column_stack([low + here, low + after, high + after]))
        walls.append(np.column_stack([low + here, high + after, high + here]))
    bottom = np.asarray(triangulate([levels[0].outline]), dtype=np.int64)
    top = np.asarray(triangulate([levels[-1].outline]), dtype=np.int64) + (len(levels) - 1) * size
    return Mesh(vertices, np.vstack([bottom[:, ::-1], *walls, top]).astype(np.int64))


def specimen_mesh(kind: SpecimenKind) -> Mesh:
    """
    Return the closed surface of a specimen. [mm]

    Notes
    -----
    Bodies are united and holes cut away by exact solid geometry (the manifold3d library).
    """
    main = stack_mesh(kind.main)
    if kind.plain:
        return main
    import manifold3d as solids  # needed for files alone

    def solid(mesh: Mesh) -> Any:
        return solids.Manifold(solids.Mesh64(mesh.vertices, mesh.faces.astype(np.uint64)))

    whole = solid(main)
    for body in kind.bodies:
        whole = whole + solid(stack_mesh(body))
    for hole in kind.holes:
        whole = whole - solid(stack_mesh(hole))
    found = whole.to_mesh64()
    return Mesh(
        np.asarray(found.vert_properties)[:, :3].astype(float), np.asarray(found.tri_verts, dtype=np.int64)
    )


def mesh_stl(kind: SpecimenKind) -> bytes:
    """Return a specimen as a binary STL file, in millimetres; the same kind gives the same bytes."""
    return write_stl(specimen_mesh(kind), f"{kind.name}, millimetres")


def mesh_3mf(kind: SpecimenKind) -> bytes:
    """Return a specimen as a 3MF file, in millimetres; the same kind gives the same bytes."""
    return write_3mf(specimen_mesh(kind), kind.name)
