"""G-code of any common dialect -> moves: one short program per rule."""

import math

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.toolpath.moves import Kind
from voidless.toolpath.reader import read_gcode, read_gcode_bytes, read_gcode_lines, stream_gcode
from voidless.toolpath.words import checksum_holds, split_words, strip_line


def read(*lines, **options):
    return read_gcode_lines(lines, "part.gcode", **options)


def ends(program):
    moves = program.moves
    return np.column_stack([moves.x_mm, moves.y_mm, moves.z_mm])


@pytest.mark.parametrize(
    ("lines", "end", "fed"),
    [
        (["G1 X10 Y5 Z1 E2 F600"], (10, 5, 1), 2),
        (["G91", "G1 X10 E1 F600", "G1 X5 E1"], (15, 0, 0), 2),
        (["M83", "G1 X10 E1 F600", "G1 X15 E1"], (15, 0, 0), 2),
        (["M82", "G1 X10 E1 F600", "G1 X15 E2"], (15, 0, 0), 2),
        (["G1 X10 E1 F600", "G92 E0", "G1 X15 E1"], (15, 0, 0), 2),
        (["G20", "M83", "G1 X1 E0.1 F60"], (25.4, 0, 0), 2.54),
        (["G20", "G1 X1 F60", "G21", "G1 X30"], (30, 0, 0), 0),
        (["G1 X10 F600", "G92 X0", "G1 X5"], (15, 0, 0), 0),
        (["G1 X10 F600", "G28 X", "G1 X4"], (4, 0, 0), 0),
        (["g1x10y5e1f600"], (10, 5, 0), 1),
        (["g1y98.563e0.21253f600"], (0, 98.563, 0), 0.21253),
        (["N10 G1 X10 F600*48"], (10, 0, 0), 0),
        (["G1 (to the right) X10 (mm) F600 ; and more X99"], (10, 0, 0), 0),
        (["G1 X10 F600", "Y5 E1"], (10, 5, 0), 1),
        (["G21 G90 G1 X+10. Y.5 F600\r\n"], (10, 0.5, 0), 0),
        (["%", "", "   ", "G0X10F600"], (10, 0, 0), 0),
        (["M83", "G90", "G1 X10 E1 F600", "G1 X15 E1"], (15, 0, 0), 2),
        (["G1 (a;b) X10 (c) F600 ; (d", "Y5 (e; X9"], (10, 5, 0), 0),
        (["G1 X10 (a (b) X7) Y5 F600 (c"], (10, 5, 0), 0),
    ],
)
def test_where_a_program_ends_and_what_it_feeds(lines, end, fed):
    """Position and filament after the last line."""
    program = read(*lines)
    np.testing.assert_allclose(ends(program)[-1], end, atol=1e-12)
    assert program.moves.filament_mm.sum() == pytest.approx(fed, abs=1e-12)


def test_volumetric_feed():
    """With M200 D1.75 the word E is mm³; D0 turns back to length."""
    area = math.pi * 1.75**2 / 4.0
    program = read("M200 D1.75", "M83", f"G1 X10 E{area:.9f} F600", "M200 D0", "G1 X20 E1")
    np.testing.assert_allclose(program.moves.filament_mm, [1.0, 1.0], rtol=1e-8)
    assert program.diameter_mm == 1.75


def test_filament_diameter_of_the_caller():
    """Length stays as written, volume follows the diameter."""
    program = read("M83", "G1 X10 E2 F600", filament_diameter_mm=2.85)
    assert program.moves.filament_mm[0] == pytest.approx(2.0)
    assert program.moves.volume_mm3[0] == pytest.approx(2.0 * math.pi * 2.85**2 / 4.0)


@pytest.mark.parametrize(
    ("word", "length"),
    [
        ("G3 X0 Y10 I-10 J0", 2.5 * math.pi * 2),
        ("G2 X0 Y10 I-10 J0", 7.5 * math.pi * 2),
        ("G3 X0 Y10 R10", 5.0 * math.pi),
        ("G3 X0 Y10 R-10", 15.0 * math.pi),
        ("G2 X10 Y0 I-10 J0", 20.0 * math.pi),
        ("G3 I-10", 20.0 * math.pi),
    ],
)
def test_arcs(word, length):
    """Quarter and three quarter circles of radius 10 from (10, 0), both ways and forms; full circles."""
    program = read("G1 X10 Y0 F600", "M83", f"{word} E3 F1200")
    arc = program.moves.radius_mm < math.inf
    assert program.moves.length_mm[arc].sum() == pytest.approx(length, rel=1e-12)
    assert program.moves.filament_mm[arc].sum() == pytest.approx(3.0)
    if "R" not in word:  # the other forms name their centre: every chord ends on the circle
        np.testing.assert_allclose(np.hypot(*ends(program)[arc, :2].T), 10.0, rtol=1e-9)


@pytest.mark.parametrize(
    ("plane", "word", "middle", "end"),
    [
        ("G18", "G2 X20 I5 K0", (5.0, 0.0, -5.0), (10.0, 0.0, 0.0)),
        ("G18", "G3 X20 R5", (5.0, 0.0, 5.0), (10.0, 0.0, 0.0)),
        ("G19", "G2 Y10 J5 K0", (0.0, 5.0, 5.0), (0.0, 10.0, 0.0)),
        ("G19", "G3 Y10 J5 X14", (2.0, 5.0, -5.0), (4.0, 10.0, 0.0)),
    ],
)
def test_arcs_in_upright_planes(plane, word, middle, end):
    """Clockwise as seen from the far end of the axis across (RS-274): up and over towards X is G3, towards Y G2."""
    program = read("G1 X10 Y0 Z20 F600", "M83", plane, f"{word} E3")
    assert program.problems == ()
    here = ends(program) - [10.0, 0.0, 20.0]
    assert np.abs(here - middle).sum(axis=1).min() < 1e-6
    np.testing.assert_allclose(here[-1], end, atol=1e-9)
    assert program.moves.filament_mm[1:].sum() == pytest.approx(3.0)
    assert program.moves.length_mm[1:].sum() == pytest.approx(
        math.hypot(5.0 * math.pi, end[0] if plane == "G19" else 0.0)
    )


def test_a_spline_is_followed():
    """A cubic whose controls lie on a line is that line; one of controls 40/3 high over 30 is a parabola 10 high."""
    straight = read("M83", "G1 Z1 F600", "G5 X30 Y0 I10 J0 P-10 Q0 E3")
    assert straight.moves.length_mm[1:].sum() == pytest.approx(30.0)
    bent = read("M83", "G1 Z1 F600", "G5 X30 Y0 Z2 I10 J13.333333333333334 P-10 Q13.333333333333334 E3")
    places = ends(bent)[1:]
    x, y = places[:, 0], places[:, 1]
    np.testing.assert_allclose(y, 4.0 * 10.0 * x / 30.0 * (1.0 - x / 30.0), atol=1e-9)
    np.testing.assert_allclose(places[-1], [30.0, 0.0, 2.0])
    a = 4.0 * 10.0 / 30.0  # slope at the start: length of a parabola's arch in closed form
    length = 15.0 * (math.sqrt(1.0 + a * a) + math.asinh(a) / a)
    level = np.hypot(*np.diff(np.vstack([[0.0, 0.0], places[:, :2]]), axis=0).T).sum()
    assert level == pytest.approx(length, abs=0.01)
    assert bent.moves.filament_mm.sum() == pytest.approx(3.0)
    assert bent.problems == straight.problems == ()


def test_numbers_of_the_machine_come_back():
    """G92.1 ends what G92 began; filament stays as it was."""
    program = read("M82", "G1 X10 E1 F600", "G92 X0 Y0", "G1 X5 E2", "G92.1", "G1 X5 E3")
    assert program.moves.x_mm.tolist() == [10.0, 15.0, 5.0]
    assert program.moves.filament_mm.sum() == pytest.approx(3.0)


def test_a_centre_across_the_plane_is_counted():
    """K says nothing in the bed's plane; back in it after G17 arcs run as arcs."""
    program = read("G18", "G17", "G1 X10 F600", "G2 X20 I5 K3")
    assert program.unknown == {"G2 K": 1}
    assert program.moves.length_mm[1:].sum() == pytest.approx(5.0 * math.pi)


def test_half_a_circle_of_rounded_radius():
    """Ends 10.001 mm apart and R5 are half a circle in words of three decimals; ends 10.02 mm apart are none."""
    rounded = read("G1 X10 Y0 F600", "G2 X20.001 R5")
    assert rounded.moves.length_mm[1:].sum() == pytest.approx(5.0 * math.pi, rel=1e-3)
    assert rounded.problems == ()
    (told,) = read("G1 X10 Y0 F600", "G2 X20.02 R5").problems
    assert "no circle" in told


@pytest.mark.parametrize("compiled", [False, True])
def test_absolute_positions_behind_relative_feed_are_told_where_they_matter(compiled):
    """Controllers differ in what G90 behind M83 does to feed: told once for each G90 with feed behind it."""
    head, feed = b"G1 X1 F600\nM83\nG90\n", b"G1 X2 E1\nG1 X3 E1\n"
    told = read_gcode_bytes(head + feed + b"G91\nG1 E1\nG90\nG3 X4 R1 E1\n" + feed, "f", compiled=compiled)
    assert [text.partition(";")[0] for text in told.problems] == ["feed stays relative when G90 follows M83"]
    assert told.problems[0].endswith("(2 times, first in line 4)")
    assert told.moves.filament_mm.sum() == pytest.approx(6.0)
    for after in (b"M83\n", b"M82\n", b"G91\n"):
        assert read_gcode_bytes(head + after + feed, "f", compiled=compiled).problems == ()
    assert read_gcode_bytes(head + b"G1 X9\n", "f", compiled=compiled).problems == ()


def test_a_helix_rises_evenly():
    """Length is that of the helix, height grows with the angle."""
    program = read("G1 X10 F600", "G3 X10 Y0 I-10 Z5 F600")
    turn = program.moves.radius_mm < math.inf
    assert program.moves.length_mm[turn].sum() == pytest.approx(math.hypot(20.0 * math.pi, 5.0), rel=1e-12)
    assert np.all(np.diff(program.moves.z_mm[turn]) > 0.0)
    assert program.moves.z_mm[-1] == 5.0


def test_turns_of_an_arc():
    """P is turns in all: P3 adds two circles to the quarter; anything but 1 to 1000 adds none; both are doubtful."""
    program = read("G1 X10 F600", "G3 X0 Y10 I-10 P3 Z9")
    turn = program.moves.radius_mm < math.inf
    assert program.moves.length_mm[turn].sum() == pytest.approx(math.hypot(45.0 * math.pi, 9.0), rel=1e-12)
    assert program.moves.bend_rad.sum() == pytest.approx(4.5 * math.pi)
    np.testing.assert_allclose(ends(program)[-1], [0.0, 10.0, 9.0])
    assert any(
        text.startswith("P of an arc is taken as turns") and "(line 2)" in text for text in program.problems
    )
    for word in ("P1.5", "P0", "P1001", "P-2"):
        odd = read("G1 X10 F600", f"G3 X0 Y10 I-10 {word}")
        assert odd.moves.length_mm[1:].sum() == pytest.approx(5.0 * math.pi, rel=1e-12)
        assert any("no number of turns" in text for text in odd.problems)


def test_what_follows_the_end_in_its_own_line_is_not_carried_out():
    """Several words may stand in one line."""
    assert read("G1 X1 F600", "G1 X2 M30 G1 X9").moves.x_mm.tolist() == [1.0, 2.0]


@pytest.mark.parametrize("compiled", [False, True])
def test_lines_behind_the_end_are_counted_whatever_words_they_have(compiled):
    """A line of coordinates alone counts, comments and empty lines do not."""
    data = b"G1 X1 F600\nM2\nX5\n; a comment\n\nG1 X7\nM105\n"
    (told,) = read_gcode_bytes(data, "f", compiled=compiled).problems
    assert told.startswith("the program ends in line 2 (M2 or M30); 3 lines behind it")


@pytest.mark.parametrize("word", ["M2", "M30", "m30 ; done"])
def test_a_program_ends(word):
    """M2 and M30 end a program (RS-274): what stands behind is counted, not carried out; an end mark is nothing."""
    program = read("G1 X10 F600", f"G1 X20 {word}", "", "; remark", "G1 X30", "M109 S300", "%")
    np.testing.assert_allclose(program.moves.x_mm, [10.0, 20.0])
    (text,) = program.problems
    assert "ends in line 2" in text
    assert "2 lines behind it" in text
    assert read("G1 X10 F600", word, "%", "; remark").problems == ()


def test_box_of_an_arc_is_exact():
    """Chords end where the circle is furthest out."""
    program = read("G1 X10 F600", "G3 I-10 F600")
    np.testing.assert_allclose(ends(program)[1:].max(axis=0), [10.0, 10.0, 0.0], atol=1e-9)
    np.testing.assert_allclose(ends(program)[1:].min(axis=0), [-10.0, -10.0, 0.0], atol=1e-9)


def test_firmware_retraction():
    """G10 and G11 draw back and restore what M207 states, once each; without it the length is not known."""
    program = read("M207 S0.8 F2100", "G1 X1 F600", "G10", "G10", "G1 X2", "G11", "G1 X3")
    kinds = program.moves.kind.tolist()
    assert kinds == [Kind.TRAVEL, Kind.RETRACT, Kind.TRAVEL, Kind.RESTORE, Kind.TRAVEL]
    np.testing.assert_allclose(program.moves.filament_mm, [0.0, -0.8, 0.0, 0.8, 0.0])
    assert program.moves.speed_mm_s[1] == pytest.approx(35.0)
    unknown = read("G1 X1 F600", "G10", "G1 X2", "G11")
    assert any("M207" in words for words in unknown.problems)


def test_state_of_each_move():
    """Fan, temperature, accelerations, factors hold from where they are stated."""
    program = read(
        "M104 S230", "M106 S127.5", "M204 P900 T1100", "M83", "G1 X10 E1 F600", "M107", "M220 S50",
        "M221 S95", "M109 S240", "G1 X20",
    )  # fmt: skip
    moves = program.moves
    np.testing.assert_allclose(moves.fan_pct, [50.0, 0.0])
    np.testing.assert_allclose(moves.nozzle_c, [230.0, 240.0])
    np.testing.assert_allclose(moves.acceleration_mm_s2, [900.0, 1100.0])
    np.testing.assert_allclose(moves.speed_factor, [1.0, 0.5])
    np.testing.assert_allclose(moves.flow_factor, [1.0, 0.95])


def test_dwell_in_seconds_and_milliseconds():
    """G4 S and P."""
    program = read("G1 X1 F600", "G4 S2", "G4 P500", "G1 X2")
    np.testing.assert_allclose(program.moves.dwell_s, [0.0, 2.0, 0.5, 0.0])


def test_stated_limits():
    """M201, M203 and M205 are kept for the motion time."""
    program = read("M201 X1000 E5000", "M203 X200 Z12", "M205 X8 Z0.4 E1.5", "G1 X1 F600")
    assert program.stated["acceleration_mm_s2"] == {"X": 1000.0, "E": 5000.0}
    assert program.stated["speed_mm_s"] == {"X": 200.0, "Z": 12.0}
    assert program.stated["step_mm_s"] == {"X": 8.0, "Y": 8.0, "Z": 0.4, "E": 1.5}


def test_unknown_words_are_counted():
    """Other words do not stop the reading, whatever follows them."""
    program = read("M117 Hello 1.2.3 world", "M728", "M728", "SET_LIGHT NAME=a", "G1 X1 F600", "T99")
    assert program.unknown == {"M117": 1, "M728": 2, "SET_LIGHT": 1, "T99": 1}


@pytest.mark.parametrize(
    ("line", "where"),
    [
        ("G1 X1.2.3 F600", "part.gcode:2:8"),
        ("G1 X F600", "part.gcode:2:4"),
        ("G1 X- F600", "part.gcode:2:5"),
        ("G1 Xnan", "part.gcode:2:4"),
        ("G1 X10 #3", "part.gcode:2:8"),
        ("N7 G1 X1..2", "part.gcode:2:10"),
    ],
)
def test_malformed_numbers_name_line_and_column(line, where):
    """The place in the file is said, columns counted in the line as written."""
    with pytest.raises(InputError, match=f"^{where}: "):
        read("G1 X1 F600", line)


def test_what_is_no_program_is_refused(tmp_path):
    """Nothing to do, bytes, endless lines, no file."""
    with pytest.raises(InputError, match="holds no move"):
        read("; only a comment", "M104 S200")
    with pytest.raises(InputError, match="not a line of text"):
        read("G1 X1 F600", "G1 X\0")
    long = tmp_path / "long.gcode"
    long.write_text("G1 X1 F600" + " " * 1_048_577, encoding="utf-8")
    with pytest.raises(InputError, match="not a line of text"):
        read_gcode(long)
    with pytest.raises(InputError, match="cannot be read"):
        read_gcode(tmp_path / "none.gcode")


def test_doubts_are_reported():
    """A wrong checksum, an impossible arc, a missing speed are problems in words, not faults."""
    program = read("N1 G1 X10*99", "G2 X20 R1 F600")
    text = " ".join(program.problems)
    assert "checksum does not hold (line 1)" in text
    assert "no circle in its plane; taken as a straight line (line 2)" in text
    assert "before the first speed word" in text
    assert checksum_holds("N3 T0*57")  # example of the trade, from memory
    assert not checksum_holds("N3 T0*58")
    assert checksum_holds("N3 T0*57 ; 2*3 (c)")
    assert checksum_holds("G1 X5 (2*3)")
    assert not checksum_holds("G1 X5 (2*3)*1")


def test_layers_are_ranks_of_height():
    """Beads on the same height share a layer; a travel belongs to the bead that it leads to."""
    program = read("M83", "G1 Z0.2 F600", "G1 X1 E1", "G1 Z0.4", "G1 X2 E1", "G1 Z0.2", "G1 X3 E1")
    assert program.moves.layer.tolist() == [0, 0, 1, 1, 0, 0]


def test_words_keep_their_columns():
    """Comments and line numbers are blanked, not cut."""
    words = split_words(strip_line("N12 G1(c)X5;e"), "f:1")
    assert [(word.letter, word.value, word.column) for word in words] == [("G", 1.0, 5), ("X", 5.0, 10)]


@pytest.mark.parametrize(
    ("head", "kind"), [(b"\x1f\x8b\x08\x00", "a gzip archive"), (b"PK\x03\x04", "a ZIP archive")]
)
@pytest.mark.parametrize("read", [read_gcode, lambda path: list(stream_gcode(path))])
def test_archives_are_named(tmp_path, head, kind, read):
    """Nobody looks for a fault in line 1 of what has only to be unpacked."""
    path = tmp_path / "part.gcode"
    path.write_bytes(head + bytes(100))
    with pytest.raises(InputError, match=f"part.gcode: is {kind}.*Unpack it"):
        read(path)
