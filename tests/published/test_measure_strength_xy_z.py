"""
Strengths of 21 filaments pulled along the layers and through them.

Source: tests/data/strength-xy-z (see SOURCE.txt there): curves of a hand-pulled rig and the summaries that it
printed. Tolerances: 0.02 N as the source states for its maxima; half of the last printed digit for strengths.
"""

from pathlib import Path

import pytest

from voidless.campaign.types import Bound
from voidless.measure.results import Answers, Kind, RawFile, Status
from voidless.measure.take import take_files

DATA = Path(__file__).parents[1] / "data" / "strength-xy-z"
FILAMENTS = sorted(folder.name for folder in DATA.iterdir() if folder.is_dir())
WITHOUT_SECTION = ("filament-04", "filament-20")
EARLIER = {"08": 2, "10": 4, "13": 4, "17": 4}
"""Blocks of earlier sessions in the same summary, counted by hand."""


@pytest.fixture(scope="module")
def results():
    """All files read in one go, with the sections that 04 and 20 leave out (force over strength)."""
    files = [
        RawFile(f"{path.parent.name}/{path.name}", path.read_bytes()) for path in sorted(DATA.glob("*/*"))
    ]
    return take_files(files, Answers(sections={"xy": 20.0, "z": 30.0}))


def _of(results, filament, kind):
    return [item for item in results if item.file.startswith(filament + "/") and item.taken_for is kind]


def test_all_21_are_there():
    assert len(FILAMENTS) == 21


@pytest.mark.parametrize("filament", FILAMENTS)
def test_last_session_of_each_direction(results, filament):
    """Each trial's maximum within 0.02 N, and the mean strength to the printed digit."""
    summary = _of(results, filament, Kind.STRENGTH_SUMMARY)[0]
    assert summary.status is Status.OK
    assert sorted(item["direction"] for item in summary.reduced) == ["xy", "z"]
    for item in summary.reduced:
        assert item["curves"] == len(item["printed"]) == 5
        for trial, printed in item["printed"].items():
            assert item["trials"][trial] == pytest.approx(printed, abs=0.02)
        assert item["strength_mpa"] == pytest.approx(item["printed_strength_mpa"], abs=0.005)
        assert item["mean_force_n"] == pytest.approx(item["printed_mean_force_n"], abs=0.005)
        assert item["disagreements"] == []
    assert summary.observations == ()


@pytest.mark.parametrize("filament", FILAMENTS)
def test_every_curve_gives_one_strength_by_the_method_maximum(results, filament):
    summary = _of(results, filament, Kind.STRENGTH_SUMMARY)[0]
    printed = {item["direction"]: item["printed_strength_mpa"] for item in summary.reduced}
    curves = _of(results, filament, Kind.MACHINE_CURVE)
    for direction, mean in printed.items():
        found = [
            item
            for curve in curves
            for item in curve.observations
            if item.key.quantity == f"strength_{direction}_mpa"
        ]
        assert len(found) == 5
        assert {(item.key.method, item.bound, item.run, item.build) for item in found} == {
            ("maximum", Bound.EXACT, "", "")
        }
        assert sum(item.value for item in found) / 5 == pytest.approx(mean, abs=0.005)


@pytest.mark.parametrize("filament", FILAMENTS)
def test_earlier_sessions_are_not_pooled(results, filament):
    summary = _of(results, filament, Kind.STRENGTH_SUMMARY)[0]
    earlier = sum(len(item["earlier"]) for item in summary.reduced)
    assert earlier == EARLIER.get(filament[9:11], 0)


def test_sections_that_no_file_states_are_asked_for():
    files = [
        RawFile(f"{path.parent.name}/{path.name}", path.read_bytes()) for path in sorted(DATA.glob("*/*"))
    ]
    asked = {item.file.split("/")[0] for item in take_files(files) if item.status is not Status.OK}
    assert asked == {name for name in FILAMENTS if name.startswith(WITHOUT_SECTION)}
    first = next(item for item in take_files(files[-30:]) if item.status is Status.QUESTION)
    assert first.questions[0].option.startswith("--section ")
    assert first.observations == ()


def test_second_units_that_are_wrong_are_listed(results):
    """09 and 13 print the mean force in lb-ft, a torque: said, and not read."""
    said = {
        item.file[9:11]
        for item in results
        for word in item.warnings
        if "second units" in word and "lb-ft" in word
    }
    assert said == {"09", "13"}


def test_a_folder_in_a_zip_reads_as_the_folder():
    import io
    import zipfile

    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as made:
        for path in (DATA / FILAMENTS[0]).iterdir():
            made.writestr(f"{FILAMENTS[0]}/{path.name}", path.read_bytes())
    found = take_files([RawFile("all.zip", held.getvalue())])[0]
    assert (found.taken_for, found.status, len(found.observations)) == (Kind.ARCHIVE, Status.OK, 10)
