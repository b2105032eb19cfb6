from __future__ import annotations

import math

import pytest

from voidless.reporting.words import (
    NOT_KNOWN,
    axis_label,
    counted,
    number,
    percent,
    plain,
    short,
    span,
    spread,
    term,
    to_set,
    value,
    words,
)


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        (0.14, "0.14"),
        (103.5, "103.5"),
        (252.0, "252"),
        (-0.15, "−0.15"),
        (0.0, "0"),
        (1.0e-7, "1.00e−07"),
        (12345678.0, "1.23e+07"),
        (99.999, "100"),
        (None, NOT_KNOWN),
        (math.nan, NOT_KNOWN),
        (math.inf, NOT_KNOWN),
    ],
)
def test_number(given, expected):
    assert number(given) == expected


@pytest.mark.parametrize(
    ("given", "expected"),
    [(0.934, "93 %"), (0.9996, "> 99 %"), (1.0, "100 %"), (0.001, "< 1 %"), (0.0, "0 %"), (None, NOT_KNOWN)],
)
def test_percent_never_rounds_up_to_certainty(given, expected):
    assert percent(given).replace("\u00a0", " ") == expected


@pytest.mark.parametrize(
    ("mean", "low", "high", "expected"),
    [
        (0.71234, 0.66, 0.76, "0.712"),
        (48.23, 40.0, 56.0, "48.2"),
        (48.23, 25.0, 71.0, "48"),
        (0.5, None, None, "0.5"),
        (0.5, 0.5, 0.5, "0.5"),
        (0.5, math.nan, 1.0, "0.5"),
    ],
)
def test_spread_prints_two_digits_of_the_half_width(mean, low, high, expected):
    assert spread(mean, low, high) == expected


def test_a_name_becomes_words_and_unit():
    assert axis_label("nozzle_c") == "nozzle temperature (°C)"
    assert axis_label("clarity") == "clarity"
    assert axis_label("nobody's name") == "nobody's name"
    assert value("raster_deg", 45.0) == "45°"
    assert value("speed_mm_s", 28.0) == "28\u00a0mm/s"
    assert value("speed_mm_s", None) == NOT_KNOWN


def test_terms():
    assert term("flow_pct:nozzle_c") == "flow × nozzle temperature"
    assert term("flow_pct^2") == "flow²"
    assert term("flow_pct x nozzle_c") == "flow × nozzle temperature"
    assert term("intercept") == "intercept"


def test_features():
    assert words("size_error_mm:bore") == "size error, measured minus nominal [bore]"
    assert short("size_error_mm:bore") == "size error [bore]"
    assert axis_label("size_error_mm:bore") == "size error [bore] (mm)"


def test_sentences_in_words():
    said = "z_ratio: flow_pct is confounded with session; read camera_raw.csv"
    assert plain(said) == "strength ratio Z over XY: flow is confounded with session; read camera_raw.csv"


def test_counts():
    assert [counted(many, "files") for many in (0, 1, 2)] == ["0 files", "1 file", "2 files"]


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        (0.66, 0.761, "0.660 to 0.761"),
        (5.0, 5.0, "computed"),
        (None, 1.0, NOT_KNOWN),
        (math.nan, 1.0, NOT_KNOWN),
    ],
)
def test_span(low, high, expected):
    assert span(low, high) == expected


def test_a_chamber_that_is_not_heated_is_nothing_to_set():
    settings = {"flow_pct": 101.0, "chamber_c": 0.0, "own": 1.0, "layer_mm": 0.2}
    assert list(to_set(settings)) == ["layer_mm", "flow_pct", "own"]
    assert to_set({"chamber_c": 60.0}) == {"chamber_c": 60.0}
