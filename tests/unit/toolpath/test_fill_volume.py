"""Areas from what beads find free: exact against geometry, widths in their limits, nothing left over, little off."""

import numpy as np
import pytest
from shapely import LineString, MultiPolygon, Point, box
from shapely.ops import unary_union

from voidless.toolpath.fill.narrow import on_parts
from voidless.toolpath.fill.plan import plan_region
from voidless.toolpath.fill.ring_kernel import thinned
from voidless.toolpath.fill.spots import with_spots
from voidless.toolpath.fill.sweep import cut, laid_walk, lattice_over
from voidless.toolpath.fill.types import Fill, Walk
from voidless.toolpath.judge import judge_beads
from voidless.toolpath.moves import Kind

PITCH = 0.4070796
FILL = Fill(PITCH, 0.45, 2, 20.0, 0.4)
BLOCK = box(-6.0, -5.0, 6.0, 5.0)
ELL = box(-6.0, -5.0, 6.0, 0.0).union(box(-6.0, -5.0, -1.0, 5.0))


def _walk(points, radius):
    kind = np.full(len(points), int(Kind.CONTOUR))
    kind[0] = Kind.TRAVEL
    reach = np.full(len(points), radius)
    reach[0] = 0.0
    return Walk(kind, np.array(points, dtype=float), reach, np.zeros(len(points)))


def _judged(pattern, region):
    starts, bead = np.vstack([pattern.points[:1], pattern.points[:-1]]), pattern.area_mm2 > 0.0
    return judge_beads(starts[bead], pattern.points[bead], pattern.area_mm2[bead], region, 0.4, 0.45, 0.01)


@pytest.mark.parametrize(
    "region", [BLOCK, Point(0.0, 0.0).buffer(3.0, 64).difference(box(-1.0, -0.5, 1.0, 0.7))]
)
def test_a_lattice_has_the_area_of_its_region(region):
    """Places inside, times their area, are the region's to three places in ten thousand."""
    lattice = lattice_over(region, FILL)
    assert lattice.inside.sum() * lattice.place_mm**2 == pytest.approx(region.area, rel=3e-4)


def test_areas_are_those_of_geometry():
    """What each of some crossing beads finds free is about its capsule less the earlier ones, by exact geometry."""
    walk = _walk([(-3.0, -2.0), (2.0, -2.0), (2.0, 1.5), (-2.5, -1.0), (-2.7, 0.1)], 0.4)
    fill = Fill(PITCH, 0.45, 2, 20.0, 0.8)  # beads 0.8 mm wide are far from the limits
    found = laid_walk(walk, lattice_over(BLOCK, fill), fill)
    np.testing.assert_array_equal(found.points, walk.points)
    laid = []
    for number in range(1, len(walk.kind)):
        capsule = LineString(walk.points[number - 1 : number + 1]).buffer(0.4, quad_segs=64)
        exact = capsule.difference(unary_union(laid)).area if laid else capsule.area
        # melt of a whole move spreads evenly along it, not as the room that it finds
        assert found.area_mm2[number] == pytest.approx(exact, abs=0.07)
        laid.append(capsule)
    assert found.area_mm2.sum() == pytest.approx(unary_union(laid).area, rel=0.01)


def test_what_one_bead_lays_amiss_its_neighbour_makes_good():
    """Beside a bead laid 5 % too narrow the next one is wider by the half of it that lies between them."""
    lattice = lattice_over(BLOCK, FILL)
    thin = 0.95 * PITCH / 2.0
    laid_walk(cut(_walk([(-4.0, 0.0), (4.0, 0.0)], thin), np.array([9.0, 0.2])), lattice, FILL)
    beside = cut(_walk([(-4.0, PITCH), (4.0, PITCH)], PITCH / 2.0), np.array([9.0, 0.4]))
    found = laid_walk(beside, lattice, FILL)
    width = (found.area_mm2 / np.maximum(found.length_mm, 1e-9))[4:-3]
    assert np.mean(width) == pytest.approx((1.0 + 0.05 / 2.0) * PITCH, rel=2e-3)


def test_melt_takes_the_nearest_places_and_all_that_is_fed():
    """A bead fed for its width fills just the strip of that width about it; as many places are gone as it has area."""
    lattice = lattice_over(BLOCK, FILL)
    walk = cut(_walk([(-4.0, 0.37), (4.0, 0.61)], PITCH / 2.0), np.array([9.0, 0.2]))
    area = laid_walk(walk, lattice, FILL).area_mm2.sum()
    gone = (lattice.inside == 1) & (lattice.free == 0)
    assert gone.sum() * lattice.place_mm**2 == pytest.approx(area, rel=3e-3)
    rows, columns = np.nonzero(gone)
    line = LineString([(-4.0, 0.37), (4.0, 0.61)])
    far = max(line.distance(Point(p)) for p in lattice.points_mm(rows, columns))
    assert far == pytest.approx(PITCH / 2.0, abs=1.5 * lattice.place_mm)


def test_a_start_is_no_wider_than_allowed_and_the_way_back_lays_the_rest():
    """The stroke back takes the widest bead; there and back together fill the round fronts and the way."""
    back = FILL.hook_mm(PITCH / 2.0)
    walk = cut(_walk([(0.0, 0.0), (-back, 0.0), (0.0, 0.0)], PITCH / 2.0), np.array([9.0, 0.1, 0.1]))
    found = laid_walk(walk, lattice_over(BLOCK, FILL), FILL)
    assert np.all(found.area_mm2 <= FILL.widest_mm * found.length_mm + 1e-9)
    exact = LineString([(-back, 0.0), (0.0, 0.0)]).buffer(PITCH / 2.0, quad_segs=64).area
    assert found.area_mm2.sum() == pytest.approx(exact, rel=0.03)


def test_no_bead_is_narrower_than_allowed():
    """Where a strip half as wide as the narrowest bead is free, beads are laid on parts of the way, none too narrow."""
    lattice = lattice_over(BLOCK, FILL)
    rows, columns = np.nonzero(lattice.inside)
    places = lattice.points_mm(rows, columns)
    taken = (np.abs(places[:, 0]) < 1.0) & (np.abs(places[:, 1]) > 0.08)
    lattice.free[rows[taken], columns[taken]] = 0
    walk = cut(_walk([(-4.0, 0.0), (4.0, 0.0)], PITCH / 2.0), np.array([9.0, 0.16]))
    found = laid_walk(walk, lattice, FILL)
    laid = found.area_mm2 > 0.0
    assert np.all(found.area_mm2[laid] >= FILL.narrowest_mm * found.length_mm[laid])
    middle = np.abs(found.points[:, 0] + found.starts[:, 0]) / 2.0 < 0.8
    assert found.area_mm2[middle & laid].sum() == pytest.approx(0.16 * 1.6, rel=0.12)
    assert found.length_mm[middle & ~laid].sum() > 0.4
    assert np.all(found.points[1:, 1] == 0.0)


def test_a_bead_on_part_of_its_way_keeps_way_and_area():
    """The way before and after is passed; pieces without area become travels; nothing is lost."""
    walk = _walk([(0.0, 0.0), (2.0, 0.0), (4.0, 0.0), (6.0, 0.0)], 0.2)
    walk = Walk(walk.kind, walk.points, walk.radius_mm, np.array([0.0, 0.3, 0.0, 0.8]))
    some = on_parts(walk, np.array([[0.0, 1.0], [0.25, 0.5], [0.0, 1.0], [0.0, 1.0]]))
    np.testing.assert_allclose(some.points[:, 0], [0.0, 0.5, 1.0, 2.0, 4.0, 6.0])
    np.testing.assert_array_equal(some.area_mm2, [0.0, 0.0, 0.3, 0.0, 0.0, 0.8])
    np.testing.assert_array_equal(some.kind == Kind.TRAVEL, some.area_mm2 == 0.0)


def test_pieces_of_a_straight_free_bead_are_alike():
    """Away from its ends four of five are their length times their width; counting moves others by under 1 %."""
    walk = cut(_walk([(-4.0, 0.37), (4.0, 0.61)], PITCH / 2.0), np.array([9.0, 0.4]))
    area = laid_walk(walk, lattice_over(BLOCK, FILL), FILL).area_mm2
    plain = PITCH * walk.length_mm[4:-3]
    assert np.mean(np.abs(area[4:-3] / plain - 1.0) < 1e-12) >= 0.8
    np.testing.assert_allclose(area[4:-3], plain, rtol=0.01)


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
    walk = laid_walk(walk, lattice, FILL)
    lattice.free[:] *= 0  # only the corner is looked at
    rows, columns = np.nonzero(lattice_over(region, FILL).inside)
    places = lattice.points_mm(rows, columns)
    tip = (places.max(axis=1) < radius) & (np.hypot(*(places - radius).T) > radius)
    lattice.free[rows[tip], columns[tip]] = 1
    more = with_spots(walk, lattice, FILL)
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
        (Point(0.0, 0.0).buffer(3.0, 64), 0.0, 0.99),
        (box(-5.0, -2.0, 5.0, 2.0), 0.0, 0.99),
        (box(-5.0, -2.5, 5.0, 2.5), 45.0, 0.99),
        (ELL, 0.0, 0.99),
        (box(0.0, 0.0, 20.0, 20.0).difference(box(PITCH, PITCH, 20.0 - PITCH, 20.0 - PITCH)), 0.0, 0.99),
        (ELL, 45.0, 0.99),
        (
            LineString([(0.0, 0.0), (12.0, 0.0), (18.0, 5.0)]).buffer(
                0.5, cap_style="flat", join_style="mitre"
            ),
            0.0,
            0.99,
        ),
    ],
)
def test_the_judge_finds_little_off(region, angle, good):
    """Nearly all of the area is within 1 %, gaps and widths are within the target; areas sum to the region's."""
    verdict = _judged(plan_region(region, FILL, angle), region)
    assert verdict.good_share >= good
    assert verdict.gap_share < 0.0005
    assert verdict.gap_largest_mm2 <= 0.005
    assert verdict.width_low_mm >= 0.8 * 0.4
    assert verdict.width_high_mm <= 2.0 * 0.4
    assert abs(verdict.volume_error) < 1e-9


def test_a_way_back_on_the_same_line_stays():
    """A bead that overshoots its end by a fifth and comes back: the turning point stays, points on the way go."""
    along = np.array([0.0, 0.1, 0.2, 0.3, 0.24])
    points = np.column_stack([along, 0.5 * along])
    area = 0.4 * np.hypot(*np.diff(points, axis=0).T)
    assert thinned(points, area, 0.0003, 0.01).tolist() == [0, 3, 4]
