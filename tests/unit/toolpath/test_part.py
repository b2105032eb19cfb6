"""What a G-code file holds, with and without a machine."""

import tracemalloc
from dataclasses import replace
from functools import partialmethod

import numpy as np
import pytest

from voidless.toolpath.limits import limit_rows
from voidless.toolpath.moves import Moves
from voidless.toolpath.part import part_summary
from voidless.toolpath.reader import read_gcode_lines

LINES = (
    "M83", "G1 Z0.2 F600", "G1 E3 F300", "G1 X10 E2 F600", "G1 E-1 F2100", "G1 Z0.4 F600", "G1 E1",
    "M221 S50", "M220 S200", "G1 X10 Y10 E2 F600", "M900 K1",
)  # fmt: skip


@pytest.fixture
def program():
    return read_gcode_lines(LINES, "part.gcode")


def test_amounts(program):
    """Net filament with purge, moving filament without; path, layers, box."""
    found = part_summary(program)
    assert found["filament_mm"] == pytest.approx(7.0)
    assert found["moving_filament_mm"] == pytest.approx(4.0)
    assert found["volume_mm3"] == pytest.approx(4.0 * np.pi * 1.75**2 / 4.0)
    assert found["path_mm"] == pytest.approx(20.0)
    assert found["layers"] == 2
    assert found["box_mm"] == [[0.0, 0.0, 0.2], [10.0, 10.0, 0.4]]


def test_factors_stand_beside(program):
    """M220 and M221 change only what is called applied."""
    found = part_summary(program)
    assert found["applied_moving_filament_mm"] == pytest.approx(3.0)
    assert found["applied_filament_mm"] == pytest.approx(6.0)
    assert found["applied_time_s"] < found["time_s"]


def test_the_machine_brings_its_filament_and_limits(program, bench):
    """Filament length stays, volume follows the machine; what exceeds it is a problem."""
    found = part_summary(program, replace(bench, filament_diameter_mm=2.85, bed_x_mm=8.0))
    assert found["moving_filament_mm"] == pytest.approx(4.0)
    assert found["volume_mm3"] == pytest.approx(4.0 * np.pi * 2.85**2 / 4.0)
    assert any("outside 0 to 8 mm" in words for words in found["problems"])


def test_a_stated_filament_rules_over_the_machine(bench):
    """Volumetric feed names its diameter; the contradiction is said."""
    program = read_gcode_lines(["M200 D1.75", "M83", "G1 X10 E2 F600"], "part.gcode")
    found = part_summary(program, replace(bench, filament_diameter_mm=2.85))
    assert found["volume_mm3"] == pytest.approx(2.0)
    assert any("the file's is used" in words for words in found["problems"])


def test_what_is_assumed_is_said(program):
    """Without limits in the file and without a machine the time rests on usual ones, and says so."""
    words = part_summary(program)["problems"]
    assert any("states no limits for speed, acceleration, junctions" in text for text in words)
    assert any("M900 (1)" in text for text in words)


def test_moves_before_the_first_speed_exceed_nothing(bench):
    """They run as fast as the limits allow: nothing warns, and the file's problems say so once."""
    program = read_gcode_lines(
        ["M83", "G1 Z40", "G1 X10 E1", "G1 X20 Z40.2 E1 F600", "G1 X30 E1"], "part.gcode"
    )
    words = part_summary(program, bench)["problems"]
    assert [text for text in words if "speed of" in text] == []
    assert "moves before the first speed word; taken as fast as the limits allow" in words
    assert "the lowest bead lies at 40 mm; its layer is taken as thick as the next one" in words


def test_stated_limits_are_used():
    """A file with a tenth of the acceleration takes longer, by the closed form."""
    head = ["M201 X100 Y100 Z100 E100", "M203 X200 Y200 Z10 E50", "M205 J0.02", "M204 S5000"]
    found = part_summary(read_gcode_lines([*head, "M83", "G1 X30 E0.1 F3000"], "part.gcode"))
    assert found["time_s"] == pytest.approx(30.0 / 50.0 + 50.0 / 100.0, rel=1e-9)
    assert not any("states no limits" in text for text in found["problems"])


def test_path_is_measured_in_the_plane():
    """A bead that rises counts with its way over the bed, an arc with its arc."""
    found = part_summary(read_gcode_lines(["M83", "G1 X3 Z4 E1 F600", "G3 X3 I2 Z5 E1"], "part.gcode"))
    assert found["path_mm"] == pytest.approx(3.0 + 4.0 * np.pi, rel=1e-12)


def test_a_file_without_beads():
    """Travels alone have no box and no layer, and that is said."""
    found = part_summary(read_gcode_lines(["G1 X10 F600"], "part.gcode"))
    assert found["box_mm"] is None
    assert found["layers"] == 0
    assert any(words.startswith("the file lays no bead") for words in found["problems"])


def test_times_by_kind_and_layer_and_real_speeds(program, bench):
    """Both sums are the total; real speed is length over time and lies below the commanded one."""
    found = part_summary(program, bench)
    assert sum(found["kind_times_s"].values()) == pytest.approx(found["time_s"])
    assert sum(found["layer_times_s"]) == pytest.approx(found["time_s"])
    assert len(found["layer_times_s"]) == found["layers"] == 2
    speeds = found["bead_speed_mm_s"]
    first = 10.0 / 10.0 + 10.0 / 1000.0  # 10 mm at 10 mm/s from rest to rest with 1000 mm/s², twice
    assert speeds["real"] == pytest.approx(10.0 / first, rel=1e-9)
    assert speeds["commanded"] == speeds["peak"] == pytest.approx(10.0)
    assert speeds["entry"] == speeds["exit"] == 0.0
    assert speeds["below_half_pct"] == 0.0
    assert found["limits"]["source"] == "machine"


def test_where_limits_come_from(program):
    """The file, or assumed; a speed step names itself."""
    assert part_summary(program)["limits"]["source"] == "assumed"
    stepped = read_gcode_lines(["M201 X500 Y500", "M205 X8 E2", "G1 X30 F3000"], "part.gcode")
    limits = part_summary(stepped)["limits"]
    assert limits["source"] == "file"
    assert limits["junction"] == "speed step"
    assert limits["acceleration_mm_s2"][:2] == [500.0, 500.0]
    assert limits["step_mm_s"] == [8.0, 8.0, 1.0, 2.0]
    assert limits["deviation_mm"] is None


def _rings(layers, sides=1000):
    """Return a program of rings, one a layer, with a fan and a pause now and then."""
    lines = ["M83", "M109 S230", "G1 F2400"]
    for layer in range(layers):
        lines += [f"G1 Z{0.2 * (layer + 1):.1f}", f"M106 S{layer % 7}", "G4 P10"]
        turn = np.linspace(0.0, 2.0 * np.pi, sides, endpoint=False) + 0.01 * layer
        places = zip((50 + 40 * np.cos(turn)).tolist(), (50 + 40 * np.sin(turn)).tolist(), strict=True)
        lines += [f"G1 X{x:.3f} Y{y:.3f} E0.02" for x, y in places]
    return read_gcode_lines(lines, "rings.gcode")


def test_stretches_are_the_moves(bench):
    """Put together, stretches have every column, start and bead of the whole; limits are the same by stretches."""
    moves = _rings(4, 50).moves
    parts = list(moves.stretches(37))
    assert [len(part) for part in parts] == [37] * (len(moves) // 37) + [len(moves) % 37]
    for name in ("x_mm", "z_mm", "volume_mm3", "fan_pct", "dwell_s", "layer", "deposits"):
        together = np.concatenate([getattr(part, name) for part in parts])
        assert np.array_equal(together, getattr(moves, name), equal_nan=True), name
    starts = np.concatenate([part.starts_mm(np.arange(len(part))) for part in parts])
    ends = np.column_stack([moves.x_mm, moves.y_mm, moves.z_mm])
    assert np.array_equal(starts[1:], ends[:-1])
    assert starts[0].tolist() == [0.0, 0.0, 0.0]
    assert np.array_equal(moves.steps_mm, np.diff(ends, axis=0, prepend=0.0))


def test_limits_by_stretches_are_those_of_all(bench, straight_moves, monkeypatch):
    """Extremes and counts of excess are the same however many stretches the moves are looked at in."""
    ends = np.random.default_rng(3).uniform(-20.0, 200.0, (50, 3))
    moves = straight_moves(ends.tolist(), 60.0, nozzle_c=np.where(np.arange(50) < 20, np.nan, 290.0))
    whole = limit_rows(moves, bench)
    monkeypatch.setattr(Moves, "stretches", partialmethod(Moves.stretches, rows=7))
    assert limit_rows(moves, bench) == whole
    assert {row.name for row in whole if not row.within} >= {"x", "y", "z"}


def test_memory_of_a_summary_is_bounded(bench, monkeypatch):
    """Beside the moves, 65 bytes each, a summary takes about as much again."""
    monkeypatch.setattr("voidless.toolpath.motion._WORTH_COMPILING", 0)  # as files do that are large
    program = _rings(300)
    count = len(program.moves)
    part_summary(_rings(2), bench)
    tracemalloc.start()
    part_summary(program, bench)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 100 * count


def test_waits_for_a_person_are_told():
    """However long they take; a text behind the word is none of words."""
    lines = [
        "M83",
        "G1 F600 X1 E1",
        "M0 it's time: change the spool",
        "G1 X2 E1",
        "M600",
        "M600 B3",
        "G1 X3 E1",
    ]
    (told,) = (x for x in part_summary(read_gcode_lines(lines, "wait.gcode"))["problems"] if "waits" in x)
    assert "waits for a person 3 times (M0, M600)" in told
    calm = part_summary(read_gcode_lines([x for x in lines if x[0] == "G"], "calm.gcode"))
    assert not any("waits" in words for words in calm["problems"])


@pytest.mark.parametrize(("mode", "doubted"), [("M82", True), ("M83", False)])
def test_relative_feed_taken_for_absolute_is_doubted(mode, doubted):
    """Feed that goes up and down with the length of each bead; drawing back along a wipe now and then is usual."""
    lines = ["G90", mode, "G1 F1200 Z0.2"]
    for k in range(20):
        lines += [f"G1 X{(k + 1) % 2 * 10} Y{k} E{0.3 + 0.1 * (k % 2)}", "G1 X5 E0.02"]
    lines += ["G1 X4 E-0.5"]
    found = part_summary(read_gcode_lines(lines, "mode.gcode"))["problems"]
    assert any("may be meant as relative (M83)" in words for words in found) is doubted


@pytest.mark.parametrize(("order", "said"), [((0, 0, 1, 1), True), ((0, 1, 0, 1), False)])
def test_parts_one_after_the_other_are_told(order, said):
    """Two parts of two layers: each finished before the next, or layer by layer; lifts between beads change nothing."""
    lines, height = ["M83", "G1 F1200"], [0, 0]
    for part in order:
        height[part] += 1
        lines += ["G0 Z5", f"G0 X{50 * part} Y0", f"G0 Z{0.2 * height[part]:.1f}", f"G1 X{50 * part + 20} E1"]
    assert part_summary(read_gcode_lines(lines, "two.gcode"))["one_by_one"] is said
