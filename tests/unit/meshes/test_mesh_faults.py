"""Faults of meshes: each is found, counted, placed, and answered."""

from pathlib import Path

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.meshes.faults import faults_in_words, find_faults, require_solid
from voidless.meshes.mesh import Mesh, joined
from voidless.meshes.reading import read_mesh
from voidless.meshes.topology import winding_number
from voidless.meshes.turning import turned_outwards

DATA = Path(__file__).parents[2] / "data"


def counts(mesh):
    """Return the names of faults and how often they occur."""
    return {fault.name: fault.count for fault in find_faults(mesh)}


def part(name):
    path = next(DATA.glob(f"*-meshes/{name}"))
    return read_mesh(path.read_bytes(), path.name).mesh


def turned(mesh, *numbers):
    faces = mesh.faces.copy()
    faces[list(numbers)] = faces[list(numbers), ::-1]
    return Mesh(mesh.vertices, faces)


def test_a_clean_solid_has_none(cube):
    """A cube, and a real part, are clean."""
    assert find_faults(cube) == ()
    assert require_solid(part("gB_BracketCover_RivetSide.stl"), "cover") == ()


def test_open_edges(cube):
    """A missing triangle leaves three open edges, at their places."""
    holed = Mesh(cube.vertices, cube.faces[1:])
    (fault,) = find_faults(holed)
    assert (fault.name, fault.count, fault.blocks) == ("open_edges", 3, True)
    missing = {tuple(p) for p in ((cube.corners[0] + np.roll(cube.corners[0], -1, axis=0)) / 2.0).tolist()}
    assert set(fault.places_mm) == missing
    assert "Close the surface" in fault.remedy
    with pytest.raises(
        InputError, match=r"bounds no solid: 3 edges with a face on one side only.*Close the surface"
    ):
        require_solid(holed, "cube.stl")


def test_corners_that_nearly_meet_are_said(cube):
    """Where joining corners within 1 µm would close the surface, the remedy says so."""
    vertices = np.vstack([cube.vertices, cube.vertices[0] + 3e-4])
    faces = cube.faces.copy()
    faces[np.argmax((faces == 0).any(axis=1))][faces[np.argmax((faces == 0).any(axis=1))] == 0] = 8
    faces[0][faces[0] == 0] = 8
    (fault,) = find_faults(Mesh(vertices, faces))
    assert fault.name == "open_edges"
    assert "miss one another by less than 0.001 mm" in fault.remedy


def test_inverted_faces(cube):
    """A face that looks the other way disagrees with three neighbours."""
    assert counts(turned(cube, 4)) == {"inverted_faces": 3}
    assert counts(Mesh(cube.vertices, cube.faces[:, ::-1])) == {"inverted_shell": 1}


def test_cavities_are_no_fault(block, together):
    """A shell that looks inwards inside of a solid bounds a cavity; one that looks outwards is nested."""
    outer, inner = block((0, 9), (0, 9), (0, 9)), block((3, 6), (3, 6), (3, 6))
    hollow = together(outer, Mesh(inner.vertices, inner.faces[:, ::-1]))
    assert find_faults(hollow) == ()
    assert hollow.volume_mm3 == pytest.approx(729.0 - 27.0)
    assert counts(together(outer, inner)) == {"nested_shells": 1}
    aside = block((20, 23), (3, 6), (3, 6))
    assert counts(together(outer, Mesh(aside.vertices, aside.faces[:, ::-1]))) == {"inverted_shell": 1}


def test_crossing_faces(block, together):
    """Bodies that pass through one another are named and not in the way; bodies that touch are no fault."""
    one, other = block((0, 10), (0, 10), (0, 10)), block((5, 15), (2, 8), (2, 8))
    found = {fault.name: fault for fault in find_faults(together(one, other))}
    assert list(found) == ["crossing_faces"]
    assert not found["crossing_faces"].blocks
    assert counts(together(one, block((10, 15), (2, 8), (2, 8)))) == {}
    assert counts(together(one, block((10.0005, 15), (2, 8), (2, 8)))) == {}
    assert "crossing_faces" in counts(together(one, block((9.9, 15), (2, 8), (2, 8))))


def test_a_surface_that_crosses_itself(block):
    """A box, one upright edge of which was drawn through the opposite side, crosses itself."""
    bar = block((0, 4), (0, 4), (0, 2))
    through = (bar.vertices[:, :2] == [4.0, 4.0]).all(axis=1)
    drawn = bar.vertices.copy()
    drawn[through, :2] = [2.0, -3.0]
    assert "crossing_faces" in counts(Mesh(drawn, bar.faces))


def test_a_bow_of_which_the_larger_half_looks_inwards_is_named_as_crossing(block):
    """Turning its faces would leave the other half out: that it crosses itself is said beside."""
    bow = block((0, 10), (0, 8), (0, 5))
    drawn = bow.vertices.copy()
    for low, high in ((0.0, 12.0), (8.0, 0.0)):
        drawn[(bow.vertices[:, :2] == [10.0, low]).all(axis=1), 1] = high
    with pytest.raises(
        InputError, match=r"looking inwards, .*; \d+ pairs of faces that pass through one another"
    ):
        require_solid(Mesh(drawn, bow.faces), "bow.stl")


def test_harmless_faults_beside_those_in_the_way_are_named_too(block, together):
    """They may be the cause."""
    bodies = together(block((0, 10), (0, 10), (0, 10)), block((5, 15), (2, 8), (2, 8)))
    with pytest.raises(InputError, match=r"surface has holes.*faces that pass through one another"):
        require_solid(Mesh(bodies.vertices, bodies.faces[1:]), "two.stl")


def test_shared_edges_and_doubled_faces(block, together):
    """Two boxes that share an edge touch; a doubled face does not pair."""
    touching = joined(together(block((0, 1), (0, 1), (0, 1)), block((1, 2), (1, 2), (0, 1))))
    assert counts(touching) == {"shared_edges": 1}
    cube = block((0, 1), (0, 1), (0, 1))
    assert counts(Mesh(cube.vertices, np.vstack([cube.faces, cube.faces[:1]]))) == {
        "unpaired_edges": 3,
        "duplicate_faces": 1,
    }
    assert counts(Mesh(cube.vertices, np.vstack([cube.faces, cube.faces])))["duplicate_faces"] == 12
    holed = Mesh(touching.vertices, touching.faces[1:])
    with pytest.raises(InputError, match="Close the surface") as told:
        require_solid(holed, "touching.stl")
    assert "bodies touch along a line" in str(told.value)
    assert "Nothing has to be done" not in str(told.value)


def test_faces_without_area(cube):
    """Faces with a repeated corner bound nothing and are harmless."""
    flat = np.array([[0, 0, 1], [1, 2, 2]])
    mesh = Mesh(cube.vertices, np.vstack([cube.faces, flat]))
    assert counts(mesh) == {"degenerate_faces": 2}
    assert [fault.blocks for fault in find_faults(mesh)] == [False]
    one = faults_in_words(find_faults(Mesh(cube.vertices, np.vstack([cube.faces, flat[:1]]))))
    assert one[0].startswith("1 face without area, the first at ")


def test_winding_number(cube):
    """1 inside, 0 outside, -1 inside of a cube that looks inwards."""
    assert winding_number(cube.corners, np.array([0.1, 0.2, 5.0])) == pytest.approx(1.0)
    assert winding_number(cube.corners, np.array([0.1, 0.2, 15.0])) == pytest.approx(0.0, abs=1e-12)
    assert winding_number(cube.corners[:, ::-1], np.array([0.1, 0.2, 5.0])) == pytest.approx(-1.0)


@pytest.mark.parametrize(
    ("name", "blocking"),
    [
        ("gB_BracketCover_RivetSide.stl", set()),
        ("gB_ServoCover.stl", set()),
        ("gB_Hand.stl", {"open_edges", "unpaired_edges"}),
        ("gB_HipCover.stl", {"inverted_faces"}),
        ("gB_ServoSideCover.stl", {"inverted_faces"}),
        ("gB_UpperTorsoFrontCover.stl", {"open_edges", "unpaired_edges", "inverted_faces"}),
        ("bars_b.3mf", set()),
    ],
)
def test_real_parts(name, blocking):
    """Faults of real parts by kind; a manifold library agrees on which are closed and agree in direction."""
    mesh = part(name)
    assert {fault.name for fault in find_faults(mesh) if fault.blocks} == blocking
    trimesh = pytest.importorskip("trimesh")
    other = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)
    assert (other.is_watertight and other.is_winding_consistent) == (not blocking)


def test_words():
    """Each fault is one sentence with its count, the first places, and a remedy."""
    words = faults_in_words(find_faults(part("gB_HipCover.stl")))
    assert words[0] == (
        "64 edges at which neighbouring faces look to opposite sides: some are inverted, the first at "
        "(3.79, -39.19, 79.05); (-3.93, -39.19, 79.05); (11.36, -37.68, 79.05) mm. Make the normals agree where it was "
        "drawn, or let the faces be turned (--turn-faces)."
    )


def test_turned_outwards(cube, block, together):
    """Inverted faces and shells are turned, cavities stay cavities."""
    for wrong in (turned(cube, 4), turned(cube, 0, 3, 7), Mesh(cube.vertices, cube.faces[:, ::-1])):
        right, number = turned_outwards(wrong, "cube")
        assert find_faults(right) == ()
        assert right.volume_mm3 == pytest.approx(1000.0)
        assert number == int((wrong.faces != cube.faces).any(axis=1).sum())
    outer, inner, core = (
        block((0, 9), (0, 9), (0, 9)),
        block((2, 7), (2, 7), (2, 7)),
        block((4, 5), (4, 5), (4, 5)),
    )
    right, _ = turned_outwards(together(outer, inner, core), "nested")
    assert right.volume_mm3 == pytest.approx(729.0 - 125.0 + 1.0)
    with pytest.raises(InputError, match="only where two of them meet at every edge"):
        turned_outwards(Mesh(cube.vertices, cube.faces[1:]), "open")


def test_turning_mends_real_parts():
    """Parts whose faces disagree become clean solids."""
    for name in ("gB_HipCover.stl", "gB_ServoSideCover.stl"):
        right, number = turned_outwards(part(name), name)
        assert number > 0
        assert not any(fault.blocks for fault in find_faults(right))
        trimesh = pytest.importorskip("trimesh")
        other = trimesh.Trimesh(right.vertices, right.faces, process=False)
        assert other.is_winding_consistent
        assert other.volume == pytest.approx(right.volume_mm3)


def test_a_surface_with_one_side_is_refused():
    """A projective plane of six corners has two faces at every edge and no inside."""
    faces = np.array(
        [
            [0, 1, 2], [0, 2, 3], [0, 3, 4], [0, 4, 5], [0, 5, 1],
            [1, 2, 4], [2, 3, 5], [3, 4, 1], [4, 5, 2], [5, 1, 3],
        ]
    )  # fmt: skip
    vertices = np.random.default_rng(3).normal(size=(6, 3))
    with pytest.raises(InputError, match="but one side"):
        turned_outwards(Mesh(vertices, faces), "one-sided")
