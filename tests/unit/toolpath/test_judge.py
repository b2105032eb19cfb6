"""The judge of a layer against layers whose faults are known."""

from dataclasses import replace

import numpy as np
import pytest
from shapely import Point, Polygon, box

from voidless.beads.spread import grid_over
from voidless.errors import InputError
from voidless.machines import load_machine
from voidless.specimens.order import SpecimenOrder
from voidless.toolpath.build import plan_build, specimen_solid
from voidless.toolpath.judge import judge_beads, judge_layer
from voidless.toolpath.reader import read_gcode_lines
from voidless.toolpath.section_mask import coverage_of, exclusions, mask_of
from voidless.toolpath.writer import write_gcode

NOZZLE, WIDTH = 0.4, 0.4
PLATE = box(0.0, 0.0, 8.0, 4.0)


def _tiling(lines, overfull=()):
    """Return beads 0.4 mm apart that begin with a stroke back, along X."""
    starts, ends, area = [], [], []
    for line in lines:
        y = 0.2 + 0.4 * line
        starts += [(0.5, y), (0.2, y)]
        ends += [(0.2, y), (7.8, y)]
        share = 2.0 if line in overfull else 1.0
        stroke = 0.3 * 0.4
        area += [share * stroke, share * (8.0 * 0.4 - stroke)]
    return np.array(starts), np.array(ends), np.array(area)


def _judge(beads, region=PLATE):
    return judge_beads(*beads, region, NOZZLE, WIDTH, 0.01)


def test_a_perfect_tiling_is_nearly_perfect():
    """Even beads that tile a plate leave no gap; only their ends and corners are not square."""
    verdict = _judge(_tiling(range(10)))
    assert verdict.volume_error == pytest.approx(0.0, abs=1e-9)
    assert verdict.gap_share < 5e-4
    assert verdict.good_share > 0.85  # twenty ends of 0.2 mm² in 32 mm²
    assert verdict.width_low_mm == pytest.approx(0.4)


def test_a_width_beyond_its_limits_fails_the_target():
    """All else right, one bead in a thousand that is too narrow or too wide is enough."""
    right = replace(
        _judge(_tiling(range(10))), good_share=1.0, gap_share=0.0, gap_largest_mm2=0.0, volume_error=0.0
    )
    assert right.passes
    assert not replace(right, width_outside_share=0.001).passes


@pytest.mark.parametrize(("side", "cell"), [(19.0, 0.005), (21.0, 0.01)])
def test_small_sections_are_judged_on_finer_cells(side, cell):
    """Up to 400 mm² of box, cells of 5 um."""
    bead = np.array([[1.0, 1.0]])
    plate = box(0.0, 0.0, side, side)
    assert (
        judge_beads(bead, bead + np.array([0.5, 0.0]), np.array([0.2]), plate, NOZZLE, WIDTH).grid.cell_mm
        == cell
    )


def test_a_missing_bead_is_an_enclosed_gap_of_its_size():
    """Without the fifth bead 0.4 x 8 mm lack, and what round ends spill outside lacks inside."""
    verdict = _judge(_tiling([0, 1, 2, 3, 5, 6, 7, 8, 9]))
    assert verdict.volume_error == pytest.approx(-0.1, abs=1e-9)
    open_mm2 = (verdict.gap_share + verdict.open_share) * verdict.area_mm2
    assert open_mm2 == pytest.approx(0.4 * 8.0 + verdict.spill_share * 32.0, abs=0.03)
    assert verdict.fill_low < 0.05
    assert not verdict.passes


@pytest.mark.parametrize("notch", [True, False])
def test_what_is_open_to_a_hole_of_the_section_is_no_gap(notch):
    """A notch in the wall of a hole lies open there; left out inside of the wall, the same is enclosed."""
    region = PLATE.difference(box(2.0, 1.2, 6.0, 2.8))
    rows = [
        (x0, x1, 0.2 + 0.4 * line, (x1 - x0 + 0.4) * 0.4)
        for line in range(10)
        for x0, x1 in ([(0.2, 7.8)] if not 3 <= line <= 6 else [(0.2, 1.8)] + [(6.2, 7.8)] * (line != 4))
    ]
    rows += [(7.0, 7.8, 1.8, 0.48)] if notch else [(6.2, 6.4, 1.8, 0.24), (7.6, 7.8, 1.8, 0.24)]
    x0, x1, y, area = np.array(rows).T
    verdict = _judge((np.column_stack([x0, y]), np.column_stack([x1, y]), area), region)
    assert (verdict.gap_largest_mm2 > 0.1) != notch


def test_a_hole_in_the_raster_is_found_where_it_is():
    """A bead cut in two leaves an enclosed gap between its halves."""
    starts, ends, area = _tiling(range(10))
    starts = np.vstack([starts[:9], [(0.2, 1.8), (5.0, 1.8)], starts[10:]])
    ends = np.vstack([ends[:9], [(3.0, 1.8), (7.8, 1.8)], ends[10:]])
    area = np.concatenate([area[:9], [2.8 * 0.4, 2.8 * 0.4], area[10:]])
    verdict = _judge((starts, ends, area))
    assert verdict.gap_largest_mm2 == pytest.approx(0.4 * 2.0, rel=0.25)
    x, y = verdict.gap_place_mm
    assert 2.5 < x < 5.5
    assert 1.5 < y < 2.1


def test_a_doubled_bead_is_over_fill():
    """A bead of twice its volume between two laid ones piles up; nothing lacks."""
    order = [0, 1, 2, 3, 4, 6, 7, 8, 9, 5]
    verdict = _judge(_tiling(order, overfull=(5,)))
    assert verdict.volume_error == pytest.approx(0.1, abs=1e-9)
    assert verdict.fill_high > 1.5
    assert verdict.width_high_mm == pytest.approx(0.8, rel=0.1)


def test_local_fill_says_how_much_lacks():
    """Beads of 95 % of their volume leave 5 % open, and the share of good area is small."""
    starts, ends, area = _tiling(range(10))
    verdict = _judge((starts, ends, 0.95 * area))
    assert verdict.volume_error == pytest.approx(-0.05)
    assert verdict.gap_share + verdict.open_share == pytest.approx(0.05, abs=0.01)
    assert verdict.good_share < 0.2


def test_sharp_corners_and_necks_are_left_out_and_listed():
    """A triangle has three sharp corners; a rod of 0.3 mm between two plates is too narrow."""
    triangle = exclusions(Polygon([(0.0, 0.0), (9.0, 0.0), (4.5, 6.0)]), NOZZLE)
    assert [item.reason for item in triangle].count("corner sharper than 90 deg") == 3
    dumbbell = box(0, 0, 3, 3).union(box(3, 1.35, 6, 1.65)).union(box(6, 0, 9, 3))
    (neck,) = exclusions(dumbbell, NOZZLE)
    assert neck.reason.startswith("narrower")
    assert neck.region.area == pytest.approx(3.0 * 0.3, rel=0.05)
    assert exclusions(PLATE, NOZZLE) == ()


def test_a_mask_has_the_area_of_its_region():
    """Cells whose middle is inside, holes left out."""
    region = Point(0.0, 0.0).buffer(3.0, 64).difference(box(-1.0, -0.5, 1.0, 0.5))
    grid = grid_over(region.bounds, 0.5, 0.01)
    assert mask_of(region, grid).sum() * 1e-4 == pytest.approx(region.area, rel=1e-3)


def test_the_judge_reads_what_was_written():
    """From a written file, read again, the verdict on a layer is that on the plan."""
    machine = load_machine("bench-0.4")
    settings = {
        "layer_mm": 0.2, "width_mm": 0.45, "flow_pct": 100.0, "contours": 2.0, "raster_deg": 0.0,
        "raster_step_deg": 90.0, "overlap_pct": 20.0, "nozzle_c": 240.0, "bed_c": 80.0, "chamber_c": 25.0,
        "fan_pct": 0.0, "speed_mm_s": 40.0,
    }  # fmt: skip
    path = plan_build([SpecimenOrder("block")], settings, machine)
    text = write_gcode(path, machine, settings, ["judged"])
    moves = read_gcode_lines(text.splitlines(), "judged", machine.filament_diameter_mm).moves
    solid = specimen_solid(path.placements[0], 0.2, path.pitch_mm)
    from shapely.affinity import translate

    region = translate(solid.regions[4], *path.placements[0].centre_mm)
    layer = int(np.unique(moves.layer[moves.deposits & (moves.z_mm > 0.99) & (moves.z_mm < 1.01)])[0])
    planned = judge_layer(path.moves, 4, region, 0.2, NOZZLE, 0.45)
    read = judge_layer(moves, layer, region, 0.2, NOZZLE, 0.45)
    assert abs(read.volume_error) < 1e-3
    assert read.good_share == pytest.approx(planned.good_share, abs=0.01)
    assert planned.good_share > 0.97


@pytest.mark.parametrize("cell", [0.01, 0.0127])
@pytest.mark.parametrize("shift", [0.0, 0.0033])
def test_a_perfect_tiling_is_even_wherever_cells_lie(cell, shift):
    """Away from their ends beads of 0.407 mm fill to 0.7 % at any place: a front or an outline may cut a cell."""
    pitch, number = 0.4070796, 8
    y = shift + pitch * (np.arange(number) + 0.5)
    starts, ends = (np.column_stack([np.full(number, x), y]) for x in (-1.0, 9.0))
    plate = box(-1.0, shift, 9.0, shift + number * pitch)
    verdict = judge_beads(starts, ends, np.full(number, 10.0 * pitch), plate, NOZZLE, 0.45, cell)
    x = verdict.grid.x_mm + (np.arange(verdict.grid.columns) + 0.5) * cell
    middle = (x > 1.0) & (x < 7.0)
    seen = verdict.local[:, middle][verdict.inside[:, middle]]
    assert np.abs(seen - 1.0).max() < 0.007  # an eighth of a cell and a sixteenth of one, in half a window


@pytest.mark.parametrize("cell", [0.01, 0.05, 0.37])
def test_coverage_is_exact_on_any_grid(cell):
    """The shares of cells sum to the region's area, slanted edges and holes included."""
    region = Point(0.0, 0.0).buffer(3.0, 64).difference(Polygon([(-1.03, -0.5), (1.2, -0.7), (0.3, 1.0)]))
    grid = grid_over(region.bounds, 0.5, cell)
    coverage = coverage_of(region, grid)
    assert coverage.sum(dtype=float) * cell**2 == pytest.approx(region.area, rel=1e-6)
    assert coverage.min() >= 0.0
    assert coverage.max() <= 1.0 + 1e-6


def test_nothing_to_judge_is_refused():
    """No bead, or no region."""
    none = np.zeros((0, 2))
    with pytest.raises(InputError, match="a layer with beads"):
        judge_beads(none, none, np.zeros(0), PLATE, NOZZLE, WIDTH)
    with pytest.raises(InputError, match="a layer with beads"):
        judge_beads(*_tiling([0]), Polygon(), NOZZLE, WIDTH)
