"""A kind of specimen as a closed triangle mesh, and as the bytes of an STL or 3MF file."""

from __future__ import annotations

import io
import zipfile
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.specimens.kind import SpecimenKind

__all__ = ["Mesh", "mesh_3mf", "mesh_stl", "mesh_volume", "specimen_mesh"]

Floats = NDArray[np.float64]

_ZIP_DATE = (1980, 1, 1, 0, 0, 0)
_CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
_MODEL = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
_RELATIONS = "application/vnd.openxmlformats-package.relationships+xml"
_CONTENT = "application/vnd.ms-package.3dmanufacturing-3dmodel+xml"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006"


@dataclass(frozen=True, eq=False)
class Mesh:
    """
    A closed surface of triangles.

    Attributes
    ----------
    vertices : (n, 3) float array
        Corners. [mm]
    faces : (m, 3) int array
        Indices of corners, anticlockwise seen from outside.
    """

    vertices: Floats
    faces: NDArray[np.int64]


def specimen_mesh(kind: SpecimenKind) -> Mesh:
    """Return the closed surface of a specimen: walls between its outlines, flat bottom and top. [mm]"""
    from manifold3d import triangulate  # needed for files alone

    size = len(kind.levels[0].outline)
    vertices = np.vstack([np.column_stack([lv.outline, np.full(size, lv.height_mm)]) for lv in kind.levels])
    here = np.arange(size)
    after = np.roll(here, -1)
    walls = []
    for level in range(len(kind.levels) - 1):
        low, high = level * size, (level + 1) * size
        walls.append(np.column_stack([low + here, low + after, high + after]))
        walls.append(np.column_stack([low + here, high + after, high + here]))
    bottom = np.asarray(triangulate([kind.levels[0].outline]), dtype=np.int64)
    top = np.asarray(triangulate([kind.levels[-1].outline]), dtype=np.int64)
    top = top + (len(kind.levels) - 1) * size
    return Mesh(vertices, np.vstack([bottom[:, ::-1], *walls, top]).astype(np.int64))


def mesh_volume(mesh: Mesh) -> float:
    """Return the volume that a closed mesh encloses, positive if its faces look outwards. [mm³]"""
    a, b, c = (mesh.vertices[mesh.faces[:, corner]] for corner in range(3))
    return float(np.sum(a * np.cross(b, c)) / 6.0)


def mesh_stl(kind: SpecimenKind) -> bytes:
    """
    Return a specimen as a binary STL file, in millimetres.

    Notes
    -----
    80 bytes of text, the number of triangles, then per triangle normal, three corners (32-bit floats) and
    two bytes of 0; little-endian. Layout from memory.
    """
    mesh = specimen_mesh(kind)
    corners = mesh.vertices[mesh.faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normal = normal / np.linalg.norm(normal, axis=1)[:, None]
    record = np.zeros(len(corners), dtype=[("values", "<f4", (12,)), ("rest", "<u2")])
    record["values"] = np.hstack([normal, corners.reshape(-1, 9)])
    title = f"{kind.name}, millimetres".encode("ascii").ljust(80, b" ")
    return title + len(corners).to_bytes(4, "little") + record.tobytes()


def mesh_3mf(kind: SpecimenKind) -> bytes:
    """
    Return a specimen as a 3MF file, in millimetres; the same kind gives the same bytes.

    Notes
    -----
    3MF Core Specification: a ZIP package with content types, one relationship and one model.
    """
    mesh = specimen_mesh(kind)
    corners = "".join(f'<vertex x="{x:.9g}" y="{y:.9g}" z="{z:.9g}"/>' for x, y, z in mesh.vertices.tolist())
    faces = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh.faces.tolist())
    model = (
        f'<model unit="millimeter" xml:lang="en-US" xmlns="{_CORE}"><resources>'
        f'<object id="1" type="model" name="{kind.name}"><mesh><vertices>{corners}</vertices>'
        f"<triangles>{faces}</triangles></mesh></object></resources>"
        f'<build><item objectid="1"/></build></model>'
    )
    types = (
        f'<Types xmlns="{_PACKAGE}/content-types">'
        f'<Default Extension="rels" ContentType="{_RELATIONS}"/>'
        f'<Default Extension="model" ContentType="{_CONTENT}"/></Types>'
    )
    relations = (
        f'<Relationships xmlns="{_PACKAGE}/relationships"><Relationship Target="/3D/3dmodel.model" Id="rel0" '
        f'Type="{_MODEL}"/></Relationships>'
    )
    parts = {"[Content_Types].xml": types, "_rels/.rels": relations, "3D/3dmodel.model": model}
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as package:
        for name, text in parts.items():
            entry = zipfile.ZipInfo(name, _ZIP_DATE)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = 0  # the same bytes on every system
            package.writestr(entry, '<?xml version="1.0" encoding="UTF-8"?>\n' + text)
    return file.getvalue()
