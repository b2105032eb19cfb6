"""Solids of specimens: closed, oriented, volume-exact, readable by an independent library."""

import io
import zipfile
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from voidless.specimens.catalogue import CATALOGUE
from voidless.specimens.mesh import mesh_3mf, mesh_stl, mesh_volume, specimen_mesh

KINDS = pytest.mark.parametrize("kind", CATALOGUE.values(), ids=list(CATALOGUE))


@KINDS
def test_mesh_is_closed_and_exact(kind):
    """Every edge has exactly two faces that run it in opposite directions; the volume is the outlines'."""
    mesh = specimen_mesh(kind)
    edges = np.vstack([mesh.faces[:, [0, 1]], mesh.faces[:, [1, 2]], mesh.faces[:, [2, 0]]])
    forward = {tuple(edge) for edge in edges.tolist()}
    assert len(forward) == len(edges)
    assert {(b, a) for a, b in forward} == forward
    assert mesh_volume(mesh) == pytest.approx(kind.volume_mm3, rel=1e-12)


@KINDS
def test_stl_is_read_back(kind):
    """A general mesh library finds the STL watertight, with the box and volume of the kind."""
    trimesh = pytest.importorskip("trimesh")
    read = trimesh.load(io.BytesIO(mesh_stl(kind)), file_type="stl")
    read.merge_vertices()
    assert read.is_watertight
    assert read.volume == pytest.approx(kind.volume_mm3, rel=1e-6)  # 32-bit floats
    np.testing.assert_allclose(read.extents, kind.box_mm, rtol=1e-6)


@KINDS
def test_3mf_holds_the_mesh(kind):
    """The package holds one model in millimetres with the vertices and faces of the mesh."""
    with zipfile.ZipFile(io.BytesIO(mesh_3mf(kind))) as package:
        model = ET.fromstring(package.read("3D/3dmodel.model"))
    name = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
    assert model.get("unit") == "millimeter"
    corners = [[float(v.get(axis)) for axis in "xyz"] for v in model.iter(f"{name}vertex")]
    faces = [[int(t.get(f"v{i}")) for i in (1, 2, 3)] for t in model.iter(f"{name}triangle")]
    mesh = specimen_mesh(kind)
    np.testing.assert_allclose(corners, mesh.vertices, atol=1e-7)
    np.testing.assert_array_equal(faces, mesh.faces)


def test_files_are_the_same_each_time():
    """The same kind gives the same bytes."""
    kind = CATALOGUE["bar_z"]
    assert mesh_3mf(kind) == mesh_3mf(kind)
    assert mesh_stl(kind) == mesh_stl(kind)
