"""Stored results are derived anew from raw files and kept answers; what is new rules, what was stays on record."""

from dataclasses import replace

import pytest

from voidless.records.store import Store
from voidless.workflows import read as reading
from voidless.workflows.decoding import decoded_files

BARS = "Time [s],Force [N],Travel [mm]\n" + "".join(
    f"{0.1 * k:.1f},{min(12.0 * k, 600.0):.1f},{0.01 * k:.2f}\n" for k in range(60)
)
BENT = BARS.replace("12.0", "11.0")


def _older(monkeypatch, factor):
    """Make `read` reduce as an older program did, whose strengths were off by a factor."""

    def take(opened, files, answers):
        return [
            replace(
                found,
                observations=tuple(replace(item, value=item.value * factor) for item in found.observations),
            )
            for found in decoded_files(opened, files, answers)
        ]

    monkeypatch.setattr(reading, "decoded_files", take)


@pytest.fixture
def bars(voidless, planned, tmp_path):
    """Two curves of one folder, read with a section by answer."""
    folder = tmp_path / "trials"
    folder.mkdir()
    (folder / "z_1.csv").write_text(BARS, encoding="utf-8")
    (folder / "z_2.csv").write_text(BENT, encoding="utf-8")
    return lambda: voidless.json("read", planned, folder, "--section", "z=30")


def _strengths(folder, *, current=True):
    with Store.open(folder) as store:
        return {
            (row.specimen, round(row.value, 6)) for row in store.observations(current=current)
            if row.key.quantity == "strength_z_mpa"
        }  # fmt: skip


def test_the_same_program_finds_the_same(voidless, planned, bars):
    bars()
    before = _strengths(planned)
    found = voidless.json("read", planned, "--again")
    assert [file["status"] for file in found["files"]] == ["same", "same"]
    assert _strengths(planned, current=False) == before == {("z_1", 20.0), ("z_2", 20.0)}


def test_a_newer_program_derives_from_the_raw_files_with_the_answers_of_then(
    voidless, planned, bars, monkeypatch
):
    _older(monkeypatch, 1.02)
    bars()
    monkeypatch.undo()
    dry = voidless.json("read", planned, "--again", "--dry")
    assert {file["status"] for file in dry["files"]} == {"changed"}
    assert _strengths(planned) == {("z_1", 20.4), ("z_2", 20.4)}
    found = voidless.json("read", planned, "--again")
    (change,) = [row for row in found["files"][0]["changes"] if row["response"] == "strength_z_mpa"]
    assert (change["before"], change["after"]) == (pytest.approx(20.4), pytest.approx(20.0))
    assert _strengths(planned) == {("z_1", 20.0), ("z_2", 20.0)}
    assert ("z_1", 20.4) in _strengths(planned, current=False)


def test_a_change_of_the_uncertainty_alone_is_seen(voidless, planned, bars):
    bars()
    answer = ("--again", "z_1.csv", "--fact", "force_uncertainty_pct=5")
    _, out, _ = voidless("read", planned, *answer, "--dry")
    (line,) = [line for line in out.splitlines() if "strength_z_mpa" in line]
    assert "20 ± " in line
    found = voidless.json("read", planned, *answer)
    (change,) = [row for row in found["files"][0]["changes"] if row["response"] == "strength_z_mpa"]
    assert change["before"] == change["after"]
    assert change["uncertainty_before"] < 1.0 <= change["uncertainty"]


def test_an_answer_is_corrected_without_the_file(voidless, planned, bars):
    bars()
    voidless.json("read", planned, "--again", "z_1.csv", "--section", "z=25")
    assert _strengths(planned) == {("z_1", 24.0), ("z_2", 20.0)}
    voidless.json("read", planned, "--again")  # each with its own answers from then on
    assert _strengths(planned) == {("z_1", 24.0), ("z_2", 20.0)}


def test_what_is_no_longer_given_is_withdrawn_and_what_is_new_comes(voidless, planned, bars, monkeypatch):
    def take(opened, files, answers):
        return [replace(found, observations=()) for found in decoded_files(opened, files, answers)]

    monkeypatch.setattr(reading, "decoded_files", take)
    bars()
    monkeypatch.undo()
    with Store.open(planned) as store:
        few = len(store.observations())
    found = voidless.json("read", planned, "--again")
    assert {row["before"] for file in found["files"] for row in file["changes"]} == {None}
    with Store.open(planned) as store:
        assert len(store.observations()) > few
        full = len(store.observations())
    from voidless.workflows import again

    monkeypatch.setattr(again, "decoded_files", take)
    gone = voidless.json("read", planned, "--again")
    assert {row["after"] for file in gone["files"] for row in file["changes"]} == {None}
    with Store.open(planned) as store:
        assert (len(store.observations()), len(store.observations(current=False))) == (few, full)


def test_what_a_failed_check_made_of_a_result_is_made_again(voidless, planned, bars, monkeypatch):
    """A cell that reads 2 % high: 20.4 read by the older program, 20/1.02 at last."""
    _older(monkeypatch, 1.02)
    bars()
    monkeypatch.undo()
    for fact in (
        ("instrument", "instrument=CELL"),
        ("used", "instrument=CELL", "file=z_1.csv", "response=strength_z_mpa", "power=1", "at=2031-03-05"),
        ("check", "instrument=CELL", "at=2031-03-01", "passed=yes"),
        ("check", "instrument=CELL", "at=2031-03-09", "passed=no", "gain=1.02"),
    ):
        voidless.json("log", planned, *fact)
    assert ("z_1", 20.0) in _strengths(planned)
    voidless.json("read", planned, "--again")
    assert ("z_1", round(20 / 1.02, 6)) in _strengths(planned)


def test_a_corrected_file_is_left_alone(voidless, planned, bars, tmp_path):
    bars()
    (tmp_path / "z_3.csv").write_text(BARS + "6.0,630.0,0.60\n", encoding="utf-8")
    voidless.json("read", planned, tmp_path / "z_3.csv", "--section", "z=30", "--replaces", "z_1.csv")
    found = voidless.json("read", planned, "--again")
    assert sorted(file["file"].rpartition("/")[2] for file in found["files"]) == ["z_2.csv", "z_3.csv"]


def test_a_question_changes_nothing(voidless, planned, tmp_path):
    (tmp_path / "z_1.csv").write_text(BARS.replace("Force [N]", "Force"), encoding="utf-8")
    voidless.json("read", planned, tmp_path / "z_1.csv", "--section", "z=30", "--unit", "Force=N")
    before = _strengths(planned)
    found = voidless.json("read", planned, "--again", "--as", "flexure_curve=z_1*")
    assert found["files"][0]["status"] == "question"
    assert _strengths(planned) == before


def test_again_and_no_file_are_said(voidless, planned):
    assert "no file is named" in voidless.json("read", planned, status=2)["error"]["what"]
    fault = voidless.json("read", planned, "--again", "--replaces", "x.csv", status=2)["error"]
    assert "one of the two" in fault["expected"]
    assert (
        "names 0 stored files"
        in voidless.json("read", planned, "--again", "x.csv", status=2)["error"]["what"]
    )


TABLE = "run,build,specimen,response,value,unit,exposure_h,build_outcome,session\n" + "".join(
    f"{{}},B0{k},s1,clarity,0.6,1,{k}.5,ok,monday\n" for k in (1, 2)
)


def _facts(folder):
    with Store.open(folder) as store:
        return {(fact.build, fact.name): fact.value for fact in store.build_facts()}


def test_facts_of_builds_are_said_anew_and_a_persons_word_stands(voidless, planned, tmp_path, monkeypatch):
    """An older program read exposures half as long and missed the outcome; a person has corrected one since."""

    def take(opened, files, answers):
        return [
            replace(
                found,
                build_facts=tuple(
                    replace(item, exposure_h=item.exposure_h / 2, outcome=None, session="")
                    for item in found.build_facts
                ),
            )
            for found in decoded_files(opened, files, answers)
        ]

    monkeypatch.setattr(reading, "decoded_files", take)
    with Store.open(planned) as store:
        runs = {build.label: build.run for build in store.builds()}
    (tmp_path / "t.csv").write_text(TABLE.format(runs["B01"], runs["B02"]), encoding="utf-8")
    voidless.json("read", planned, tmp_path / "t.csv")
    monkeypatch.undo()
    voidless.json("log", planned, "build", "build=B02", "exposure_h=7")
    dry = voidless.json("read", planned, "--again", "--dry")["files"][0]
    assert dry["status"] == "changed"
    assert {(row["build"], row["fact"]): (row["before"], row["after"]) for row in dry["build_facts"]} == {
        ("B01", "exposure_h"): (0.75, 1.5),
        ("B01", "outcome"): (None, "ok"),
        ("B02", "outcome"): (None, "ok"),
        ("B01", "session"): (None, "monday"),
        ("B02", "session"): (None, "monday"),
    }
    assert _facts(planned)["B01", "exposure_h"] == 0.75
    status, out, _ = voidless("read", planned, "--again")
    assert status == 0
    assert "B01 exposure_h: 0.75 -> 1.5" in out
    facts = _facts(planned)
    assert (facts["B01", "exposure_h"], facts["B02", "exposure_h"]) == (1.5, 7.0)
    assert facts["B01", "session"] == facts["B02", "session"]
    assert voidless.json("read", planned, "--again")["files"][0]["status"] == "same"
