"""Whatever stands in a file: it is read, or refused with a place; never anything else."""

import numpy as np
from hypothesis import example, given, settings
from hypothesis import strategies as st

from voidless.errors import InputError
from voidless.toolpath.part import part_summary
from voidless.toolpath.reader import read_gcode_lines

MOTION = ["G0", "G1", "G2", "G3", "g1", "G4", "G10", "G11", "G28", "G92"]
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


@given(st.lists(st.text(max_size=40), max_size=10))
@settings(max_examples=200, deadline=None)
@example(["G1 X" + "9" * 400])
@example(["G1 X1 F1", "\x1c\x85 G1"])
def test_any_text(lines):
    """Any characters at all."""
    _read(lines)
