"""Solids of specimens: closed, oriented, volume-exact, readable by an independent library."""

import io
import zipfile
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from voidless.meshes.mesh import Mesh
from voidless.meshes.sections import mesh_sections
from voidless.specimens.catalogue import CATALOGUE
from voidless.specimens.mesh import mesh_3mf, mesh_stl, specimen_mesh

KINDS = pytest.mark.parametrize("kind", CATALOGUE.values(), ids=list(CATALOGUE))


@KINDS
def test_mesh_is_closed_and_exact(kind):
    """Every edge has exactly two faces that run it in opposite directions; the volume is that of bodies and holes."""
    mesh = specimen_mesh(kind)
    edges = np.vstack([mesh.faces[:, [0, 1]], mesh.faces[:, [1, 2]], mesh.faces[:, [2, 0]]])
    forward = {tuple(edge) for edge in edges.tolist()}
    assert len(forward) == len(edges)
    assert {(b, a) for a, b in forward} == forward
    assert mesh.volume_mm3 == pytest.approx(kind.volume_mm3, rel=1e-11)


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
    np.testing.assert_allclose(corners, mesh.vertices, atol=1e-6)
    np.testing.assert_array_equal(faces, mesh.faces)


@pytest.mark.parametrize("name", ["bar_z", "shape_piece", "iso527_1ba_xz"])
def test_files_are_the_same_each_time(name):
    """The same kind gives the same bytes."""
    kind = CATALOGUE[name]
    assert mesh_3mf(kind) == mesh_3mf(kind)
    assert mesh_stl(kind) == mesh_stl(kind)


@KINDS
def test_sections_of_mesh_and_kind_agree(kind):
    """Cut out of the solid, or taken from bodies and holes: the same region at every height."""
    heights = (np.arange(17) + 0.37) / 17.0 * kind.height_mm
    for height, section in zip(heights, mesh_sections(specimen_mesh(kind), heights), strict=True):
        assert section.symmetric_difference(kind.region(float(height))).area < 1e-6


@pytest.mark.parametrize("kind", [k for k in CATALOGUE.values() if k.gauge_mm], ids=lambda k: k.name)
def test_section_across_the_pull_is_the_stated_one(kind):
    """The solid, cut across its long axis in the middle, has the section that strengths are computed with."""
    mesh = specimen_mesh(kind)
    turn = {"X": [1, 2, 0], "Z": [0, 1, 2]}[kind.orientation[0]]
    (section,) = mesh_sections(
        Mesh(mesh.vertices[:, turn], mesh.faces), [kind.box_mm[turn[2]] / 2.0 * (turn[2] == 2)]
    )
    assert section.area == pytest.approx(
        kind.section_mm2, rel=1e-8
    )  # rings are united on a grid of some 10 nm


@pytest.mark.parametrize("kind", [k for k in CATALOGUE.values() if k.gauge_length_mm], ids=lambda k: k.name)
def test_gauge_length_has_one_section(kind):
    """Anywhere along the gauge length the section is the stated one; beyond the parallel part it is larger."""
    mesh = specimen_mesh(kind)
    turn = {"X": [1, 2, 0], "Z": [0, 1, 2]}[kind.orientation[0]]
    middle = kind.box_mm[2] / 2.0 if turn[2] == 2 else 0.0
    half = 0.999 * kind.gauge_length_mm / 2.0
    areas = [
        s.area
        for s in mesh_sections(
            Mesh(mesh.vertices[:, turn], mesh.faces), middle + half * np.linspace(-1, 1, 9)
        )
    ]
    np.testing.assert_allclose(areas, kind.section_mm2, rtol=1e-8)  # grid of some 10 nm
