"""Sections of meshes against algebra, against another library, and at heights where faces lie."""

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.meshes.mesh import Mesh, joined
from voidless.meshes.reading import read_mesh
from voidless.meshes.sections import mesh_sections
from voidless.specimens.catalogue import CATALOGUE
from voidless.specimens.mesh import specimen_mesh

DATA = Path(__file__).parents[2] / "data"


def areas(mesh, heights):
    return [section.area for section in mesh_sections(mesh, np.asarray(heights, dtype=float))]


def read(name):
    path = next(DATA.glob(f"*-meshes/{name}"))
    return read_mesh(path.read_bytes(), path.name).mesh


def turned_about(mesh, seed):
    """Return a mesh in a random direction, so that no face is level."""
    turn, _ = np.linalg.qr(np.random.default_rng(seed).normal(size=(3, 3)))
    turn[:, 0] *= np.sign(np.linalg.det(turn))
    return Mesh(mesh.vertices @ turn, mesh.faces)


def test_tetrahedron():
    """Corner tetrahedron of 6 mm: at height h a right triangle with legs of 6 - h."""
    vertices = np.array([[0, 0, 0], [6, 0, 0], [0, 6, 0], [0, 0, 6.0]])
    mesh = Mesh(vertices, np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]]))
    heights = np.array([0.5, 1.0, 2.0, 3.3, 5.999])
    assert areas(mesh, heights) == pytest.approx((6.0 - heights) ** 2 / 2.0, abs=1e-6)


def test_faces_in_the_plane(block, together):
    """Where faces lie in the plane the section is the one just below; below and above there is nothing."""
    steps = together(block((0, 4), (0, 4), (0, 1)), block((1, 3), (1, 3), (1, 2)))
    assert areas(steps, [0.0, 0.5, 1.0, 1.0 + 1e-9, 2.0, 2.1]) == pytest.approx(
        [0.0, 16.0, 16.0, 4.0, 4.0, 0.0]
    )


def test_edges_and_corners_in_the_plane(cube):
    """A cube on its edge, cut through its middle edges; an octahedron through four corners."""
    turn = np.array([[np.sqrt(0.5), 0, np.sqrt(0.5)], [0, 1, 0], [-np.sqrt(0.5), 0, np.sqrt(0.5)]])
    on_edge = Mesh((cube.vertices - [0, 0, 5.0]) @ turn, cube.faces)
    assert areas(on_edge, [0.0]) == pytest.approx([10.0 * 10.0 * np.sqrt(2.0)])
    corners = np.array([[1, 0, 0], [-1, 0, 0], [0, 1, 0], [0, -1, 0], [0, 0, 1], [0, 0, -1.0]])
    faces = np.array([[0, 2, 4], [2, 1, 4], [1, 3, 4], [3, 0, 4], [2, 0, 5], [1, 2, 5], [3, 1, 5], [0, 3, 5]])
    assert areas(Mesh(corners, faces), [-1.0, 0.0, 1.0]) == pytest.approx([0.0, 2.0, 0.0], abs=1e-7)


def test_bodies_unite_and_cavities_stay(block, together):
    """Overlapping boxes are one region; a cavity is a hole; an inner solid in it is an island."""
    crossed = together(block((0, 10), (4, 6), (0, 5)), block((4, 6), (0, 10), (0, 5)))
    assert areas(crossed, [2.5]) == pytest.approx([36.0])
    inner = block((2, 8), (2, 8), (1, 4))
    nested = together(
        block((0, 10), (0, 10), (0, 5)),
        Mesh(inner.vertices, inner.faces[:, ::-1]),
        block((4, 6), (4, 6), (2, 3)),
    )
    (section,) = mesh_sections(nested, np.array([2.5]))
    assert section.area == pytest.approx(100.0 - 36.0 + 4.0)
    assert sorted(len(part.interiors) for part in section.geoms) == [0, 1]


def test_boxes_that_touch_along_an_edge(block, together):
    """Rings that meet in a point give two squares."""
    touching = joined(together(block((0, 1), (0, 1), (0, 1)), block((1, 2), (1, 2), (0, 1))))
    assert areas(touching, [0.5]) == pytest.approx([2.0])


@pytest.mark.parametrize("name", ["shape_piece", "cup", "iso527_1ba_xz", "impact_bar_notch_a", "bar_z_round"])
@pytest.mark.parametrize("seed", [1, 2])
def test_areas_integrate_to_the_volume(name, seed):
    """
    Between the heights of corners a section's area is quadratic in height, so two Gauss points are exact.

    Tolerance: the union of rings works on a grid of some 10 nm.
    """
    mesh = turned_about(specimen_mesh(CATALOGUE[name]), seed)
    levels = np.unique(mesh.vertices[:, 2])
    heights, weights = [], []
    for low, high in pairwise(levels):
        middle, half = (low + high) / 2.0, (high - low) / 2.0
        heights += [middle - half / np.sqrt(3.0), middle + half / np.sqrt(3.0)]
        weights += [half, half]
    assert np.dot(areas(mesh, np.sort(heights)), np.array(weights)) == pytest.approx(
        mesh.volume_mm3, rel=1e-7
    )


@pytest.mark.parametrize("name", ["gB_BracketCover_RivetSide.stl", "gB_ServoCover.stl", "bar_z_50mm2.stl"])
def test_real_parts_against_another_library(name):
    """The manifold library cuts the same areas, at heights where faces lie and between them."""
    solids = pytest.importorskip("manifold3d")
    mesh = read(name)
    whole = solids.Manifold(solids.Mesh64(mesh.vertices, mesh.faces.astype(np.uint64)))
    assert whole.status() == solids.Error.NoError
    low, high = mesh.box_mm[0][2], mesh.box_mm[1][2]
    heights = np.linspace(low, high, 40)[1:-1]
    theirs = [whole.slice(float(height)).area() for height in heights]
    np.testing.assert_allclose(areas(mesh, heights), theirs, rtol=1e-6, atol=1e-5)


@pytest.mark.parametrize(
    ("name", "least"), [("bar_xy_25mm2", 25.0), ("bar_xy_35mm2", 35.0), ("bar_z_50mm2", 50.04)]
)
def test_sections_of_printed_bars(name, least):
    """
    The bars of the strength data have their stated sections (25, 35 and 50.04 mm², from the data set's text) in
    the middle of their length.

    Tolerance: half of the last printed digit, 0.05 mm² where one decimal is printed.
    """
    mesh = read(f"{name}.stl")
    across = Mesh(mesh.vertices[:, [2, 0, 1]], mesh.faces)  # bars lie along Y of the file; Y becomes Z
    heights = np.linspace(across.box_mm[0][2], across.box_mm[1][2], 202)[1:-1]
    middle = areas(across, heights)
    assert min(middle[60:-60]) == pytest.approx(least, abs=0.005 if least == 50.04 else 0.05)


def test_what_is_refused(cube):
    """Open surfaces and heights out of order."""
    with pytest.raises(InputError, match="the surface is not closed"):
        next(mesh_sections(Mesh(cube.vertices, cube.faces[1:]), np.array([1.0])))
    for heights in ([2.0, 1.0], [np.nan]):
        with pytest.raises(InputError, match="heights do not ascend"):
            next(mesh_sections(cube, np.array(heights)))


def test_batches_change_nothing(monkeypatch, cube):
    """Few segments held at once, or all: the same sections."""
    mesh = specimen_mesh(CATALOGUE["shape_piece"])
    heights = np.linspace(0.1, 11.9, 60)
    whole = areas(mesh, heights)
    monkeypatch.setattr("voidless.meshes.sections._SEGMENTS", 200)
    assert areas(mesh, heights) == whole


def test_sections_of_an_upright_wall_are_one(together):
    """Where triangles meet amid a flat face is no corner: a ring of 96 sides is the same section at every height."""
    turn = 2.0 * np.pi * np.arange(96) / 96
    ring = 7.3 * np.column_stack([np.cos(turn), np.sin(turn)]) + [0.1, 0.2]
    vertices = np.vstack([np.column_stack([ring, np.full(96, z)]) for z in (0.0, 12.0)])
    here, after = np.arange(96), np.roll(np.arange(96), -1)
    walls = [np.column_stack(t) for t in ((here, after, after + 96), (here, after + 96, here + 96))]
    inner = np.arange(1, 95)
    lids = [
        np.column_stack(t) for t in ((0 * inner, inner + 1, inner), (0 * inner + 96, inner + 96, inner + 97))
    ]
    solid = joined(Mesh(vertices, np.vstack([*walls, *lids])))
    sections = list(mesh_sections(solid, np.arange(0.1, 12.0, 0.2)))
    assert {section.wkb for section in sections} == {sections[0].wkb}
    assert len(sections[0].exterior.coords) == 97
    assert sections[0].area == pytest.approx(0.5 * 96 * 7.3**2 * np.sin(2.0 * np.pi / 96), rel=1e-8)


def test_a_fine_curve_stays_one():
    """A circle of 100 000 points, each 5 nm off the chord of its neighbours, keeps its area to 1e-7 of it."""
    from voidless.meshes.sections import _corners

    turn = 2.0 * np.pi * np.arange(100_000) / 100_000
    loop = 10.0 * np.column_stack([np.cos(turn), np.sin(turn)])
    kept = _corners(loop)
    x, y = kept.T
    assert 0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) == pytest.approx(100.0 * np.pi, rel=1e-7)
