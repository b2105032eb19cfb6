"""Bytes -> moves: blocks of lines, the compiled scanner against the reader by words, streams."""

import math
import threading
from functools import partial
from io import BytesIO

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.toolpath import reader, scan_ahead
from voidless.toolpath.reader import read_gcode, read_gcode_bytes, read_gcode_lines, stream_gcode
from voidless.toolpath.scan import blocks
from voidless.toolpath.scan_state import LONGEST_LINE

ALL_WORDS = b"""\xef\xbb\xbf; a head with a mark of byte order
M201 X1000 Y1000 Z100 E5000
M203 X200 Y200 Z12 E120
M204 P1250 R1250 T1500
M205 X8 Y8 Z0.4 E1.5
M104 S210
M140 S60
M190 S60 ; wait
M109 S215
G28
G21 G90
M83
G1 Z0.3 F600
G1 X10 Y10 E1.5 F1800
g1x20y10e.5
N12 G1 X20 Y20 E0.5*102
N13 G1 X20 Y20.5 E0.5*7
G1 (sideways) X30 (mm) E1 ; end
X31 E0.1
 Y 21 E 0.1
M106 S127
M106 P2 S255
M204 S900
G1 X40 E1
M107
M73 P50 R3
M117 X marks 1.2.3
SET_SOMETHING A=1
EXCLUDE_OBJECT_START NAME=a
G1 X50.123456789012 E0.0000001
G1 X12.34567890123456789E-7
G1 X12.3456789012345678901234567
G2 X60 Y20 I5 J0 E1
G3 X60 Y30 R5 E1
G2 I2.5 E2
G3 X70 Y30 I5 Z0.6 E1
G3 X80 Y30 R1
G4 P250
G4 S1 P250
G92 E0
M82
G1 X90 E2
G92
G1 X1 Y1
G20
G1 X1 E0.1
G21
G91
G1 X-1 Y.5 E-1 F2100
G90
M207 S0.8 F2100 Z0.2
M208 S0.05
G10
G1 X3
G11
G1 X4 E3
T1
M104 T0 S100
M104 S230
G1 X5 E3.1
T0
G1 X6 E3.2
M200 D1.75
G1 X7 E8
M200 D0
M220 S50
M221 S95
G1 X8 E9 F0
G1 X9 E10 F-1
G1 X9
G18
G2 X10 Z1 I1
G17
M140 S0
%
G40
G90.1
G3 X20 Y1 I15 J1 E11
G91.1
G1 X21 K5
G80
G29 P1 Y2.5
G81 G1 X22
G82 Q
G83.5 X1
M84
m18 x e
M1 S5
M221 S0
M221
M220 S80 P2
X23
M205 X5
M201 X700
G38.2 Z1
M204 S700 T0
G1 E-1
G1 X24 E-1
G1 X25 E1
M204 R300
G1 E1
G2 X24 Y2 I1 P3
G3 X24 Y3 R5 P1.5
G2 X25 Y3 I1 P0
"""
END = b"""G1 X30 M30 G1 X40
; what follows is not carried out
N5
G1 X50
M117 an unknown word
text .5.5
G1 X5.5.5
G2 X60 I5
%
"""


def assert_same(one, other, rtol=0.0):
    """Every column and everything else that two readings found is equal."""
    for name, value in vars(one.moves).items():
        found = getattr(other.moves, name)
        if isinstance(value, np.ndarray):
            np.testing.assert_allclose(found, value, rtol=rtol, atol=rtol, err_msg=name)
        else:
            assert found == value, name
    assert one.stated == other.stated
    assert one.unknown == other.unknown
    assert one.problems == other.problems
    assert one.diameter_mm == other.diameter_mm


@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r"], ids=["LF", "CRLF", "CR"])
@pytest.mark.parametrize("last", [True, False], ids=["ended", "open"])
def test_compiled_equals_by_words(end, last):
    """Every kind of word, whatever ends the lines and whether the last one is ended."""
    data = (ALL_WORDS + END).replace(b"\n", end)
    data = data if last else data.removesuffix(end)
    words = read_gcode_bytes(data, "f.gcode", compiled=False)
    assert len(words.moves) > 60
    assert words.moves.bend_rad is not None
    assert words.moves.tool.max() == 1
    assert_same(words, read_gcode_bytes(data, "f.gcode", compiled=True))


@pytest.mark.parametrize("size", [1, 30, 64, 333])
def test_pieces_do_not_change_what_is_read(monkeypatch, size):
    """However the file is cut between the two threads, and however small the first table of lines."""
    monkeypatch.setattr(scan_ahead, "PIECE_BYTES", size)
    data = ALL_WORDS * 20
    whole = read_gcode_bytes(data, "f.gcode", compiled=False)
    assert_same(whole, read_gcode_bytes(data, "f.gcode", compiled=True), rtol=1e-12)
    with pytest.raises(InputError, match=rf"^f:{20 * ALL_WORDS.count(10) + 2}:8: "):
        read_gcode_bytes(data + b"\nG1 X1.2.3\n" + data, "f", compiled=True)


def test_what_all_words_give():
    """Numbers of the program above that a person can follow."""
    program = read_gcode_bytes(ALL_WORDS, "f.gcode", compiled=True)
    unknown = program.unknown
    assert unknown["EXCLUDE_OBJECT_START"] == unknown["SET_SOMETHING"] == unknown["M73"] == 1
    assert unknown["M106 P"] == unknown["G1 K"] == unknown["G40"] == 1
    assert any("checksum" in text for text in program.problems)
    assert any("speed word F" in text and "2 times, first in line" in text for text in program.problems)
    moves = program.moves
    np.testing.assert_allclose(moves.dwell_s[moves.dwell_s > 0.0], [0.25, 1.0])
    np.testing.assert_allclose(np.unique(moves.bed_c[np.isfinite(moves.bed_c)]), [0.0, 60.0])
    assert moves.nozzle_c[moves.tool == 1].tolist() == [230.0]
    assert moves.nozzle_c[-1] == 100.0
    full = (moves.bend_rad < 0.0) & np.isclose(moves.radius_mm, 2.5)  # G2 I2.5: a whole turn
    assert moves.bend_rad[full].sum() == pytest.approx(-2.0 * math.pi, rel=1e-12)
    assert moves.length_mm[full].sum() == pytest.approx(5.0 * math.pi, rel=1e-12)


@pytest.mark.parametrize("size", [80, 81, 97, 128, 1000])
def test_blocks_hold_whole_lines(size):
    """Whatever the size of the buffer, the lines are those of the file."""
    text = b"".join(b"G1 X%d Y%d E0.1%s" % (n, n * n, (b"\n", b"\r\n", b"\r")[n % 3]) for n in range(300))
    found = b"".join(bytes(data[:end]) for data, end in blocks(BytesIO(text + b"G1 X1"), "f", size))
    assert found == text + b"G1 X1\n"


@pytest.mark.parametrize("compiled", [False, True])
def test_lines_are_counted_over_blocks(monkeypatch, compiled):
    """A pair of carriage return and line feed that two blocks share is one end."""
    data = b"G1 X1 F600\r\n" * 9 + b"G1 X1.2.3\r\n"
    for size in range(40, 60):
        monkeypatch.setattr(reader, "blocks", partial(blocks, block_bytes=size))
        with pytest.raises(InputError, match=r"^f:10:8: "):
            read_gcode_bytes(data, "f", compiled=compiled)


def test_a_line_without_end_is_refused():
    """Memory is bounded by the longest line."""
    with pytest.raises(InputError, match="not a line of text"):
        list(blocks(BytesIO(b"G1 " + b"X" * 200), "f", 100))
    for compiled in (False, True):
        with pytest.raises(InputError, match=r"f\.gcode:2: is not a line of text"):
            read_gcode_bytes(
                b"G1 X1 F600\n;" + b"x" * LONGEST_LINE + b"\nG1 X2\n", "f.gcode", compiled=compiled
            )
    assert len(read_gcode_bytes(b"G1 X1 F600\n;" + b"x" * 500_000 + b"\nG1 X2\n", "f").moves) == 2


@pytest.mark.parametrize("compiled", [False, True])
@pytest.mark.parametrize(
    ("line", "place"),
    [
        (b"G1 X1.2.3", "2:8"),
        (b"G1 X", "2:4"),
        (b"g1 x1 y--2", "2:8"),
        (b"N5 G1 X1 #", "2:10"),
        (b"G92 E1..", "2:8"),
        (b"M204 P1,5", "2:8"),
        (b"G1 X1 \x80", "2:7"),
        (b"G2 X1 I(a)", "2:7"),
    ],
)
def test_malformed_numbers_have_a_place(line, place, compiled):
    """Line and column, whoever reads."""
    with pytest.raises(InputError, match=f"^f.gcode:{place}: "):
        read_gcode_bytes(b"G1 X1 F600\n" + line + b"\nG1 X2\n", "f.gcode", compiled=compiled)


def test_states_and_rows_grow():
    """More changes of state, and more chords in an arc, than there was room for."""
    lines = (
        [b"M83"] + [b"M106 S%d\nG1 X%d E0.1 F600" % (n % 255, n) for n in range(500)] + [b"G2 I5000 E1"] * 3
    )
    data = b"\n".join(lines)
    words = read_gcode_bytes(data, "f", compiled=False)
    assert_same(words, read_gcode_bytes(data, "f", compiled=True), rtol=1e-12)
    assert len(np.unique(words.moves.fan_pct)) == 255


@pytest.mark.parametrize("compiled", [False, True])
def test_a_stream_is_the_whole(tmp_path, monkeypatch, compiled):
    """Joined parts of a stream are the file; parts start where the last ended."""
    monkeypatch.setattr(reader, "blocks", partial(blocks, block_bytes=10_000))
    rng = np.random.default_rng(5)
    lines = ["M83", "M104 S200", "G1 Z0.2 F600"]
    for layer in range(4):
        lines += [f"G0 Z{0.2 * layer + 0.4:.1f}", "G4 P5", f"M106 S{layer * 50}"]
        points = rng.uniform(0.0, 100.0, (500, 2))
        lines += [f"G1 X{x:.3f} Y{y:.3f} E0.1" for x, y in points]
        lines += ["G0 X0 Y0"] * 3
    path = tmp_path / "long.gcode"
    path.write_text("\n".join(lines), encoding="utf-8")
    whole = read_gcode(path, compiled=compiled)
    parts = list(stream_gcode(path, compiled=compiled))
    assert len(parts) >= 4
    for name, value in vars(whole.moves).items():
        if isinstance(value, np.ndarray) and value.ndim == 1 and name != "deposits":
            joined = np.concatenate([getattr(part.moves, name) for part in parts])
            np.testing.assert_array_equal(joined, value, err_msg=name)
    starts = [part.moves.start_mm for part in parts[1:]]
    ends = [(p.moves.x_mm[-1], p.moves.y_mm[-1], p.moves.z_mm[-1]) for p in parts[:-1]]
    assert starts == ends
    assert parts[-1].unknown == whole.unknown


def test_a_stream_refuses_what_a_file_refuses(tmp_path):
    """No move, a malformed number, no file."""
    path = tmp_path / "f.gcode"
    path.write_bytes(b"; nothing\n")
    with pytest.raises(InputError, match="holds no move"):
        list(stream_gcode(path))
    path.write_bytes(b"G1 X1 F1\nG1 X1.2.3\n")
    with pytest.raises(InputError, match=r"f\.gcode:2:8"):
        list(stream_gcode(path))
    with pytest.raises(InputError, match="cannot be read"):
        list(stream_gcode(tmp_path / "none"))


def test_constant_columns_take_no_memory():
    """A number that holds throughout is kept once."""
    moves = read_gcode_lines(["G1 X1 F600", "G1 X2"], "f").moves
    assert moves.dwell_s.strides == (0,)
    assert math.isinf(moves.radius_mm[1])


@pytest.mark.parametrize("compiled", [False, True])
def test_a_stop_by_hand_ends_the_reading(tmp_path, compiled):
    """Told of its share, a reader that is stopped leaves no thread behind and no word but the stop."""
    path = tmp_path / "long.gcode"
    path.write_text("M83\nG1 F600\n" + "G1 X1 E1\nG1 X2 E1\n" * 200_000, encoding="ascii")
    shares = []

    def stop(share):
        shares.append(share)
        if share > 0.5:
            raise KeyboardInterrupt

    before = threading.active_count()
    with pytest.raises(KeyboardInterrupt):
        read_gcode(path, compiled=compiled, progress=stop)
    assert threading.active_count() == before
    assert shares == sorted(shares)
    assert 0.5 < shares[-1] <= 1.0
