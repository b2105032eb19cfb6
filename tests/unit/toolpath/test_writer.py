"""Toolpath -> G-code: round trip, limits as written, order of words, refusals."""

import re
from dataclasses import replace

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.specimens.catalogue import specimens_for
from voidless.specimens.order import SpecimenOrder
from voidless.toolpath.build import plan_build
from voidless.toolpath.cautions import BUILD_CAUTIONS
from voidless.toolpath.limits import check_limits, check_temperatures
from voidless.toolpath.motion import build_time
from voidless.toolpath.reader import read_gcode_lines
from voidless.toolpath.writer import _short, file_name, write_gcode

ORDERS = specimens_for(["clarity", "z_ratio", "size_error_mm"])


@pytest.fixture(scope="module")
def built(bench, settings):
    return plan_build(ORDERS, settings, bench)


@pytest.fixture(scope="module")
def text(built, bench, settings):
    return write_gcode(built, bench, settings, ["B07 of R05", "campaign: sight glass"])


@pytest.fixture(scope="module")
def back(text):
    return read_gcode_lines(text.splitlines(), "B07_R05.gcode")


def test_round_trip_keeps_the_volume(built, back):
    """Read back, the deposit of all beads and of every layer is that of the plan to 1e-6."""
    planned, read = built.moves, back.moves
    assert read.volume_mm3[read.deposits].sum() == pytest.approx(
        planned.volume_mm3[planned.deposits].sum(), rel=1e-6
    )
    bead, layer = planned.deposits & (planned.layer >= 0), read.deposits & (read.layer > -1)
    by_layer = np.bincount(planned.layer[bead], weights=planned.volume_mm3[bead])
    again = np.bincount(read.layer[layer], weights=read.volume_mm3[layer])
    again[0] -= planned.volume_mm3[~bead & planned.deposits].sum()  # the purge line lies at the first height
    np.testing.assert_allclose(again, by_layer, rtol=1e-5)


def test_round_trip_keeps_the_time(built, back, bench):
    """Rounded words change the build time by less than 0.1 %."""
    assert build_time(back.moves, bench).total_s == pytest.approx(build_time(built, bench).total_s, rel=1e-3)


def test_nothing_written_exceeds_the_machine(back, bench):
    """Checked on the words as written, positions being rounded to 1 µm."""
    assert check_limits(back.moves, bench, rounding_mm=0.001) == []
    assert back.problems == ()


def test_head_and_order(text):
    """Header, heat without waiting, start code, waiting, modes, then moves; all is off at the end."""
    lines = text.splitlines()
    assert lines[:2] == ["; B07 of R05", "; campaign: sight glass"]
    assert all(f"; {caution}" in lines for caution in BUILD_CAUTIONS)
    order = [lines.index(word) for word in ("M140 S80", "M104 S240", "G28", "M190 S80", "M109 S240")]
    assert order == sorted(order)
    first_move = next(number for number, line in enumerate(lines) if line.startswith(("G0", "G1")))
    assert order[-1] < lines.index("M107") < first_move
    last_move = max(number for number, line in enumerate(lines) if line.startswith(("G0", "G1")))
    assert {"M104 S0", "M140 S0", "M107"} <= set(lines[last_move + 1 :])


def test_header_lines_are_not_repeated(built, bench, settings):
    """A caller that brings the cautions along does not double them."""
    text = write_gcode(built, bench, settings, ["B07 of R05", *BUILD_CAUTIONS])
    assert text.count(BUILD_CAUTIONS[0]) == 1


def test_fan_words(text, bench, settings):
    """20 % is S51; the word comes after the first layer, and never on a machine without a fan."""
    lines = text.splitlines()
    assert lines.count("M106 S51") == 1
    assert lines.index("M106 S51") > lines.index("; layer 1")
    assert lines.index("M106 S51") - lines.index("; layer 2") == 1
    bare = replace(bench, fan=False)
    path = plan_build([SpecimenOrder("block")], settings, bare)
    assert "M106" not in write_gcode(path, bare, settings, [])


def test_a_heated_chamber_is_set_and_waited_for(settings, bench):
    """Only a machine that heats its chamber gets the words for it."""
    heated = replace(bench, chamber_max_c=70.0)
    path = plan_build([SpecimenOrder("block")], settings, heated)
    lines = write_gcode(path, heated, {**settings, "chamber_c": 60.0}, []).splitlines()
    assert lines.index("M141 S60") < lines.index("M191 S60")
    assert "M141 S0" in lines
    assert not any(
        line.startswith(("M141", "M191")) for line in write_gcode(path, bench, settings, []).splitlines()
    )


def test_same_input_same_text(built, text, bench, settings):
    """The file depends on its input alone."""
    assert write_gcode(built, bench, settings, ["B07 of R05", "campaign: sight glass"]) == text


def test_comments_are_plain(built, bench, settings):
    """Line breaks and non-ASCII letters in a header cannot become words of a program."""
    lines = write_gcode(built, bench, settings, ["name\nG1 X999 F9 ü"]).splitlines()
    assert lines[0] == "; name?G1 X999 F9 ?"


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("nozzle_c", 400.0, "nozzle 400 C is above 300 C"),
        ("bed_c", 200.0, "bed 200 C is above 110 C"),
        ("nozzle_c", float("nan"), "nozzle nan C is above"),
    ],
)
def test_excess_heat_is_refused(built, bench, settings, name, value, words):
    """No file is made that asks for more than the machine states."""
    with pytest.raises(InputError, match=words):
        write_gcode(built, bench, {**settings, name: value}, [])


def test_excess_motion_is_refused(built, bench, settings):
    """A toolpath planned for a faster, larger machine is refused by a smaller one."""
    with pytest.raises(InputError, match=r"outside 0 to 90 mm.*speed of x"):
        write_gcode(
            built, replace(bench, bed_x_mm=90.0, speed_max_mm_s=(40.0, 40.0, 15.0, 60.0)), settings, []
        )


def test_check_limits_names_each_limit(straight_moves, bench):
    """Every limit is found by itself, and NaN counts as exceeding."""
    fast = straight_moves([[50.0, 0.0, 0.0]], 400.0)
    assert check_limits(fast, bench) == ["speed of x 400 mm/s is above 300 mm/s (1 move)"]
    thick = straight_moves([[50.0, 0.0, 0.0]], 100.0, volume_mm3=10.0)
    assert check_limits(thick, bench) == ["melt rate 20 mm3/s is above 12 mm3/s (1 move)"]
    away = straight_moves([[50.0, 0.0, -0.1]], 10.0)
    assert check_limits(away, bench) == ["z = -0.1 mm lies outside 0 to 180 mm (1 move)"]
    lost = straight_moves([[50.0, 0.0, 0.0]], np.nan)
    assert any("speed of x nan" in words for words in check_limits(lost, bench))
    hot = straight_moves([[50.0, 0.0, 0.0]], 10.0, nozzle_c=np.array([310.0]))
    assert check_limits(hot, bench) == ["nozzle 310 C is above 300 C"]
    assert check_temperatures(200.0, 60.0, 90.0, bench) == []  # it heats no chamber
    assert check_temperatures(200.0, 60.0, 90.0, replace(bench, chamber_max_c=70.0)) == [
        "chamber 90 C is above 70 C"
    ]


def test_file_name():
    """Build, then run."""
    assert file_name("B07", "R05") == "B07_R05.gcode"


def test_words_carry_no_digit_that_says_nothing(text, built, back):
    """Positions to 0.1 µm, as planned, feed to 10 nm, no zeros behind; read back, no place is off by more."""
    words = re.findall(
        r"(?m)(?<= )[XYZE][^ \n]+", "\n".join(x for x in text.splitlines() if x[:2] in ("G0", "G1"))
    )
    assert len(words) > 10_000
    assert not [word for word in words if re.search(r"\.\d*0$|\.$|^.-0$", word)]
    digits = {letter: max(len(w.partition(".")[2]) for w in words if w[0] == letter) for letter in "XYE"}
    assert digits == {"X": 4, "Y": 4, "E": 5}
    planned, read = built.moves, back.moves
    laid, again = planned.deposits & (planned.layer >= 0), read.deposits & (read.layer >= 0)
    again[np.flatnonzero(again)[0]] = False  # the line that primes
    assert laid.sum() == again.sum()
    for axis in ("x_mm", "y_mm"):
        off = getattr(read, axis)[again] - getattr(planned, axis)[laid]
        assert np.abs(off).max() < 0.0000501


def test_numbers_near_zero_have_no_sign():
    """-0.0001 mm is 0, and 100 keeps its zeros."""
    assert [_short(v, 3) for v in (-0.0001, 100.0, 0.05, -2.5004)] == ["0", "100", "0.05", "-2.5"]
