"""
Strengths of 21 filaments, read into campaigns through the command line as a person would.

Source: tests/data/strength-xy-z (SOURCE.txt there; BSD-3-Clause): curves of a hand-pulled rig and the summaries that
it printed. The summaries are parsed here again, apart from the program's own reader. Tolerances: 0.02 N as the source
states for its maxima; half of the last printed digit for mean forces and strengths.
"""

import io
import json
import re
import shutil
from pathlib import Path

import numpy as np
import pytest

from voidless.cli.app import run

DATA = Path(__file__).parents[1] / "data" / "strength-xy-z"
FILAMENTS = sorted(folder.name for folder in DATA.iterdir() if folder.is_dir())
SECTIONS = {
    "filament-04_PETG-CF": {"xy": 20.0, "z": 30.0},
    "filament-20_PA-copolymer": {"xy": 20.0, "z": 30.0},
}
"""Sections that no file of the folder states [mm2]; SOURCE.txt: force over strength."""
UNKNOWN = "builds not recorded, between-build scatter unknown"
CAMPAIGN = """
[campaign]
name = "strengths"
material = "petg"
machine = "bench-0.4"
[factors.nozzle_c]
low = 220.0
high = 250.0
[specifications.z_ratio]
min = 0.5
"""


def voidless(*arguments, status=0):
    """Return the JSON object of a command whose exit status must be `status`."""
    out = io.StringIO()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("sys.stdout", out)
        found = run([*map(str, arguments), "--json"])
    assert found == status, out.getvalue()
    assert out.getvalue().count("\n") == 1
    return json.loads(out.getvalue())


def printed(filament):
    """Return the last block of each axis of a summary: section, trials, mean force and strength as printed."""
    text = (DATA / filament / "summary.txt").read_text(encoding="utf-8")
    blocks = text.split("=== Test Summary ===")[1:]
    last = {re.search(r"Axis: (\w+)", block)[1]: block for block in blocks}
    found = {}
    for axis, block in last.items():
        section = re.search(r"area: ([\d.]+)", block)
        found[axis] = {
            "section": float(section[1]) if section else SECTIONS[filament][axis],
            "trials": {int(n): float(v) for n, v in re.findall(r"Trial (\d+): ([\d.]+) N", block)},
            "mean_n": float(re.search(r"Average max force.*?: ([\d.]+) N", block)[1]),
            "mpa": float(re.search(r"Tensile strength.*?: ([\d.]+) MPa", block)[1]),
        }
    return found


@pytest.fixture(scope="module")
def empty(tmp_path_factory):
    """A fresh campaign; tests work on copies."""
    folder = tmp_path_factory.mktemp("strengths")
    (folder / "c.toml").write_text(CAMPAIGN, encoding="utf-8")
    voidless("new", folder / "campaign", "--from", folder / "c.toml")
    return folder / "campaign"


@pytest.fixture
def campaign(empty, tmp_path):
    """A fresh campaign of the test's own."""
    return Path(shutil.copytree(empty, tmp_path / "campaign"))


def answers(filament):
    """Return the options that answer what the folder leaves open."""
    return ("--section", "xy=20,z=30") if filament in SECTIONS else ()


def check(files, summary, filament):
    """Assert that curves and summary row say what the rig printed."""
    table = printed(filament)
    assert set(table) == {"xy", "z"}
    curves = [entry for entry in files if entry["taken_for"] == "machine_curve"]
    assert len(curves) == sum(len(block["trials"]) for block in table.values())
    for entry in curves:
        axis, trial = re.search(r"/(xy|z)-trial-(\d+)", entry["file"]).groups()
        (row,) = entry["results"]
        assert row["response"] == f"strength_{axis}_mpa"
        assert (row["method"], row["bound"], row["build"]) == ("maximum", "exact", "")
        force = row["value"] * table[axis]["section"]
        assert force == pytest.approx(table[axis]["trials"][int(trial)], abs=0.02), entry["file"]
    (row,) = [row for row in summary if row["group"] == filament]
    for axis, block in table.items():
        assert row[f"n_{axis}"] == len(block["trials"])
        assert row[f"{axis}_mean"] == pytest.approx(block["mpa"], abs=0.005)
        assert row[f"{axis}_mean"] * block["section"] == pytest.approx(block["mean_n"], abs=0.005 + 0.02)
    assert row["ratio"] == pytest.approx(table["z"]["mpa"] / table["xy"]["mpa"], abs=0.0005)
    assert 0 < row["low"] < row["ratio"] < row["high"]
    assert UNKNOWN in row["note"]
    assert UNKNOWN in row["text"]


@pytest.mark.parametrize("filament", FILAMENTS)
def test_folder_reproduces_the_last_session_of_each_axis(campaign, filament):
    if filament in SECTIONS:
        asked = voidless("read", campaign, DATA / filament, status=2)
        assert "--section" in asked["error"]["expected"]
        assert {entry["status"] for entry in asked["files"]} == {"question"}
        assert not list((campaign / "raw").glob("*/*"))
    answer = voidless("read", campaign, DATA / filament, *answers(filament))
    assert {entry["status"] for entry in answer["files"]} == {"stored"}
    check(answer["files"], answer["summary"], filament)
    again = voidless("read", campaign, DATA / filament, *answers(filament))
    assert {entry["status"] for entry in again["files"]} == {"already_stored"}
    check(again["files"], again["summary"], filament)


@pytest.mark.parametrize(("filament", "seed"), [(FILAMENTS[0], None), (FILAMENTS[9], 1), (FILAMENTS[3], 2)])
def test_files_one_by_one_in_any_order_give_the_same(campaign, filament, seed):
    """Sorted, then in two random orders; the summary lies beside the curves all the while."""
    paths = sorted((DATA / filament).iterdir())
    if seed is not None:
        np.random.default_rng(seed).shuffle(paths)
    files = [
        entry for path in paths for entry in voidless("read", campaign, path, *answers(filament))["files"]
    ]
    check(files, voidless("learn", campaign)["strength"], filament)


@pytest.mark.parametrize("filament", [FILAMENTS[0], FILAMENTS[12], FILAMENTS[19]])
def test_files_of_a_folder_named_in_random_order_give_the_same(campaign, filament):
    paths = sorted((DATA / filament).iterdir())
    np.random.default_rng(7).shuffle(paths)
    answer = voidless("read", campaign, *paths, *answers(filament))
    check(answer["files"], answer["summary"], filament)


@pytest.mark.slow
def test_learn_keeps_the_filaments_apart_and_says_what_is_unknown(campaign):
    """All 21 folders in one campaign: one row of strengths per folder, as `read` gave it."""
    answer = voidless("read", campaign, DATA, "--section", "xy=20,z=30")
    learned = voidless("learn", campaign)["strength"]
    rows = {row["group"]: row for row in learned if row["n_xy"] or row["n_z"]}
    assert set(rows) == set(FILAMENTS)
    by_read = {row["group"]: row for row in answer["summary"] if row["n_xy"] or row["n_z"]}
    assert rows.keys() == by_read.keys()
    for group, row in rows.items():
        assert row | {"text": ""} == {
            key: value for key, value in by_read[group].items() if key != "broke"
        } | {"text": ""}
        assert by_read[group]["text"].startswith(row["text"])  # what `read` saw of the breaks comes behind
    for filament in FILAMENTS:
        check(
            [entry for entry in answer["files"] if entry["file"].startswith(filament + "/")],
            learned,
            filament,
        )
