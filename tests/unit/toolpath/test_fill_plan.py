"""A region as contours and raster: areas add up, beads are even, ends keep their distance, order is walkable."""

from dataclasses import replace

import numpy as np
import pytest
from shapely import MultiPolygon, Point, Polygon, box
from shapely.ops import unary_union

from voidless.errors import InputError
from voidless.specimens.catalogue import CATALOGUE, specimen
from voidless.specimens.outline import rectangle
from voidless.toolpath.fill.plan import plan_region
from voidless.toolpath.fill.types import PLACE_DIGITS, ROUNDED_MM2, Fill
from voidless.toolpath.judge import judge_beads
from voidless.toolpath.moves import Kind

PITCH = 0.4070796
FILL = Fill(PITCH, 0.45, 2, 20.0, 0.4, even=False)


def _lengths(pattern):
    return np.concatenate([[0.0], np.hypot(*np.diff(pattern.points, axis=0).T)])


@pytest.mark.parametrize("name", list(CATALOGUE))
@pytest.mark.parametrize(("angle", "contours"), [(0.0, 2), (17.0, 0), (45.0, 1), (90.0, 3)])
def test_areas_add_up_to_the_section(name, angle, contours):
    """What the moves fill is the section, within rounding, however it is cut up."""
    kind = specimen(name).sized(PITCH)
    region = kind.region(kind.height_mm * 0.29)
    pattern = plan_region(region, Fill(PITCH, 0.45, contours, 20.0, 0.4, even=False), angle)
    assert pattern.area_mm2.sum() == pytest.approx(region.area, rel=1e-9)
    assert pattern.missed_mm2 < 0.01 * region.area
    assert np.all(pattern.area_mm2 >= 0.0)
    assert np.all(pattern.area_mm2[pattern.kind == Kind.TRAVEL] == 0.0)
    assert np.all(_lengths(pattern)[pattern.area_mm2 > 0.0] > 0.0)


def _row_widths(pattern, half):
    """Return the mean width of each line along X within `half` of the middle, over the pieces that it is laid in."""
    raster = pattern.kind == Kind.RASTER
    ends = np.column_stack([np.vstack([pattern.points[:1], pattern.points[:-1]])[:, 0], pattern.points[:, 0]])
    ends = np.clip(np.sort(ends, axis=1), -half, half)[raster]
    row = np.round(pattern.points[raster, 1], 3)
    inside, width = ends[:, 1] - ends[:, 0], (pattern.area_mm2 / np.maximum(_lengths(pattern), 1e-9))[raster]
    rows = [row == y for y in np.unique(row)]
    return np.array([np.average(width[k], weights=inside[k]) for k in rows if inside[k].sum() > 1.9 * half])


def test_raster_of_a_rectangle_is_even():
    """In a rectangle with the raster along a side a whole number of even beads divides the width."""
    pattern = plan_region(Polygon(rectangle(20.0, 12.0)), replace(FILL, even=True), 0.0)
    inner = 12.0 - 4 * PITCH
    lines = round(inner / PITCH)
    widths = _row_widths(pattern, 8.0)
    assert len(widths) == lines
    # a line is laid in pieces, whose free room is counted on a lattice
    np.testing.assert_allclose(widths, inner / lines, rtol=1e-3)
    rough = plan_region(Polygon(rectangle(20.0, 12.0)), FILL, 0.0)
    assert (rough.kind == Kind.TURN).sum() == lines - 1


@pytest.mark.parametrize(("overlap", "back"), [(10.0, PITCH / 2.0 - 0.045), (90.0, None)])
def test_bead_ends_reach_into_the_contour_by_the_overlap(overlap, back):
    """Ends of raster beads lie half a pitch less the overlap inside the region, at least 0.28 pitches."""
    pattern = plan_region(Polygon(rectangle(20.0, 12.0)), Fill(PITCH, 0.45, 2, overlap, 0.4, even=False), 0.0)
    pitch = (12.0 - 4 * PITCH) / round((12.0 - 4 * PITCH) / PITCH)
    keep = 0.28 * pitch if back is None else back + (pitch - PITCH) / 2.0
    furthest = pattern.points[pattern.kind == Kind.RASTER, 0].max()
    assert furthest == pytest.approx(10.0 - 2 * PITCH - keep, abs=5.1e-5)  # places of the file


def test_gauge_of_a_bar_is_divided_exactly():
    """With the raster along the pull a whole number of even beads fills the gauge of the bar."""
    kind = specimen("bar_xy")
    pattern = plan_region(Polygon(kind.outline(1.0)), Fill(PITCH, 0.45, 2, 0.0, 0.4), 0.0, reference_mm=5.0)
    rest = 5.0 - 4 * PITCH
    widths = _row_widths(pattern, 10.0)
    assert len(widths) == round(rest / PITCH)
    np.testing.assert_allclose(widths, rest / round(rest / PITCH), rtol=1e-3)


def test_contours_that_find_no_room_are_counted():
    """In a bar 2 mm wide two contours of 0.4 mm pitch leave 0.4 mm; a fourth finds no room."""
    pattern = plan_region(Polygon(rectangle(30.0, 2.0)), Fill(PITCH, 0.45, 5, 0.0, 0.4, even=False), 0.0)
    assert pattern.contours == 2
    assert pattern.area_mm2.sum() == pytest.approx(60.0, rel=1e-9)


def test_innermost_contour_is_laid_last():
    """The raster is laid among free room, then the innermost contour fills what it leaves open."""
    pattern = plan_region(Polygon(rectangle(20.0, 12.0)), Fill(PITCH, 0.45, 3, 20.0, 0.4, even=False), 30.0)
    beads = pattern.kind[pattern.kind != Kind.TRAVEL]
    contour = np.flatnonzero(beads == Kind.CONTOUR)
    raster = np.flatnonzero(beads == Kind.RASTER)
    assert beads[0] == beads[-1] == Kind.CONTOUR
    assert (contour < raster.min()).any()
    assert not ((contour > raster.min()) & (contour < raster.max())).any()


def test_holes_and_parts_are_filled_each():
    """A ring and a plate apart from it: no bead lies in the hole, both get their area."""
    ring = Point(0.0, 0.0).buffer(8.0).difference(Point(0.0, 0.0).buffer(3.0))
    plate = box(12.0, 0.0, 18.0, 5.0)
    pattern = plan_region(MultiPolygon([ring, plate]), FILL, 45.0)
    beads = pattern.area_mm2 > 0.0
    radius = np.hypot(*pattern.points[beads].T)
    assert radius.min() > 3.0
    right = pattern.points[:, 0] > 10.0
    assert pattern.area_mm2[right].sum() == pytest.approx(30.0, rel=2e-3)


@pytest.mark.parametrize("thickness", [0.35, 0.4070796])
def test_a_wall_of_one_bead_has_one_bead(thickness):
    """A wall too thin for a contour is one bead along its middle, open or closed."""
    wall = plan_region(box(0.0, 0.0, 30.0, thickness), FILL, 90.0)
    assert list(wall.kind) == [Kind.TRAVEL, Kind.CONTOUR]
    np.testing.assert_allclose(wall.points[:, 1], thickness / 2.0, atol=5.1e-5)  # places of the file
    tube = Point(0.0, 0.0).buffer(6.0, 64).difference(Point(0.0, 0.0).buffer(6.0 - thickness, 64))
    pattern = plan_region(tube, FILL, 0.0)
    assert set(pattern.kind[1:]) == {Kind.CONTOUR}
    np.testing.assert_allclose(np.hypot(*pattern.points.T), 6.0 - thickness / 2.0, atol=0.01)


def test_pattern_begins_with_a_travel_and_is_walkable():
    """The first entry is a travel; beads are joined by turns of at most two pitches."""
    pattern = plan_region(Polygon(specimen("plaque").outline(1.0)), FILL, 45.0)
    assert pattern.kind[0] == Kind.TRAVEL
    turns = pattern.kind == Kind.TURN
    assert turns.sum() > 50
    assert _lengths(pattern)[turns].max() <= 2.0 * PITCH * 1.02


def test_an_empty_region_is_refused():
    """Nothing to fill is said, not planned."""
    with pytest.raises(InputError, match="area above 0"):
        plan_region(Polygon(), FILL, 0.0)


@pytest.mark.parametrize("angle", [0.0, 33.0])
def test_turned_and_shifted_regions_are_filled_alike(angle):
    """A region turned with its raster, or moved, gets the same moves, turned or moved."""
    from shapely.affinity import rotate, translate

    region = box(-8.013, -4.987, 8.013, 4.987)  # no places half way between two of the file
    plain = plan_region(region, FILL, angle)
    moved = plan_region(translate(region, 31.0, -7.0), FILL, angle)
    assert len(moved.kind) == len(plain.kind)
    np.testing.assert_allclose(moved.points, plain.points + np.array([31.0, -7.0]), atol=1e-6)
    turned = plan_region(rotate(region, 90.0, origin=(0.0, 0.0)), FILL, angle + 90.0)
    assert turned.area_mm2[turned.kind == Kind.RASTER].sum() == pytest.approx(
        plain.area_mm2[plain.kind == Kind.RASTER].sum(), rel=1e-6
    )


def test_no_raster_is_narrower_than_the_narrowest_bead():
    """A bar of 2 mm at thin layers leaves 0.303 mm between two contours a side: they take it, within limits."""
    fill = Fill(0.4242478, 0.45, 2, 20.0, 0.4)
    pattern = plan_region(box(-2.5, -1.0, 2.5, 1.0), fill, 0.0)
    length = np.hypot(*np.diff(pattern.points, axis=0, prepend=pattern.points[:1]).T)
    laid = pattern.area_mm2 > 0.0
    assert not np.any(pattern.kind == Kind.RASTER)
    assert np.min(pattern.area_mm2[laid] / length[laid]) > fill.narrowest_mm


def test_a_long_wall_closes_as_the_file_rounds_it():
    """A bar on edge: planned on places of the file, so that what rounding moves does not gather where loops close."""
    region = box(-14.5, -3.5, 14.5, 3.5)
    pattern = plan_region(region, replace(FILL, even=True), 0.0, 7.0)
    places, bead = np.round(pattern.points, PLACE_DIGITS), pattern.area_mm2 > 0.0
    starts = np.vstack([places[:1], places[:-1]])
    verdict = judge_beads(starts[bead], places[bead], pattern.area_mm2[bead], region, 0.4, 0.45)
    assert verdict.gap_largest_mm2 < 0.005


def test_a_waist_too_narrow_for_the_reference_is_left_to_its_contours():
    """A flat bar whose waist of 2 mm leaves 0.3 mm between two contours: no bead of the raster is that narrow."""
    bar = unary_union([box(-15.0, -1.0, 15.0, 1.0), box(-15.0, -2.0, -11.0, 2.0), box(11.0, -2.0, 15.0, 2.0)])
    thin = Fill(0.4242478, 0.45, 2, 20.0, 0.4)
    pattern = plan_region(bar, thin, 0.0, 2.0)
    laid = pattern.area_mm2 > 0.0
    assert (pattern.area_mm2[laid] / _lengths(pattern)[laid]).min() > thin.narrowest_mm


def test_a_short_bead_is_wide_enough_whatever_a_file_rounds():
    """Places to 0.05 um and filament to a whole step off: the least beads that stand alone keep their limits."""
    area = np.linspace(0.004, 0.02, 50) * FILL.pitch_mm**2
    length, off = FILL.dab_mm(area), 2**0.5 * 10.0**-PLACE_DIGITS
    assert np.all((area - ROUNDED_MM2) / (length + off) > FILL.narrowest_mm)
    assert np.all((area + ROUNDED_MM2) / (length - off) < FILL.widest_mm)
