"""Specimens side by side under captions: each keeps its own name and direction."""

import numpy as np
import pytest

from voidless.measure.results import Answers, RawFile
from voidless.measure.take import take_files

X = np.linspace(0.0, 3.0, 400)
FIRST, SECOND = 600.0 * X, 300.0 * X
"""Straight to 1800 N and 900 N: 45 and 22.5 MPa over 40 mm²."""
ROWS = "\n".join(f"{x:.4f},{a:.2f},{x:.4f},{b:.2f}" for x, a, b in zip(X, FIRST, SECOND, strict=True))
NAMES = "Extension [mm],Force [N],Extension [mm],Force [N]"


def taken(name, captions):
    text = f"{captions}\n{NAMES}\n{ROWS}\n"
    (found,) = take_files([RawFile(name, text.encode())], Answers(sections={"": 40.0}))
    assert found.error is None
    return found


def strengths(found):
    return {
        (o.key.quantity, o.specimen): round(o.value, 1)
        for o in found.observations
        if o.key.quantity.startswith(("strength", "max_force"))
    }


def test_each_direction_is_taken_from_its_caption():
    found = taken("two.csv", "xy-1,,z-1,")
    values = strengths(found)
    assert [name for name, _ in values] == ["strength_xy_mpa", "strength_z_mpa"]
    assert list(values.values()) == pytest.approx([45.0, 22.5], abs=0.2)
    assert [specimen for _, specimen in values] == ["two-xy-1", "two-z-1"]


def test_a_caption_that_contradicts_the_file_name_gives_no_strength():
    """The weak bar must not pass as the strong one because the file is called xy."""
    found = taken("session_xy.csv", "xy-1,,z-1,")
    assert [name for name, _ in strengths(found)] == ["strength_xy_mpa", "max_force_n"]
    assert any("the file's name says xy, the caption 'z-1' does not" in word for word in found.warnings)


@pytest.mark.parametrize("captions", ["", "machine seven,,,", "a,,a,", "1,,2,"])
def test_what_is_no_caption_leaves_numbers(captions):
    found = taken("two_xy.csv", captions)
    assert [specimen for _, specimen in strengths(found)] == ["two_xy#1", "two_xy#2"]
