"""Confirmation builds through files and JSON: planned, measured, judged; those that chose the recipe do not count."""

import csv
from pathlib import Path

import numpy as np
import pytest


def rows_of(lab, rows, rng, spoil=None):
    """Return result rows of builds, two plaques a build."""
    found = []
    for row in rows:
        mean = lab(row["settings"])
        for part in (1, 2):
            value = mean + rng.normal(0, 0.004) if spoil is None else spoil
            found.append([row["run"], row["build"], f"plaque_{part}", "clarity", f"{value:.4f}", ""])
    return found


def write(path, rows):
    with path.open("w", newline="", encoding="utf-8") as stream:
        csv.writer(stream).writerows([["run", "build", "specimen", "response", "value", "unit"], *rows])
    return path


CAMPAIGN = Path(__file__).parents[1] / "data/clear-by-flow/campaign.toml"


def lab(settings):
    return 0.75 - ((settings["flow_pct"] - 102.0) / 20.0) ** 2


def start(tmp_path, voidless, rng):
    text = CAMPAIGN.read_text(encoding="utf-8")
    (tmp_path / "c.toml").write_text(f"{text}[limits]\nbuilds = 30\n", encoding="utf-8")
    folder = tmp_path / "campaign"
    voidless.json("new", folder, "--from", tmp_path / "c.toml")
    rows = voidless.json("plan", folder, "--seed", 1)["runs"]
    voidless.json("read", folder, write(tmp_path / "first.csv", rows_of(lab, rows, rng)))
    return folder


@pytest.mark.slow
def test_a_good_recipe_is_proven_by_builds_of_its_own(tmp_path, voidless):
    rng = np.random.default_rng(5)
    folder = start(tmp_path, voidless, rng)
    before = voidless.json("prove", folder)
    assert (before["verdict"], before["findings"], before["builds"]) == ("not tested", [], [])

    planned = voidless.json("prove", folder, "--plan")
    assert 3 <= len(planned["runs"]) <= 12
    assert len({row["run"] for row in planned["runs"]}) == 1
    assert voidless.json("prove", folder, "--plan")["runs"] == planned["runs"]
    waiting = voidless.json("prove", folder)
    assert (waiting["verdict"], waiting["reason"]) == ("too few", "None of these builds has a result yet.")

    voidless.json("read", folder, write(tmp_path / "second.csv", rows_of(lab, planned["runs"], rng)))
    after = voidless.json("prove", folder)
    (finding,) = after["findings"]
    assert after["verdict"] == "proven"
    assert finding["builds"] == len(planned["runs"])
    assert finding["parts"] == 2 * finding["builds"]
    assert 0.6 < finding["bound_low"] < finding["mean"]
    assert "fully fused" in " ".join(after["notes"])
    (sheet,) = voidless.json("sheet", folder)["files"]
    page = Path(sheet["path"]).read_text(encoding="utf-8")
    assert "Confirmed by builds of their own: proven" in page
    assert planned["runs"][0]["build"] in page
    assert "PETG" in page

    kinds = [row["kind"] for row in after["details"]]
    assert kinds[:4] == ["between_builds", "within_builds", "agreement", "capability"]
    equal = ("--equal", f"clarity={finding['mean']:.3f},sd=0.004,n=20,margin=0.03")
    *_, last = voidless.json("prove", folder, *equal)["details"]
    assert (last["kind"], last["words"][:8]) == ("equivalence", "equal to")
    fault = voidless.json("prove", folder, "--equal", "clarity=0.7", status=2)["error"]
    assert fault["where"] == "voidless prove --equal"


@pytest.mark.slow
def test_a_build_that_failed_is_not_forgotten(tmp_path, voidless):
    rng = np.random.default_rng(5)
    folder = start(tmp_path, voidless, rng)
    rows = voidless.json("prove", folder, "--plan", "--builds", 7)["runs"]
    voidless.json("read", folder, write(tmp_path / "second.csv", rows_of(lab, rows[:-1], rng)))
    assert voidless.json("prove", folder)["verdict"] == "proven"
    voidless.json("log", folder, "build", f"build={rows[-1]['build']}", "outcome=clogged")
    after = voidless.json("prove", folder)
    assert (after["verdict"], after["failed"]) == ("not proven", [rows[-1]["build"]])
    assert after["findings"][0]["state"] == "shown"


@pytest.mark.slow
def test_a_recipe_that_fails_when_printed_again_is_contradicted(tmp_path, voidless):
    rng = np.random.default_rng(6)
    folder = start(tmp_path, voidless, rng)
    rows = voidless.json("prove", folder, "--plan", "--builds", 4)["runs"]
    assert len(rows) == 4
    bad = [row for k, one in enumerate(rows) for row in rows_of(lab, [one], rng, spoil=0.40 + 0.01 * k)]
    voidless.json("read", folder, write(tmp_path / "bad.csv", bad))
    found = voidless.json("prove", folder)
    assert (found["verdict"], found["reason"]) == (
        "contradicted",
        "Outside its limits at this recipe: clarity.",
    )


def test_nothing_measured_or_a_number_out_of_range_is_refused(campaign, voidless):
    assert voidless.json("prove", campaign, status=2)["error"]["what"] == "nothing has been measured"
    fault = voidless.json("prove", campaign, "--confidence", "2", status=2)["error"]
    assert fault["expected"] == "0.5 to 0.999"
    assert voidless.json("prove", campaign, "--plan", "--builds", "0", status=2)["error"]["what"] == "0"
