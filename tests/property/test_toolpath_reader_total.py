"""Whatever stands in a file: it is read, or refused with a place; never anything else."""

import numpy as np
from hypothesis import example, given, settings
from hypothesis import strategies as st

from voidless.errors import InputError
from voidless.toolpath.part import part_summary
from voidless.toolpath.reader import read_gcode_bytes, read_gcode_lines

MOTION = ["G0", "G1", "G2", "G3", "G5", "G92.1", "g1", "G4", "G10", "G11", "G28", "G92"]
MODES = ["G17", "G18", "G20", "G21", "G90", "G91", "M82", "M83", "M200"]
STATE = ["M104", "M106", "M107", "M201", "M203", "M204", "M205", "M207", "M220", "M221", "M73", "T1", "N5"]
COMMANDS = st.sampled_from(MOTION + MODES + STATE)
NUMBERS = st.one_of(
    st.integers(-300, 300).map(str),
    st.floats(-50, 50).map(lambda x: f"{x:.4f}"),
    st.just("0"),
    st.just("1e9"),
)
WORDS = st.tuples(st.sampled_from("XYZEFIJRSPDT"), NUMBERS).map("".join)
LINES = st.tuples(COMMANDS, st.lists(WORDS, max_size=5)).map(lambda parts: " ".join([parts[0], *parts[1]]))


def _read(lines):
    try:
        program = read_gcode_lines(lines, "part.gcode")
    except InputError as fault:
        if not fault.where.startswith("part.gcode"):
            raise
        return
    found = part_summary(program)
    assert np.isfinite(found["time_s"])
    assert found["time_s"] >= 0.0
    assert np.isfinite(found["applied_time_s"])
    assert len(program.moves.layer) == found["moves"]


@given(st.lists(LINES, max_size=30))
@settings(max_examples=300, deadline=None)
@example(["G3 X-1 I1"])
@example(["G1 X1 F0", "M220 S0", "G1 X2", "M203 X0", "M205 X0", "M204 S-5", "G3 X2 R0"])
def test_programs_of_known_words(lines):
    """Any order of known words with any numbers."""
    _read(lines)


def _outcome(data, compiled):
    try:
        program = read_gcode_bytes(data, "part.gcode", compiled=compiled)
    except InputError as fault:
        return str(fault)
    return program


SPACES = st.sampled_from(["", "", " ", "  ", "\t"])
LOOSE = st.tuples(COMMANDS, st.lists(st.tuples(SPACES, WORDS), max_size=6), SPACES).map(
    lambda parts: parts[0] + "".join(space + word for space, word in parts[1]) + parts[2]
)
ODD = st.sampled_from(
    [
        "; text",
        "(note)",
        "(a;b) X1",
        "G1 (a (b) c) X4 (d",
        "N5 G1 X1*3",
        "N1 G1 X5*91",
        "%",
        "X3 Y4",
        "M73 P1",
        "T2",
        "G1 X1 (c) Y2",
        "\0",
    ]
)


@given(
    st.lists(st.one_of(LOOSE, LINES, ODD), max_size=40), st.sampled_from(["\n", "\r\n", "\r"]), st.booleans()
)
@settings(max_examples=400, deadline=None)
@example(["G1 X1 F0", "G2 X3 R1", "M106 S.5", "G92 X1e", "M204 S-5"], "\n", True)
@example(["M83", "G90", "G1 X1", "G1 X2 E1", "G91", "G1 E1", "G90", "G3 X4 R1 E1"], "\n", False)
@example(["G1 (a (b X5) Y1", "G1 (a (b) X5) Y1", "G1 X2 (a) b) Y1"], "\n", False)
def test_compiled_equals_by_words(lines, end, lower):
    """The byte scanner and the reader by words find the same moves, states, words and faults."""
    text = end.join(["G1 F600", *lines])
    data = (text.lower() if lower else text).encode("latin-1")
    words, fast = _outcome(data, compiled=False), _outcome(data, compiled=True)
    if isinstance(words, str):
        assert fast == words
        return
    assert (fast.stated, fast.unknown, fast.problems) == (words.stated, words.unknown, words.problems)
    for name, value in vars(words.moves).items():
        if isinstance(value, np.ndarray):
            np.testing.assert_allclose(getattr(fast.moves, name), value, rtol=1e-12, atol=1e-12, err_msg=name)


@given(st.lists(st.text(max_size=40), max_size=10))
@settings(max_examples=200, deadline=None)
@example(["G1 X" + "9" * 400])
@example(["G1 X1 F1", "\x1c\x85 G1"])
def test_any_text(lines):
    """Any characters at all."""
    _read(lines)
