"""
Exports of test machines read into a campaign: units and sections of the header rule; what is not stated is asked.

Sources: tests/data/machine-files-* (SOURCE.txt in each). Values: the files' own headers, rows and sheets of results, as
tests/published/test_measure_machine_files.py lists them; exact as printed.
"""

from pathlib import Path

import pytest

DATA = Path(__file__).parents[1] / "data"
STATED = [
    ("machine-files-dialects/text/Allong 1.TRA", 2443.02, 5.96),
    ("machine-files-dialects/text/Invar_LT_05_01.TRA", 7407.26, 7.335),
    ("machine-files-dialects/text/mDB1pct.TRA", 3708.59, 6.3812),
    ("machine-files-dialects/xlsx/export-1.xlsx", 8656.8798828125, 1.36 * 5.99),
    ("machine-files-dialects/xlsx/export-2.xlsx", 9645.828125, 8.76),
]
ASKED = [
    ("machine-files-small-stage/FRTEST_007.MTR", "--unit", ("--unit", "Force=N,Thickness=mm,Width=mm"), 5.0),
    ("machine-files-small-stage/FRTEST_008.MTR", "--unit", ("--unit", "Force=N", "--section", "4.5"), 4.5),
    ("machine-files-acrylic/Acrylic.dat", "--section", ("--section", "30"), 30.0),
    ("machine-files-acrylic/Aluminium.dat", "--section", ("--section", "Aluminium=30"), 30.0),
]


def _stored(folder):
    return sorted(path.name for path in (folder / "raw").glob("*/*"))


@pytest.mark.parametrize(("name", "top_n", "section_mm2"), STATED)
def test_stated_units_and_sections_rule(voidless, planned, name, top_n, section_mm2):
    """A section given beside does not displace the one that the file states."""
    (entry,) = voidless.json("read", planned, DATA / name, "--section", "1000")["files"]
    assert (entry["taken_for"], entry["status"]) == ("machine_curve", "stored")
    (reduced,) = entry["reduced"]
    assert reduced["max_force_n"] == top_n
    assert reduced["section_mm2"] == pytest.approx(section_mm2, rel=1e-12)
    assert reduced["strength_mpa"] == pytest.approx(top_n / section_mm2, rel=1e-12)
    assert "header" in reduced["section_from"]
    assert [row["response"] for row in entry["results"]] == ["max_force_n"]
    assert any("direction not known" in note for note in entry["warnings"])


@pytest.mark.parametrize(("name", "option", "answer", "section_mm2"), ASKED)
def test_what_is_not_stated_is_asked_and_nothing_is_stored(
    voidless, planned, name, option, answer, section_mm2
):
    asked = voidless.json("read", planned, DATA / name, status=2)
    assert asked["error"]["expected"].startswith(option)
    assert asked["files"][0]["status"] == "question"
    assert asked["files"][0]["results"] == []
    assert _stored(planned) == []
    (entry,) = voidless.json("read", planned, DATA / name, *answer)["files"]
    assert entry["status"] == "stored"
    assert entry["reduced"][0]["section_mm2"] == section_mm2
    assert len(_stored(planned)) == 1


def test_other_answers_to_a_stored_file_are_not_lost_in_silence(voidless, planned):
    """The direction said later gives a strength: the first reading stands, and it is said how to replace it."""
    path = DATA / "machine-files-acrylic" / "Acrylic.dat"
    voidless.json("read", planned, path, "--section", "30")
    (entry,) = voidless.json("read", planned, path, "--section", "xy=30")["files"]
    assert entry["status"] == "already_stored"
    assert any("--replaces" in note for note in entry["warnings"])
    again = voidless.json("read", planned, path, "--section", "xy=30", "--replaces", "Acrylic.dat")
    assert [row["response"] for row in again["files"][0]["results"]] == ["strength_xy_mpa"]
    assert voidless.json("learn", planned)["strength"][0]["n_xy"] == 1
