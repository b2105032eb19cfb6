"""Conditions that a person states are caught where they are nonsense, in the words and units they were given in."""

import math
import warnings

import pytest

import voidless as package
from voidless.errors import InputError
from voidless.twin.context import DEFAULT_CONTEXT
from voidless.workflows.conditions import CONDITIONS


@pytest.mark.parametrize(
    ("name", "value", "expected"),
    [
        ("exposure_h", "-1", "0 to 100000 h"),
        ("humidity_pct", "150", "0 to 100 %"),
        ("surface", "5", r"0 to 1 \(1 as printed"),
        ("thickness_mm", "1e6", "0.1 to 100 mm"),
        ("room_c", "nan", "0 to 60 degC"),
        ("view", "3", "0 or 1 or 2"),
    ],
)
def test_nonsense_is_named(name, value, expected):
    """The error names the condition as written, and its range with the unit."""
    with pytest.raises(InputError, match=f"{name} = {value.replace('1e6', '1e.06')} .expected {expected}"):
        package.predict("petg", "bench-0.4", {name: value})


@pytest.mark.parametrize("end", [0, 1])
def test_every_end_is_predicted(end):
    """Every number of every response is finite with all conditions at the same end, and nothing warns."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        given = {name: bounds[end] for name, bounds in CONDITIONS.items()}
        found = package.predict("petg", "bench-0.4", given)["responses"]
    assert all(math.isfinite(item[key]) for item in found.values() for key in ("mean", "low", "high"))


def test_conditions_are_those_of_the_twin():
    """Each condition has a range, but for the choices, and its usual value lies in it."""
    assert set(CONDITIONS) == set(DEFAULT_CONTEXT) - {"view", "charpy_upright"}
    assert all(low <= DEFAULT_CONTEXT[name] <= high for name, (low, high, _) in CONDITIONS.items())


def test_conditions_are_told_beside_the_settings(voidless, tmp_path):
    """The wetness of the spool and what is stated stand in the table's head, in the data and on the page."""
    page = tmp_path / "chain.html"
    arguments = (
        "predict",
        "--material",
        "petg",
        "--machine",
        "bench-0.4",
        "--set",
        "exposure_h=24",
        "--set",
        "bridge_mm=7",
    )
    told = voidless.json(*arguments, "--picture", page)["conditions"]
    assert told["exposure_h"] == 24.0
    assert told["bridge_mm"] == 7.0
    assert told["humidity_pct"] == 50.0
    assert "surface" not in told
    _, out, _ = voidless(*arguments)
    lines = out.splitlines()
    assert any(line.startswith("Conditions: thickness_mm 3  ") for line in lines)
    assert any("exposure_h 24" in line for line in lines)
    assert not any(line.endswith("fan_pct") for line in lines)  # a name stays with its value
    assert "hours out of the dryer" in page.read_text("utf-8")
