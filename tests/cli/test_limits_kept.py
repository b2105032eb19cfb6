"""Confirmation builds keep within the campaign's limits, and a campaign that may stop gets no builds."""

import csv
from pathlib import Path

import numpy as np
import pytest

CAMPAIGN = Path(__file__).parents[1] / "data/clear-by-flow/campaign.toml"


def lab(settings):
    return 0.75 - ((settings["flow_pct"] - 102.0) / 20.0) ** 2


def started(tmp_path, voidless, limits):
    rng, folder = np.random.default_rng(5), tmp_path / "campaign"
    text = CAMPAIGN.read_text(encoding="utf-8")
    (tmp_path / "c.toml").write_text(f"{text}[limits]\n{limits}\n", encoding="utf-8")
    voidless.json("new", folder, "--from", tmp_path / "c.toml")
    rows = voidless.json("plan", folder, "--runs", 6, "--seed", 1)["runs"]
    read(tmp_path, voidless, folder, rows, rng)
    return folder, rows, rng


def read(tmp_path, voidless, folder, rows, rng):
    table = tmp_path / f"{rows[0]['build']}.csv"
    with table.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.writer(stream)
        writer.writerow(["run", "build", "specimen", "response", "value", "unit"])
        for row in rows:
            value = lab(row["settings"]) + rng.normal(0, 0.004)
            writer.writerow([row["run"], row["build"], "1", "clarity", f"{value:.4f}", ""])
    voidless.json("read", folder, table)


@pytest.mark.slow
def test_confirmation_builds_keep_within_the_limits(tmp_path, voidless):
    folder, rows, _ = started(tmp_path, voidless, "builds = 20")
    file = folder / "campaign.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("builds = 20", f"builds = {len(rows)}"), encoding="utf-8")
    error = voidless.json("prove", folder, "--plan", status=2)["error"]
    assert error["what"] == f"limits.builds ({len(rows)}) leaves no room for a confirmation build"
    file.write_text(text.replace("builds = 20", f"builds = {len(rows) + 2}"), encoding="utf-8")
    planned = voidless.json("prove", folder, "--plan", "--builds", "5")
    assert len(planned["runs"]) == 2
    said = f"limits.builds ({len(rows) + 2}) leaves room for 2 of the 5 confirmation builds"
    assert any(note.startswith(said) for note in planned["notes"])


@pytest.mark.slow
def test_grams_and_hours_count_too(tmp_path, voidless):
    folder, rows, _ = started(tmp_path, voidless, "builds = 20")
    used = sum(row["grams"] for row in rows)
    text = (folder / "campaign.toml").read_text(encoding="utf-8")
    some = used + 3.5 * rows[0]["grams"]
    (folder / "campaign.toml").write_text(
        text.replace("builds = 20", f"grams = {some:.3f}"), encoding="utf-8"
    )
    planned = voidless.json("prove", folder, "--plan", "--builds", "9")
    assert 2 <= len(planned["runs"]) <= 4
    assert any("limits.grams (" in note and "leaves room for" in note for note in planned["notes"])


@pytest.mark.slow
def test_a_campaign_that_may_stop_stores_no_builds(tmp_path, voidless):
    folder, _, rng = started(tmp_path, voidless, "builds = 40")
    for _ in range(8):
        answer = voidless.json("next", folder, "--count", 2)
        if answer["stop"]:
            break
        assert answer["runs"]
        read(tmp_path, voidless, folder, answer["runs"], rng)
    assert answer["stop"]
    assert answer["runs"] == []
    assert voidless.json("next", folder)["runs"] == []
    assert answer["cautions"] == []


@pytest.mark.slow
def test_next_keeps_within_hours_and_attended_hours(tmp_path, voidless):
    """Print hours are attended hours; before, `attended_hours` was read and never counted, and a batch passed both."""
    folder, rows, _ = started(tmp_path, voidless, "builds = 40")
    used, each = sum(row["build_min"] for row in rows) / 60.0, rows[0]["build_min"] / 60.0
    file = folder / "campaign.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(
        text.replace("builds = 40", f"attended_hours = {used + 0.4 * each:.4f}"), encoding="utf-8"
    )
    none = voidless.json("next", folder, "--count", 2)
    assert (none["stop"], none["runs"]) == (True, [])
    assert none["reason"].startswith("limits.attended_hours (")
    proof = voidless.json("prove", folder, "--plan", status=2)["error"]
    assert "limits.attended_hours" in proof["what"]
    room = 2.5 * each
    file.write_text(text.replace("builds = 40", f"hours = {used + room:.4f}"), encoding="utf-8")
    found = voidless.json("next", folder, "--count", 8)["runs"]
    assert 1 <= len(found) < 8
    assert sum(row["build_min"] for row in found) / 60.0 <= room
    file.write_text(text.replace("builds = 40", f"attended_hours = {0.9 * used:.4f}"), encoding="utf-8")
    assert "attended hours is reached" in voidless.json("next", folder)["reason"]


def test_a_plan_keeps_within_attended_hours(campaign, voidless):
    file = campaign / "campaign.toml"
    text = file.read_text(encoding="utf-8").replace("[limits]\n", "[limits]\nattended_hours = 3.0\n")
    file.write_text(text, encoding="utf-8")
    rows = voidless.json("plan", campaign, "--runs", 20)["runs"]
    assert 1 <= len(rows) < 20
    assert sum(row["build_min"] for row in rows) <= 180.0
