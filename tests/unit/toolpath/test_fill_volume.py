"""Areas from what beads sweep: exact against geometry, within the limits of width, nothing left over, little off."""

import numpy as np
import pytest
from shapely import LineString, MultiPolygon, Point, box
from shapely.ops import unary_union

from voidless.toolpath.fill.narrow import without_narrow
from voidless.toolpath.fill.plan import plan_region
from voidless.toolpath.fill.spots import with_spots
from voidless.toolpath.fill.sweep import cut, lattice_over, swept_areas
from voidless.toolpath.fill.types import Fill, Walk
from voidless.toolpath.judge import judge_beads
from voidless.toolpath.moves import Kind

PITCH = 0.4070796
FILL = Fill(PITCH, 0.45, 2, 20.0, 0.4)
BLOCK = box(-6.0, -5.0, 6.0, 5.0)


def _walk(points, radius):
    kind = np.full(len(points), int(Kind.CONTOUR))
    kind[0] = Kind.TRAVEL
    reach = np.full(len(points), radius)
    reach[0] = 0.0
    return Walk(kind, np.array(points, dtype=float), reach, np.zeros(len(points)))


def _judged(pattern, region):
    starts, bead = np.vstack([pattern.points[:1], pattern.points[:-1]]), pattern.area_mm2 > 0.0
    return judge_beads(starts[bead], pattern.points[bead], pattern.area_mm2[bead], region, 0.4, 0.45)


@pytest.mark.parametrize(
    "region", [BLOCK, Point(0.0, 0.0).buffer(3.0, 64).difference(box(-1.0, -0.5, 1.0, 0.7))]
)
def test_a_lattice_has_the_area_of_its_region(region):
    """Places inside, times their area, are the region's to three places in ten thousand."""
    lattice = lattice_over(region, FILL)
    assert lattice.inside.sum() * lattice.place_mm**2 == pytest.approx(region.area, rel=3e-4)


def test_swept_areas_are_those_of_geometry():
    """What each of some crossing beads finds free is its capsule less the earlier ones, by exact geometry."""
    walk = _walk([(-3.0, -2.0), (2.0, -2.0), (2.0, 1.5), (-2.5, -1.0), (-2.7, 0.1)], 0.4)
    fill = Fill(PITCH, 0.45, 2, 20.0, 4.0)  # no limit of width is near
    found = swept_areas(walk, lattice_over(BLOCK, FILL), fill)
    laid = []
    for number in range(1, len(walk.kind)):
        capsule = LineString(walk.points[number - 1 : number + 1]).buffer(0.4, quad_segs=64)
        exact = capsule.difference(unary_union(laid)).area if laid else capsule.area
        straight = 0.8 * walk.length_mm[number]  # within 2 % of that a move counts as straight and free
        assert found[number] == pytest.approx(
            exact, abs=0.02 * straight if found[number] == straight else 0.004
        )
        laid.append(capsule)


def test_a_start_is_no_wider_than_allowed_and_the_way_back_lays_the_rest():
    """The stroke back takes the widest bead; there and back together fill the round fronts and the way."""
    back = FILL.hook_mm(PITCH / 2.0)
    walk = cut(_walk([(0.0, 0.0), (-back, 0.0), (0.0, 0.0)], PITCH / 2.0), np.array([9.0, 0.1, 0.1]))
    area = swept_areas(walk, lattice_over(BLOCK, FILL), FILL)
    assert np.all(area <= FILL.widest_mm * walk.length_mm + 1e-9)
    exact = LineString([(-back, 0.0), (0.0, 0.0)]).buffer(PITCH / 2.0, quad_segs=64).area
    assert area.sum() == pytest.approx(exact, abs=0.003)
    assert area.sum() == pytest.approx((FILL.widest_mm + FILL.narrowest_mm) * back, rel=0.02)


def test_no_bead_is_narrower_than_allowed_and_nothing_is_lost():
    """A stretch with room for half of the narrowest bead is laid on a shorter way; the areas sum to the same."""
    walk = cut(_walk([(0.0, 0.0), (4.0, 0.0)], PITCH / 2.0), np.array([9.0, 0.16]))
    length = walk.length_mm
    area = np.where(walk.laid, 0.4 * length, 0.0)
    area[10:16] = 0.16 * length[10:16]
    some = without_narrow(Walk(walk.kind, walk.points, walk.radius_mm, area), FILL)
    laid = some.area_mm2 > 0.0
    assert some.area_mm2.sum() == pytest.approx(area.sum(), rel=1e-12)
    assert np.all(some.area_mm2[laid] >= FILL.narrowest_mm * some.length_mm[laid] * (1 - 1e-9))
    assert np.all(some.points[:, 1] == 0.0)
    idle = some.length_mm[~laid].sum()
    assert idle == pytest.approx(length[10:16].sum() * (1.0 - 0.16 / 0.4), rel=1e-6)
    middle = some.points[~laid][1:, 0].mean()
    assert walk.points[9, 0] < middle < walk.points[15, 0]


def test_a_stretch_that_is_hardly_too_narrow_takes_from_its_neighbours():
    """Room for 98.75 % of the narrowest bead is no reason to stop laying: it is laid as wide as allowed."""
    walk = cut(_walk([(0.0, 0.0), (4.0, 0.0)], PITCH / 2.0), np.array([9.0, 0.16]))
    length = walk.length_mm
    area = np.where(walk.laid, 0.4 * length, 0.0)
    area[10:12] = 0.316 * length[10:12]
    some = without_narrow(Walk(walk.kind, walk.points, walk.radius_mm, area), FILL)
    np.testing.assert_array_equal(some.points, walk.points)
    np.testing.assert_allclose(some.area_mm2[10:12], FILL.narrowest_mm * length[10:12], rtol=1e-12)
    assert some.area_mm2.sum() == pytest.approx(area.sum(), rel=1e-12)
    assert some.area_mm2[9] == some.area_mm2[12] < area[12]


def test_pieces_of_a_straight_free_bead_are_alike():
    """Away from its ends nine of ten are their length times their width; what counting moves others by is under 1 %."""
    walk = cut(_walk([(-4.0, 0.37), (4.0, 0.61)], PITCH / 2.0), np.array([9.0, 0.4]))
    area = swept_areas(walk, lattice_over(BLOCK, FILL), FILL)
    plain = PITCH * walk.length_mm[3:-2]
    assert np.mean(np.abs(area[3:-2] / plain - 1.0) < 1e-12) >= 0.9
    np.testing.assert_allclose(area[3:-2], plain, rtol=0.01)


def test_beads_that_fill_evenly_hold_all_of_each_part_of_a_section():
    """Not of the section alone: what counting adds to one part is not taken from another."""
    ring = Point(20.0, 0.0).buffer(3.0, 64).difference(Point(20.0, 0.0).buffer(1.0, 64))
    pattern = plan_region(MultiPolygon([BLOCK, ring]), FILL, 30.0)
    right = pattern.points[:, 0] > 10.0
    assert pattern.area_mm2[right].sum() == pytest.approx(ring.area, rel=1e-9)
    assert pattern.area_mm2[~right].sum() == pytest.approx(BLOCK.area, rel=1e-9)


def test_a_corner_is_filled_by_a_way_aside():
    """What a round front leaves in a corner, r^2 (1 - pi / 4), is laid there on the way round, and nowhere else."""
    radius, region = 0.3, box(0.0, 0.0, 4.0, 4.0)
    walk = cut(_walk([(2.0, 0.3), (0.3, 0.3), (0.3, 2.0)], radius), np.array([9.0, 0.1, 0.1]))
    lattice = lattice_over(region, FILL)
    area = swept_areas(walk, lattice, FILL)
    lattice.free[:] *= 0  # only the corner is looked at
    rows, columns = np.nonzero(lattice_over(region, FILL).inside)
    places = lattice.points_mm(rows, columns)
    tip = (places.max(axis=1) < radius) & (np.hypot(*(places - radius).T) > radius)
    lattice.free[rows[tip], columns[tip]] = 1
    more = with_spots(Walk(walk.kind, walk.points, walk.radius_mm, area), lattice, FILL)
    added = ~np.isin(more.points[:, 0] + 1e3 * more.points[:, 1], walk.points[:, 0] + 1e3 * walk.points[:, 1])
    assert more.area_mm2[added].sum() == pytest.approx(radius**2 * (1.0 - np.pi / 4.0), rel=0.05)
    laid = added & (more.area_mm2 > 0.0)
    assert np.all(more.points[laid] < radius)
    assert np.all(more.points[laid] > 0.0)
    np.testing.assert_array_equal(more.points[-1], walk.points[-1])


@pytest.mark.parametrize(
    ("region", "angle", "good"),
    [
        (BLOCK, 45.0, 0.99),
        (Point(0.0, 0.0).buffer(3.0, 64), 0.0, 0.98),
        (box(-5.0, -2.0, 5.0, 2.0), 0.0, 0.985),
    ],
)
def test_the_judge_finds_little_off(region, angle, good):
    """Nearly all of the area is within 1 %, gaps and widths are within the target; areas sum to the region's."""
    verdict = _judged(plan_region(region, FILL, angle), region)
    assert verdict.good_share >= good
    assert verdict.gap_share < 0.0005
    assert verdict.gap_largest_mm2 <= 0.005
    assert verdict.width_low_mm >= 0.79 * 0.4
    assert verdict.width_high_mm <= 2.1 * 0.4
    assert abs(verdict.volume_error) < 1e-9
