from __future__ import annotations

import csv
import io

import pytest

from voidless.errors import InputError
from voidless.reporting.runsheet import RESULT_COLUMNS, run_sheet_csv, run_sheet_html


def test_the_table_is_ready_to_be_filled(build_facts):
    rows = list(csv.DictReader(io.StringIO(run_sheet_csv(build_facts))))
    assert tuple(rows[0]) == RESULT_COLUMNS == ("run", "build", "specimen", "response", "value", "unit")
    assert [(r["specimen"], r["response"], r["unit"]) for r in rows] == [
        ("bar_z-1", "strength_z_mpa", "MPa"),
        ("bar_z-2", "strength_z_mpa", "MPa"),
        ("block-1", "density_g_cm3", "g/cm3"),
        ("block-1", "void_pct", "%"),
    ]
    assert {(r["run"], r["build"], r["value"]) for r in rows} == {("R05", "B07", "")}


def test_an_unknown_response_is_refused(build_facts):
    build_facts["specimens"][0]["responses"] = ["shine"]
    with pytest.raises(InputError, match="shine"):
        run_sheet_csv(build_facts)


@pytest.mark.parametrize("make", [run_sheet_html, run_sheet_csv])
def test_a_sheet_needs_a_build(build_facts, make):
    del build_facts["build"]
    with pytest.raises(InputError, match="no build"):
        make(build_facts)


def test_the_sheet_holds_what_the_bench_needs(build_facts, marks):
    page = marks(run_sheet_html(build_facts))
    text = page.text.replace("\u00a0", " ")
    for said in (
        "B07 of run R05",
        "102.5 %",
        "261 °C",
        "Dried at 65 °C for 6 h",
        "humidity there",
        "Notes",
        "burn",
    ):
        assert said in text
    varied = [attrs for attrs in page.named("div") if attrs.get("class") == "varied"]
    assert len(varied) == 4


def test_the_tester_sees_codes_in_test_order_and_no_build(build_facts):
    printed, tested = run_sheet_html(build_facts).split('<div class="sheet-two">')
    assert "KX4" in printed
    assert "bar_z-1" in printed
    places = [tested.index(code) for code in ("PD7", "HM9", "KX4")]
    assert places == sorted(places)
    assert not any(word in tested for word in ("B07", "R05", "bar_z-1", "261"))


def test_without_codes_the_sheet_says_that_it_is_not_blinded(build_facts, marks):
    del build_facts["specimens"][1]["code"]
    text = marks(run_sheet_html(build_facts)).text
    assert "not blinded" in text
    assert "in this order" not in text


def test_hostile_names_are_text(build_facts, marks):
    build_facts["build"]["build"] = build_facts["specimens"][0]["specimen"] = "<script>x</script>"
    page = marks(run_sheet_html(build_facts))
    assert page.named("script") == []
    assert page.text.count("<script>x</script>") >= 2


def test_a_material_that_needs_no_drying_is_not_dried_at_nought_degrees(build_facts):
    build_facts["material"]["drying"] = {"temperature_c": 0.0, "hours": 0.0}
    page = run_sheet_html(build_facts)
    assert "No drying is usual for this material" in page
    assert "Dried at" not in page


def test_a_chamber_that_is_not_heated_is_nothing_to_set(build_facts, marks):
    for celsius, told in ((0.0, False), (60.0, True)):
        build_facts["build"]["settings"]["chamber_c"] = celsius
        assert ("chamber temperature" in marks(run_sheet_html(build_facts)).text) == told
