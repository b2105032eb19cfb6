"""Volume of overlapping bodies: what they share counts once."""

import pytest

from voidless.errors import ComputationError
from voidless.meshes.mesh import Mesh, joined
from voidless.meshes.uniting import united_volume


def inwards(mesh):
    """Return the mesh with its faces turned."""
    return Mesh(mesh.vertices, mesh.faces[:, ::-1])


def test_shared_room_counts_once(block, together):
    """Two boxes of 1000 and 360 mm3 share 180 mm3; apart, touching or nested ones add up as they are."""
    one = block((0, 10), (0, 10), (0, 10))
    crossing = together(one, block((5, 15), (2, 8), (2, 8)))
    assert crossing.volume_mm3 == pytest.approx(1360.0)
    assert united_volume(crossing) == pytest.approx(1180.0, rel=1e-12)
    assert united_volume(together(one, block((20, 21), (0, 1), (0, 1)))) == pytest.approx(1001.0, rel=1e-12)
    assert united_volume(together(one, block((10, 15), (2, 8), (2, 8)))) == pytest.approx(1180.0, rel=1e-12)
    assert united_volume(together(one, block((3, 6), (3, 6), (3, 6)))) == pytest.approx(1000.0, rel=1e-12)
    assert united_volume(one) == one.volume_mm3


def test_cavities(block, together):
    """A cavity belongs to the smallest body around it; a second body may reach into it and fill a part."""
    outer, cavity = block((0, 9), (0, 9), (0, 9)), inwards(block((3, 6), (3, 6), (3, 6)))
    assert united_volume(together(outer, cavity)) == pytest.approx(702.0, rel=1e-12)
    around = block((-5, 14), (-5, 14), (-5, 14))  # not its holder: what it fills stays full
    assert united_volume(together(around, outer, cavity)) == pytest.approx(19.0**3, rel=1e-12)
    bar = block((-1, 10), (4, 5), (4, 5))  # 3 mm3 lie in the cavity, 2 mm3 outside
    assert united_volume(together(outer, cavity, bar)) == pytest.approx(702.0 + 3.0 + 2.0, rel=1e-12)
    assert united_volume(together(outer, cavity, inwards(block((7, 8), (7, 8), (7, 8))))) == pytest.approx(
        701.0
    )


def test_bodies_that_share_an_edge(block, together):
    """They hang together and still count as they are."""
    joint = joined(together(block((0, 1), (0, 1), (0, 1)), block((1, 2), (1, 2), (0, 1))))
    assert united_volume(together(joint, block((0.5, 1), (0.5, 1), (0, 2)))) == pytest.approx(2.25)


def test_a_shell_that_bounds_nothing_is_refused(block, together):
    """An open shell has no volume."""
    cube = block((0, 1), (0, 1), (0, 1))
    with pytest.raises(ComputationError, match="bounds no body"):
        united_volume(together(Mesh(cube.vertices, cube.faces[1:]), block((2, 3), (0, 1), (0, 1))))
