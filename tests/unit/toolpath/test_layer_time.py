"""Layer times over gauges, pauses that hold them, specimens in sequence, runs that share a bed."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.specimens.order import SpecimenOrder
from voidless.toolpath.build import plan_build
from voidless.toolpath.layer_time import gauge_times, held_layer_time, is_sequential, layer_times
from voidless.toolpath.limits import check_limits
from voidless.toolpath.listing import limits_listing, own_code_notes
from voidless.toolpath.motion import build_time
from voidless.toolpath.moves import Kind
from voidless.toolpath.reader import read_gcode_lines
from voidless.toolpath.sharing import BedRun, plan_specimens, share_bed
from voidless.toolpath.writer import write_gcode

BARS = (SpecimenOrder("bar_z", 2),)
MIXED = (SpecimenOrder("bar_z", 2), SpecimenOrder("plaque_xz"))  # the plaque ends within the gauge


@pytest.fixture(scope="module")
def clear(bench):
    return replace(bench, head_radius_mm=30.0, gantry_height_mm=40.0)


@pytest.fixture(scope="module")
def alone(settings):
    return {**settings, "raster_deg": 0.0, "raster_step_deg": 0.0}


@pytest.fixture(scope="module")
def mixed(bench, alone):
    return plan_build(MIXED, alone, bench)


@pytest.fixture(scope="module")
def held(mixed, bench):
    return held_layer_time(mixed, bench)


def bead_volume(path):
    return path.moves.volume_mm3[path.moves.deposits].sum()


def test_layer_times_are_those_of_the_build(mixed, bench):
    """Together: each specimen sees the whole layer, and none that it has not."""
    times, whole = layer_times(mixed, bench), build_time(mixed, bench).per_layer_s
    assert times.shape == (3, 190)
    plaque = [p.kind for p in mixed.placements].index("plaque_xz")
    np.testing.assert_allclose(times[plaque, :100], whole[:100])
    assert np.isnan(times[plaque, 100:]).all()
    np.testing.assert_allclose(times[1 - plaque if plaque < 2 else 0], whole)


def test_bars_by_themselves_are_steady(bench, alone):
    """The gauge of a bar_z, 13 to 25 mm high, is layers 65 to 124 of 0.2 mm; its layer time is constant."""
    bars = gauge_times(plan_build(BARS, alone, bench), bench)
    assert [(bar.position, bar.kind, bar.layers) for bar in bars] == [
        (1, "bar_z", (65, 125)),
        (2, "bar_z", (65, 125)),
    ]
    assert all(bar.steady for bar in bars)


def test_a_neighbour_that_ends_is_seen(mixed, bench):
    """A plaque that ends at 20 mm leaves the upper gauge with shorter layers."""
    bars = gauge_times(mixed, bench)
    assert not any(bar.steady for bar in bars)
    assert bars[0].lowest_s < 0.9 * bars[0].highest_s


def test_pauses_hold_the_layer_time(mixed, held, bench):
    """All gauge layers take equally long; beads, volumes and speeds stay; limits hold."""
    assert all(bar.spread < 1e-6 for bar in gauge_times(held, bench))
    assert check_limits(held.moves, bench) == []
    before, after = mixed.moves, held.moves
    assert bead_volume(held) == pytest.approx(bead_volume(mixed), rel=1e-12)
    np.testing.assert_array_equal(after.speed_mm_s[after.deposits], before.speed_mm_s[before.deposits])
    np.testing.assert_array_equal(after.x_mm[after.deposits], before.x_mm[before.deposits])
    assert after.volume_mm3.sum() == pytest.approx(before.volume_mm3.sum())
    outside = np.delete(build_time(mixed, bench).per_layer_s, np.arange(65, 125))
    np.testing.assert_allclose(
        np.delete(build_time(held, bench).per_layer_s, np.arange(65, 125)), outside, rtol=5e-3
    )
    # 0.5 %: the layer after the gauge starts from standstill
    assert "pause beside the specimens" in held.notes[-1]


def test_the_nozzle_waits_beside_and_above(held, bench):
    """Pauses lie on the purge strip, lifted, with the melt drawn back."""
    moves = held.moves
    pause = np.flatnonzero(moves.kind == Kind.DWELL)
    assert len(pause) == 60
    front = min(p.centre_mm[1] - p.size_mm[1] / 2.0 for p in held.placements)
    assert np.all(moves.y_mm[pause] < front)
    drawn = np.cumsum(np.where(moves.kind >= Kind.RETRACT, moves.volume_mm3, 0.0))
    assert np.all(drawn[pause] < 0.0)
    for number in pause:
        below = moves.z_mm[:number][moves.deposits[:number]].max()
        assert moves.z_mm[number] == pytest.approx(below + 5.0)


def test_pauses_are_written(held, bench, alone):
    """The file waits as long as the plan: the same build time when it is read back."""
    text = write_gcode(held, bench, alone, [])
    back = read_gcode_lines(text.splitlines(), "held").moves
    assert back.dwell_s.sum() == pytest.approx(held.moves.dwell_s.sum(), abs=0.0005 * 60)  # words of 1 ms
    assert build_time(back, bench).total_s == pytest.approx(build_time(held, bench).total_s, rel=1e-3)


def test_steady_builds_are_left_alone(bench, alone):
    """Nothing is added where nothing is wanted."""
    path = plan_build(BARS, alone, bench)
    assert held_layer_time(path, bench) is path


def test_one_after_the_other(clear, alone):
    """The same volume, each bar with a layer time of its own, the lowest first, and nothing is run into."""
    orders = (*BARS, SpecimenOrder("plaque"), SpecimenOrder("block"))
    path, together = plan_specimens(orders, alone, clear, sequential=True), plan_build(orders, alone, clear)
    assert is_sequential(path)
    assert not is_sequential(together)
    assert bead_volume(path) == pytest.approx(bead_volume(together), rel=1e-9)
    assert path.moves.volume_mm3.sum() == pytest.approx(together.moves.volume_mm3.sum())
    assert check_limits(path.moves, clear) == []
    single = gauge_times(plan_build([SpecimenOrder("bar_z")], alone, clear), clear)[0]
    for bar in gauge_times(path, clear):
        assert bar.mean_s == pytest.approx(single.mean_s, rel=1e-3)
    _never_through_what_stands(path)


def _never_through_what_stands(path):
    """No move within the box of a finished specimen passes below its top, none across it lower than 5 mm above."""
    moves = path.moves
    ends = np.column_stack([moves.x_mm, moves.y_mm, moves.z_mm])
    starts = ends - moves.steps_mm
    over = (moves.specimen >= 0) | (moves.kind == Kind.TRAVEL)
    across = np.any(ends[:, :2] != starts[:, :2], axis=1)
    first = {which: int(np.argmax(moves.specimen == which)) for which in range(len(path.placements))}
    order = sorted(first, key=first.__getitem__)
    for finished, following in pairwise(order):
        placed = path.placements[finished]
        later = over & (np.arange(len(moves)) >= first[following])
        for share in np.linspace(0.0, 1.0, 5):
            place = starts + share * (ends - starts)
            inside = (np.abs(place[:, :2] - placed.centre_mm) < np.array(placed.size_mm[:2]) / 2.0).all(
                axis=1
            )
            free = np.where(across, placed.size_mm[2] + 5.0, placed.size_mm[2]) - 1e-9
            assert not np.any(later & inside & (place[:, 2] < free))


def test_runs_that_share_a_bed_in_sequence(clear, alone):
    """One after the other each run sees what it would see in a build of its own."""
    runs = [
        BedRun("R01", BARS[:1], alone),
        BedRun("R02", BARS[:1], {**alone, "speed_mm_s": 30.0, "fan_pct": 0.0}),
    ]
    bed = share_bed(runs, clear, sequential=True)
    assert not bed.whole_plot
    assert max(bed.differs.values()) < 1e-6
    assert sorted(bed.run_of) == ["R01", "R01", "R02", "R02"]
    moves = bed.toolpath.moves
    for index, run in enumerate(bed.run_of):
        own = moves.deposits & (moves.specimen == index) & (moves.layer > 0)
        assert np.max(moves.speed_mm_s[own]) == {"R01": 50.0, "R02": 30.0}[run]
        assert set(moves.fan_pct[own].tolist()) == {{"R01": 20.0, "R02": 0.0}[run]}
    assert check_limits(moves, clear) == []


def test_runs_that_share_a_bed_together(bench, alone):
    """Together layer times add up: refused, or one whole plot that says so."""
    runs = [BedRun("R01", BARS, alone), BedRun("R02", BARS, {**alone, "speed_mm_s": 30.0})]
    with pytest.raises(
        InputError, match=r"layer times are not those.*R01 by \d+ %, R02 by \d+ %.*whole plot"
    ):
        share_bed(runs, bench)
    bed = share_bed(runs, bench, whole_plot=True)
    assert bed.whole_plot
    assert bed.differs["R01"] > bed.differs["R02"] > 0.5
    assert "One whole plot" in bed.notes[0]
    assert check_limits(bed.toolpath.moves, bench) == []
    own = sum(bead_volume(plan_build(BARS, run.settings, bench)) for run in runs)
    purge = bed.toolpath.moves.volume_mm3[bed.toolpath.moves.kind == Kind.PURGE].sum()
    assert bead_volume(bed.toolpath) == pytest.approx(own - purge, rel=1e-9)
    heights = bed.toolpath.moves.z_mm[bed.toolpath.moves.deposits & (bed.toolpath.moves.layer >= 0)]
    assert np.all(np.diff(heights) >= -1e-12)


@pytest.mark.parametrize(
    ("name", "value", "sequential"),
    [("nozzle_c", 250.0, True), ("bed_c", 70.0, True), ("layer_mm", 0.1, False), ("fan_pct", 0.0, False)],
)
def test_settings_that_a_bed_has_in_common(clear, alone, name, value, sequential):
    """One bed has one temperature; together also one layer thickness and one fan."""
    runs = [BedRun("R01", BARS, alone), BedRun("R02", BARS, {**alone, name: value})]
    with pytest.raises(InputError, match=f"{name} differs between the runs: R01 .*, R02 {value:g}"):
        share_bed(runs, clear, sequential, whole_plot=True)
    with pytest.raises(InputError, match="at least two different runs"):
        share_bed(runs[:1], clear)


def test_listing_names_every_limit(clear, alone):
    """The listing is read from the words as written; what a smaller machine could not do is marked."""
    path = plan_specimens((*BARS, SpecimenOrder("block")), alone, clear, sequential=True)
    text = write_gcode(path, clear, alone, [])
    rows = {row.name: row for row in limits_listing(text, path, alone, clear)}
    assert all(row.within for row in rows.values())
    assert {"x", "y", "z", "speed of x", "melt rate", "nozzle", "bed", "finished height"} <= set(rows)
    assert rows["bed"].highest == 80.0
    assert rows["distance of specimens"].lowest == pytest.approx(30.0)
    assert rows["finished height"].highest == 38.0
    assert 140.0 < rows["speed of y"].highest <= 150.0  # travels at 150 mm/s, hardly any along Y alone
    slow = replace(clear, speed_max_mm_s=(100.0, 300.0, 15.0, 60.0), bed_max_c=60.0, gantry_height_mm=20.0)
    wrong = [row.name for row in limits_listing(text + "M999\n", path, alone, slow) if not row.within]
    assert wrong == ["speed of x", "bed", "finished height", "unknown words"]


def test_own_code_is_listed_and_told(clear, alone):
    """Start code that leaves the bed is named as such; its words that nobody reads are named, and no fault."""
    own = replace(clear, start_gcode="G28\nG29\nG1 X-5 Y-3 Z2 F600\nPREPARE A=1", end_gcode="M300\nG29")
    path = plan_specimens((SpecimenOrder("block"),), alone, own)
    rows = limits_listing(write_gcode(path, own, alone, []), path, alone, own)
    assert [row.name for row in rows if not row.within] == ["x", "y"]
    left, front, unread = own_code_notes(rows, own)
    assert "start or end code of test bench: x = -5 mm lies outside 0 to 200 mm" in left
    assert "y = -3 mm" in front
    assert unread.endswith("not checked: G29 (2), M300 (1), PREPARE (1)")
    bad = replace(own, end_gcode="M104 S0\nG1 X1.2.3")
    with pytest.raises(InputError, match=r"end_gcode of test bench:2:8: '.3' is not a number"):
        limits_listing("G1 X1", path, alone, bad)
    path = plan_specimens((SpecimenOrder("block"),), alone, clear)
    assert (
        own_code_notes(limits_listing(write_gcode(path, clear, alone, []), path, alone, clear), clear) == []
    )


def test_marks_leave_gauges_alone(bench, alone):
    """Numbers take volume from the ends alone; gauge layers are the same moves; what has no room is named."""
    orders = (*BARS, SpecimenOrder("bar_xy"), SpecimenOrder("block"))
    plain, marked = plan_specimens(orders, alone, bench), plan_specimens(orders, alone, bench, prefix="7")
    assert bead_volume(marked) < bead_volume(plain)
    assert marked.notes[-1] == "No room for a mark: write it on 2 (block) as it comes off."
    assert [p.kind for p in marked.placements].index("block") == 1
    for moves in (plain.moves, marked.moves):
        assert moves.layer.max() == 189
    bars = [i for i, p in enumerate(plain.placements) if p.kind == "bar_z"]
    for index in bars:
        first, second = (
            m.volume_mm3[m.deposits & (m.specimen == index) & (m.layer < 185)]
            for m in (plain.moves, marked.moves)
        )
        np.testing.assert_array_equal(first, second)
    np.testing.assert_array_equal(plan_build(orders, alone, bench).moves.volume_mm3, plain.moves.volume_mm3)
