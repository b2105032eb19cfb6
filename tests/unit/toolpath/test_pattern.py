"""One section as contours and raster: areas add up, beads tile, order is walkable."""

import numpy as np
import pytest
from shapely import Polygon

from voidless.specimens.catalogue import DEFAULT_SET, specimen
from voidless.specimens.outline import rectangle, shape_area
from voidless.toolpath.fill.plan import plan_region
from voidless.toolpath.fill.types import Fill
from voidless.toolpath.moves import Kind
from voidless.toolpath.region import inset, raster_lines, region_columns, turned_edges

PITCH = 0.4070796
FILL = Fill(PITCH, 0.45, 2, 0.0)


def _lengths(pattern):
    return np.concatenate([[0.0], np.hypot(*np.diff(pattern.points, axis=0).T)])


@pytest.mark.parametrize("name", list(DEFAULT_SET))
@pytest.mark.parametrize("angle", [0.0, 17.0, 45.0, 90.0, 135.0])
@pytest.mark.parametrize("contours", [0, 1, 3])
def test_areas_add_up_to_the_section(name, angle, contours):
    """What the moves fill is the section, within rounding, however it is cut up."""
    kind = specimen(name)
    outline = kind.outline(kind.height_mm * 0.29)
    pattern = plan_region(Polygon(outline), Fill(PITCH, 0.45, contours, 20.0), angle)
    assert pattern.area_mm2.sum() == pytest.approx(shape_area(outline), rel=1e-9)
    assert pattern.missed_mm2 < 0.01 * shape_area(outline)
    assert np.all(pattern.area_mm2 >= 0.0)
    assert np.all(pattern.area_mm2[pattern.kind == Kind.TRAVEL] == 0.0)


def test_a_square_along_its_side_has_even_beads():
    """In a rectangle with the raster along a side every bead is one pitch wide, contours exactly."""
    pattern = plan_region(Polygon(rectangle(20.0, 12.0)), FILL, 0.0)
    length = _lengths(pattern)
    contour = pattern.kind == Kind.CONTOUR
    np.testing.assert_allclose(pattern.area_mm2[contour] / length[contour], PITCH, rtol=1e-9)
    inner = 12.0 - 4 * PITCH
    lines = round(inner / PITCH)
    raster = (pattern.kind == Kind.RASTER) | (pattern.kind == Kind.TURN)
    width = pattern.area_mm2[raster] / length[raster]
    # Half a pitch less at each end of the chain of beads, where no turn joins: the first and the last bead.
    np.testing.assert_allclose(width[2:-2], inner / lines, rtol=1e-9)
    assert (pattern.kind == Kind.RASTER).sum() == lines
    assert (pattern.kind == Kind.TURN).sum() == lines - 1


def test_bead_ends_keep_off_the_contour_by_half_a_pitch_less_the_overlap():
    """Ends of raster beads lie half a pitch inside the region, and move outwards with the overlap."""
    for overlap in (0.0, 40.0):
        pattern = plan_region(Polygon(rectangle(20.0, 12.0)), Fill(PITCH, 0.45, 2, overlap), 0.0)
        pitch = (12.0 - 4 * PITCH) / round((12.0 - 4 * PITCH) / PITCH)
        furthest = pattern.points[pattern.kind == Kind.RASTER, 0].max()
        assert furthest == pytest.approx(10.0 - 2 * PITCH - pitch / 2.0 + overlap / 100.0 * 0.45, abs=1e-9)


def test_gauge_of_a_bar_is_divided_exactly():
    """With the raster along the pull a whole number of even beads fills the gauge of the bar."""
    kind = specimen("bar_xy")
    pattern = plan_region(Polygon(kind.outline(1.0)), FILL, 0.0, reference_mm=5.0)
    length = _lengths(pattern)
    start = np.vstack([pattern.points[:1], pattern.points[:-1]])
    through = (pattern.kind == Kind.RASTER) & (np.minimum(start[:, 0], pattern.points[:, 0]) < -10.0)
    through &= np.maximum(start[:, 0], pattern.points[:, 0]) > 10.0
    rest = 5.0 - 4 * PITCH
    assert through.sum() == round(rest / PITCH)
    inner = np.abs(pattern.points[:, 1]) < rest / 2.0 - 0.6 * PITCH  # but the beads next to the fillets
    width = pattern.area_mm2[through & inner] / length[through & inner]
    np.testing.assert_allclose(width, rest / round(rest / PITCH), rtol=0.02)


@pytest.mark.parametrize("angle", [0.0, 30.0, 45.0])
def test_columns_tile_the_region(angle):
    """Bead widths times column lengths are the area of the region, and no width exceeds two pitches."""
    region = inset(Polygon(specimen("bar_xy").outline(0.0)), 0.8)
    edges = turned_edges(region, angle)
    lines, pitch = raster_lines(edges, PITCH, None)
    columns = region_columns(edges, lines, pitch)
    area = float((np.diff(columns.breaks)[:, None] * columns.width).sum())
    assert area == pytest.approx(region.area, rel=1e-3)  # tips that no bead passes are left out
    assert area <= region.area * (1.0 + 1e-9)
    assert columns.width.max() < 2.0 * pitch


def test_contours_that_find_no_room_are_counted():
    """In a bar 2 mm wide two contours of 0.4 mm pitch leave 0.4 mm; a fourth finds no room."""
    pattern = plan_region(Polygon(rectangle(30.0, 2.0)), Fill(PITCH, 0.45, 5, 0.0), 0.0)
    assert pattern.contours == 2
    assert pattern.area_mm2.sum() == pytest.approx(60.0, rel=1e-9)


def test_pattern_begins_with_a_travel_and_is_walkable():
    """The first entry is a travel; beads are joined by turns of at most 2.5 pitches."""
    pattern = plan_region(Polygon(specimen("plaque").outline(1.0)), FILL, 45.0)
    assert pattern.kind[0] == Kind.TRAVEL
    turns = pattern.kind == Kind.TURN
    assert turns.sum() > 50
    assert _lengths(pattern)[turns].max() <= 2.5 * PITCH * 1.02
