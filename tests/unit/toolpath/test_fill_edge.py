"""Strokes that close the outline where no contour is."""

import numpy as np
import pytest
from shapely import LineString, box, union_all

from voidless.toolpath.fill.beside import Aside, Lines, beside, spaced
from voidless.toolpath.fill.edge import Foot, Strokes, strokes_between
from voidless.toolpath.fill.plan import plan_region
from voidless.toolpath.fill.route import route
from voidless.toolpath.fill.types import Fill
from voidless.toolpath.moves import Kind

PITCH = 0.4070796
FILL = Fill(PITCH, 0.45, 0, 20.0, 0.4, even=False)


def test_each_part_of_a_ring_is_kept_once():
    """Four beads across a square of 4 mm: turns and feet along two sides; the sides along the beads are too long."""
    ring = np.array([(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0), (0.0, 0.0)])
    lines = _lines((0.0, 4.0, 0.5), (4.0, 0.0, 1.5), (0.0, 4.0, 2.5), (4.0, 0.0, 3.5))
    at = np.array([3, 1, 1, 3, 3, 1, 1, 3])
    strokes = strokes_between([ring], at, lines, np.array([False, True, True, True]), 1.5, 0.8)
    assert sorted(strokes.turns) == [2, 4, 6]
    np.testing.assert_allclose(strokes.turns[4], [(0.0, 1.5), (0.0, 2.5)])
    assert {end: [foot.points.tolist() for foot in feet] for end, feet in strokes.feet.items()} == {
        0: [[[0.0, 0.5], [0.0, 1.5]]],
        2: [[[4.0, 1.5], [4.0, 2.5]]],
        4: [[[0.0, 2.5], [0.0, 3.5]]],
    }
    assert sorted(one.bead for one in strokes.asides) == [
        0,
        3,
    ]  # half a pitch is left between them and the ring


def test_a_stroke_goes_round_a_corner():
    """Two ends on both sides of a corner are joined over it, where the ring is closed too."""
    ring = np.array([(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0), (0.0, 0.0)])
    points = np.array([(0.0, 0.2), (2.0, 0.2), (0.3, 0.0), (2.0, 0.0)])
    lines = _lines((0.0, 2.0, 0.2), (0.3, 2.0, 0.0))
    strokes = strokes_between([ring], np.array([3, -1, 0, -1]), lines, np.zeros(2, dtype=bool), 1.0, 0.8)
    short = min(strokes.feet[0], key=lambda foot: len(foot.points))
    np.testing.assert_allclose(short.points, [points[0], (0.0, 0.0), points[2]], atol=1e-12)


@pytest.mark.parametrize("angle", [30.0, 45.0, 135.0])
def test_all_of_the_outline_is_laid_once(angle):
    """Half a pitch from the outline of a plate a bead lies everywhere, and nowhere twice."""
    region = box(-9.0, -5.0, 9.0, 5.0)
    pattern = plan_region(region, FILL, angle)
    ends = zip(pattern.points[:-1], pattern.points[1:], pattern.kind[1:], strict=True)
    turns = [LineString([start, end]) for start, end, kind in ends if kind == Kind.TURN]
    edge = region.buffer(-0.503 * PITCH, join_style="mitre").boundary
    assert (
        edge.difference(union_all([turn.buffer(0.01 * PITCH) for turn in turns])).length < 0.01 * edge.length
    )
    assert sum(turn.length for turn in turns) == pytest.approx(edge.length, rel=0.01)


def _lines(*ends):
    return Lines(np.array([v for _, _, v in ends]), np.array([(low, high) for low, high, _ in ends]), 1.0)


@pytest.mark.parametrize("room", [0.3, 0.7])
def test_a_bead_takes_the_room_that_is_too_narrow_for_another(room):
    """Above a bead the outline runs along it: the bead goes aside by half of what is left between the two."""
    way = np.column_stack(
        [np.arange(9.0, 0.0, -0.5), np.full(18, 2.0 + room)]
    )  # what is filled lies on the left
    beads, asides = beside(way, _lines((0.0, 10.0, 1.0), (10.0, 0.0, 2.0)), 0.8)
    assert not beads
    assert [one.bead for one in asides] == [1]
    np.testing.assert_allclose(asides[0].across, room / 2.0)
    np.testing.assert_allclose(asides[0].u, way[::-1, 0])


def test_a_room_wide_enough_gets_a_bead_of_its_own():
    """A cap above the last bead: wide enough in its middle, it gets a bead there; else the last bead helps."""
    u = np.arange(9.0, 0.9, -0.5)
    cap = np.column_stack([u, 2.0 + 0.95 - 0.04 * (u - 5.0) ** 2])
    beads, asides = beside(cap, _lines((0.0, 10.0, 2.0), (0.0, 10.0, 1.0)), 0.8)
    assert len(beads) == 1
    path, radius = beads[0]
    assert (path[:, 0].max(), path[:, 0].min()) == (6.5, 3.5)
    assert 2.0 * radius.min() > 0.8
    assert 2.0 * radius.max() < 1.0
    np.testing.assert_allclose(path[0, 1] - 2.0, (1.0 + cap[5, 1] - 2.0) / 2.0)  # in the middle of its room
    assert [one.bead for one in asides] == [0, 0]
    assert beside(cap, _lines((0.0, 10.0, 3.9)), 0.8)[1] == []  # on the side that is not filled


def test_a_route_goes_aside_and_back():
    """A bead that goes aside on part of its way is on its line before and after, wider where it is aside."""
    aside = Aside(0, np.array([4.0, 5.0, 6.0]), np.array([0.2, 0.4, 0.2]))
    strokes = Strokes({}, {1: [Foot(np.array([(10.0, 0.0), (10.0, 1.0)]), np.array([0.5]))]}, [aside])
    moves = route(np.zeros(1), np.array([(0.0, 10.0)]), np.array([False]), strokes, 1.0, 0.3)
    bead = moves[moves[:, 0] == Kind.RASTER]
    np.testing.assert_allclose(np.interp([2.0, 5.0, 8.0], bead[1:, 1], bead[1:, 2]), [0.0, 0.4, 0.0])
    assert bead[:, 3].max() == pytest.approx(0.8, abs=0.001)
    assert moves[-2:, 0].tolist() == [Kind.TURN, Kind.TRAVEL]
    np.testing.assert_allclose(moves[-2:, 1:3], [(10.0, 1.0), (10.0, 0.0)])


def test_points_too_near_are_dropped_but_for_the_ends():
    """The last point stays, and none is nearer to it than asked."""
    points = np.array([(0.0, 0.0), (0.05, 0.0), (0.5, 0.0), (0.95, 0.0), (1.0, 0.0)])
    assert spaced(points, 0.1).tolist() == [0, 2, 4]


def test_no_stroke_is_shorter_than_a_bead_can_be():
    """A corner of the outline next to an end is no stop of its own, and two ends that nearly meet get no stroke."""
    ring = np.array([(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0), (0.0, 0.5001), (0.0, 0.0)])
    lines = _lines((0.0, 4.0, 0.5), (0.0, 3.0, 1.2), (0.0, 3.0, 1.2001))
    strokes = strokes_between(
        [ring], np.array([4, -1, 3, -1, 3, -1]), lines, np.zeros(3, dtype=bool), 1.5, 0.8
    )
    ways = [foot.points for end in (0, 2, 4) for foot in strokes.feet.get(end, [])]
    assert min(np.hypot(*np.diff(way, axis=0).T).min() for way in ways) > 0.04
