"""Strokes that close the outline where no contour is."""

import numpy as np
import pytest
from shapely import LineString, box, union_all

from voidless.toolpath.fill.edge import strokes_between
from voidless.toolpath.fill.plan import plan_region
from voidless.toolpath.fill.types import Fill
from voidless.toolpath.moves import Kind

PITCH = 0.4070796
FILL = Fill(PITCH, 0.45, 0, 20.0, 0.4, even=False)


def test_each_part_of_a_ring_is_kept_once():
    """Four beads across a square of 4 mm: turns and feet along two sides; the sides along the beads are too long."""
    ring = np.array([(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0), (0.0, 0.0)])
    points = np.array(
        [(0, 0.5), (4, 0.5), (4, 1.5), (0, 1.5), (0, 2.5), (4, 2.5), (4, 3.5), (0, 3.5)], dtype=float
    )
    at = np.array([3, 1, 1, 3, 3, 1, 1, 3])
    strokes = strokes_between([ring], at, points, np.array([False, True, True, True]), 1.5)
    assert sorted(strokes.turns) == [2, 4, 6]
    np.testing.assert_allclose(strokes.turns[4], [(0.0, 1.5), (0.0, 2.5)])
    assert {end: [foot.tolist() for foot in feet] for end, feet in strokes.feet.items()} == {
        0: [[[0.0, 0.5], [0.0, 1.5]]],
        2: [[[4.0, 1.5], [4.0, 2.5]]],
        4: [[[0.0, 2.5], [0.0, 3.5]]],
    }
    assert len(strokes_between([ring], at, points, np.zeros(4, dtype=bool), 0.5).feet) == 0


def test_a_stroke_goes_round_a_corner():
    """Two ends on both sides of a corner are joined over it, where the ring is closed too."""
    ring = np.array([(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0), (0.0, 0.0)])
    points = np.array([(0.3, 0.0), (0.0, 0.2)])
    strokes = strokes_between([ring], np.array([0, 3]), points, np.array([False]), 1.0)
    np.testing.assert_allclose(strokes.feet[0], [[(0.3, 0.0), (0.0, 0.0), (0.0, 0.2)]], atol=1e-12)


@pytest.mark.parametrize("angle", [30.0, 45.0, 135.0])
def test_all_of_the_outline_is_laid_once(angle):
    """Half a pitch from the outline of a plate a bead lies everywhere, and nowhere twice."""
    region = box(-9.0, -5.0, 9.0, 5.0)
    pattern = plan_region(region, FILL, angle)
    ends = zip(pattern.points[:-1], pattern.points[1:], pattern.kind[1:], strict=True)
    turns = [LineString([start, end]) for start, end, kind in ends if kind == Kind.TURN]
    edge = region.buffer(-0.499 * PITCH, join_style="mitre").boundary
    assert (
        edge.difference(union_all([turn.buffer(0.01 * PITCH) for turn in turns])).length < 0.01 * edge.length
    )
    assert sum(turn.length for turn in turns) == pytest.approx(edge.length, rel=0.01)
