"""Areas corrected in windows: beads laid and taken up again, sums against slices, large slanted sections mended."""

from dataclasses import replace

import numpy as np
import pytest
from shapely import Point, box
from shapely.geometry.polygon import orient

from voidless.toolpath import sections
from voidless.toolpath.fill.order_kernel import order_places
from voidless.toolpath.fill.plan import plan_region
from voidless.toolpath.fill.strip import grown, strip_over
from voidless.toolpath.fill.strip_kernel import (
    lay_beads,
    lift_beads,
    mark_lack,
    means_about,
    off_of,
    room_of,
    square_more,
)
from voidless.toolpath.fill.types import Fill
from voidless.toolpath.judge import judge_beads
from voidless.toolpath.region import rings_of
from voidless.toolpath.sections import Section, plan_sections

FILL = Fill(0.4070796, 0.45, 2, 20.0, 0.4)
TILE, HALF = 10, 4
ALL = (np.arange(11), np.tile([[10, 90]], (10, 1)))  # spans of ten rows of tiles
ORDER = order_places(12.0)
REACH = float(ORDER[1][0, -1])


def _bench():
    """Return an empty lattice of 100 x 100 places, room everywhere: free, owner, lack."""
    return np.ones((100, 100), np.uint8), np.zeros((100, 100), np.int32), np.zeros((100, 100), np.float32)


def test_what_is_taken_up_is_free_again():
    """Of three beads the middle one is taken up and laid again: the same places, whatever it piled up before."""
    free, owner, lack = _bench()
    lines = np.array([[30.0, 40.0, 60.0, 40.0], [30.0, 48.0, 60.0, 48.0], [30.0, 56.0, 60.0, 56.0]])
    area, lost, extra, radius = np.array([240.0, 1900.0, 240.0]), np.zeros(3), np.zeros(3), np.zeros(3)
    given = (lines, area, radius)
    lay_beads(free, owner, lack, lost, extra, *given, np.arange(3), *ORDER, 0.75)
    mine, over = owner == 2, lack.copy()
    assert lost[1] > 0.0
    assert mine.sum() + lost[1] == pytest.approx(1900.0, abs=1.0)
    assert -over.sum() == pytest.approx(lost.sum(), rel=0.02)  # counted on whole places
    lift_beads(free, owner, lack, lost, lines, np.array([1]), REACH, *ALL, TILE)
    assert np.all(free[mine] == 1)
    assert np.all((free == 0) == (owner > 0))
    assert (owner == 1).any()
    assert (owner == 3).any()
    area[1] = 240.0
    lay_beads(free, owner, lack, lost, extra, *given, np.array([1]), *ORDER, 0.75)
    assert (owner == 2).sum() == pytest.approx(240.0, abs=1.0)
    assert lost[1] == 0.0
    assert np.abs(lack).max() < 1e-5  # nothing is piled up any more


def test_beads_that_just_fill_leave_the_rest_to_the_next():
    """A straight bead fills its strip; what it has more, as far as it is little, the next one lays."""
    free, owner, lack = _bench()
    lines = np.array([[25.0, 50.0, 50.0, 50.0], [50.0, 50.0, 70.0, 50.0]])
    radius, lost, extra = np.array([8.0, 0.0]), np.zeros(2), np.zeros(2)
    rows, columns = np.mgrid[0:100, 0:100] + 0.5
    strip = np.hypot(rows - 50.0, columns - np.clip(columns, 25.0, 50.0)) <= 8.0
    area = np.array([strip.sum() + 1.5, 300.0])
    lay_beads(free, owner, lack, lost, extra, lines, area, radius, np.arange(2), *ORDER, 0.75)
    assert extra[1] == 1.5
    assert (free == 0).sum() == int(area.sum())
    assert np.all(free[strip] == 0)
    assert np.all(owner[strip] == 0)  # filled without an owner
    free, owner, lack = _bench()
    area[0] *= 1.1  # too much just to fill
    lay_beads(free, owner, lack, lost, extra, lines, area, radius, np.arange(2), *ORDER, 0.75)
    assert (owner == 1).sum() == pytest.approx(area[0], abs=1.0)


def test_sums_over_squares_are_melt_less_room():
    """How much more melt than room a square holds is the sum over a slice; over room it is how far off it is."""
    rng = np.random.default_rng(4)
    free, _, lack = _bench()
    free[20:80, 20:80] = rng.integers(0, 2, (60, 60))
    lack[20:80, 20:80] = rng.random((60, 60))
    more, room = np.zeros((100, 100), np.float32), np.zeros((100, 100), np.float32)
    square_more(free, lack, *ALL, *ALL, TILE, HALF, more)
    values = 1.0 - free - lack.astype(float)
    for row, column in ((30, 40), (55, 23), (78, 79), (12, 50)):
        square = np.s_[row - HALF : row + HALF + 1, column - HALF : column + HALF + 1]
        assert more[row, column] == pytest.approx(values[square].sum(), abs=1e-3)
    square_more(np.ones_like(free), lack, *ALL, *ALL, TILE, HALF, room)
    room_of(room, lack, *ALL, TILE)
    assert np.all((room > 0.0) == (lack >= 0.5))
    exact = np.divide(more, room, out=np.zeros_like(more), where=room > 0.0)
    worst = np.zeros((10, 10))
    score, uneven = off_of(more, room, *ALL, TILE, 0.1, worst)
    beyond = np.maximum(np.abs(exact) - 0.1, 0.0)
    assert score == pytest.approx((beyond**2).sum(), rel=1e-4)
    assert uneven == (beyond > 0.0).sum()
    assert worst[3, 4] == pytest.approx(np.abs(exact[30:40, 40:50]).max(), rel=1e-5)
    row, column = np.argwhere(room[30:60, 30:60] > 0.0)[7] + 30
    about = exact[row - HALF : row + HALF + 1, column - HALF : column + HALF + 1]
    mean = (np.sign(about) * np.maximum(np.abs(about) - 0.05, 0.0)).sum() / room[row, column]
    found = means_about(more, room, np.array([[column + 0.5, row + 0.5]]), HALF, 0.05, 1.0)
    assert found[0] == pytest.approx(mean, rel=1e-3)


def test_shares_within_spans_are_those_of_the_region():
    """Shares of places, filled in between spans too, sum to the area of what the spans show of a region with a hole."""
    region = box(12.3, 13.4, 86.7, 85.2).difference(Point(48.0, 50.0).buffer(20.0, 64))
    rings = rings_of(orient(region))
    lack = np.zeros((100, 100), np.float32)
    first, spans = np.arange(0, 22, 2), np.tile([[10, 45], [51, 90]], (10, 1))
    edges = np.vstack([np.hstack([ring[:-1], ring[1:]]) for ring in rings])
    mark_lack(lack, edges[np.abs(edges[:, [0, 2]] - 48.0).min(axis=1) > 4.0], 8, first, spans, TILE)
    assert lack[50, 20] == pytest.approx(1.0, abs=1e-5)
    assert lack[50, 80] == pytest.approx(1.0, abs=1e-5)
    assert lack[50, 40] == pytest.approx(0.0, abs=1e-5)
    assert lack[50, 48] == 0.0


def test_a_strip_knows_the_room_along_an_outline():
    """Beside a straight side half a square is room; tiles far from outline and beads are not looked at."""
    region = box(-6.0, -5.0, 6.0, 5.0)
    strip = strip_over(region, FILL, np.array([[0.0, -4.5]]))
    sides = strip.lattice.at(np.array([[0.0, -4.98], [0.0, -4.5]])).astype(int)
    full = (2 * strip.half + 1) ** 2
    (outer, inner) = (strip.room[row, column] / full for column, row in sides)
    assert 0.5 < outer < 0.6
    assert inner == pytest.approx(1.0, abs=1e-4)
    row, column = strip.tile_of(strip.lattice.at(np.array([[0.0, 0.0], [0.0, -5.0]])))
    assert not strip.looked[row[0], column[0]]
    assert strip.looked[row[1], column[1]]
    assert grown(strip.looked, 20).all()


def _judged(pattern, region, cell_mm=0.01):
    places, bead = np.round(pattern.points, 4), pattern.area_mm2 > 0.0
    starts = np.vstack([places[:1], places[:-1]])
    return judge_beads(starts[bead], places[bead], pattern.area_mm2[bead], region, 0.4, 0.45, cell_mm)


@pytest.mark.parametrize("contours", [1, 2])
def test_a_long_slanted_section_meets_the_target(contours):
    """A bar on edge, whose walls are ends of slanted beads: 98 % within 1 % as they find it, all of it mended."""
    region, fill = box(-21.0, -2.0, 21.0, 2.0), replace(FILL, contours=contours)
    found = plan_region(region, replace(fill, mended=False), 45.0)
    assert _judged(found, region).good_share < 0.99
    mended = plan_region(region, fill, 45.0)
    verdict = _judged(mended, region)
    assert verdict.passes
    assert verdict.good_share > 0.995
    assert mended.area_mm2.sum() == pytest.approx(region.area, rel=1e-9)


def test_what_is_planned_is_the_same_again():
    """Two plans of one section are the same to the last bit."""
    region = box(-21.0, -2.0, 21.0, 2.0)
    one, other = (plan_region(region, FILL, 45.0) for _ in range(2))
    np.testing.assert_array_equal(one.points, other.points)
    np.testing.assert_array_equal(one.area_mm2, other.area_mm2)


def test_of_many_large_sections_the_smallest_are_corrected(monkeypatch):
    """Up to a sum of areas large sections are corrected, small ones always."""
    monkeypatch.setattr(sections, "_MENDED_PITCHES2", 2500.0)
    seen = []
    monkeypatch.setattr(
        sections, "plan_region", lambda region, fill, *_: seen.append((region.area, fill.mended))
    )
    regions = [box(0.0, 0.0, width, 20.0) for width in (11.0, 3.0, 10.0, 9.0, 11.0)]
    list(plan_sections([Section(region, 0.0, None) for region in regions], FILL))
    assert seen == [(220.0, False), (60.0, True), (200.0, True), (180.0, True)]
