"""How results were reduced: folded in the report, one group a kind, bounded, with the rest as a count."""

import copy

import pytest

from voidless.reporting.document import report_html

PICTURE = {
    "title": "z_1",
    "x": "strain [%]",
    "y": "stress [MPa]",
    "curves": [{"name": "stress", "x": [0.0, 1.0, 2.0], "y": [0.0, 20.0, 38.0], "dashed": False}],
    "marks": [{"name": "yield", "x": 2.0, "y": 38.0}],
    "rules": [],
    "says": "Strength 38 MPa.",
}


@pytest.fixture
def reduced(facts):
    """Invented facts with pictures of two kinds and a failed check."""
    found = copy.deepcopy(facts)
    found["reduced"] = {
        "count": 50,
        "pictures": [
            {"kind": kind, "file": f"bench/<{kind}>.csv", "of": f"R01 {place}", "flags": flags, "picture": PICTURE}
            for kind, place, flags in (("curve", 1, ["a slip at 1 %"]), ("curve", 2, []), ("pressure", 1, []))
        ],
    }  # fmt: skip
    result = {"run": "R01", "build": "B01", "specimen": "z_1", "response": "strength_z_mpa", "value": 29.4}
    result |= {"uncertainty": 0.4, "standing": "corrected", "why": "CELL: 2 % high"}
    check = {"instrument": "CELL", "checked_at": "2031-03-09T08:00+00:00", "passed": False, "gain": 1.02}
    found["instruments"] = {"checks": [{**check, "offset": None, "note": ""}], "results": [result]}
    return found


def test_each_kind_is_folded_with_its_flags_and_the_rest_is_a_count(reduced, marks):
    text = report_html(reduced)
    page = marks(text)
    figures = {attrs["id"] for attrs in page.named("figure")}
    assert {"figure-measured-curve", "figure-measured-pressure"} <= figures
    assert not {name for name in page.ids if page.ids.count(name) > 1}
    for words in ("3 of 50 pictures are shown", "a slip at 1 %", "Marked: yield.", "bench/&lt;curve&gt;.csv"):
        assert words in text
    assert "<details><summary>curve: 2" in text


def test_results_that_a_check_moved_are_told_with_the_reason(reduced, marks):
    text = marks(report_html(reduced)).text
    assert "CELL: 2 % high" in text
    assert "corrected" in text
    assert "1.02" in text


def test_without_pictures_and_checks_a_sentence_stands_there(facts, marks):
    text = marks(report_html(facts)).text
    assert "No result came with a picture" in text
    assert "No check of an instrument was logged" in text
