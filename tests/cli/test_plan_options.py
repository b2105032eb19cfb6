"""Sessions, repeats, model and whole plots as `plan` takes and tells them; names that would command the terminal."""

from itertools import chain

import pytest

from voidless.cli.answer import printable

HARD = """[campaign]
name = "invented"
material = "petg"
machine = "bench-0.4"
[factors.flow_pct]
low = 90.0
high = 110.0
[factors.nozzle_c]
low = 210.0
high = 260.0
hard_to_change = true
[specifications.clarity]
min = 0.66
[objective]
minimise = "build_min"
[limits]
builds = 12
"""


@pytest.fixture
def hard(tmp_path, voidless):
    (tmp_path / "hard.toml").write_text(HARD, encoding="utf-8")
    voidless.json("new", tmp_path / "hard", "--from", tmp_path / "hard.toml")
    return tmp_path / "hard"


def test_each_session_repeats_a_run(campaign, voidless):
    rows = voidless.json("plan", campaign, "--runs", 10, "--sessions", 2, "--seed", 1)["runs"]
    days = {day: {row["run"] for row in rows if row["block"] == day} for day in (1, 2)}
    assert len(rows) == 10
    assert days[1] & days[2]


def test_repeats_are_as_asked(campaign, voidless):
    rows = voidless.json("plan", campaign, "--design", "central-composite", "--repeats", 4, "--seed", 1)[
        "runs"
    ]
    times = [row["run"] for row in rows]
    assert max(times.count(run) for run in times) == 5


def test_a_smaller_model_has_fewer_terms(campaign, voidless):
    found = voidless.json("plan", campaign, "--design", "d-optimal", "--model", "linear", "--seed", 1)
    assert all("^" not in term and ":" not in term for term in found["terms"])


def test_whole_plots_name_builds_of_one_level(hard, voidless):
    found = voidless.json("plan", hard, "--design", "d-optimal", "--runs", 12, "--seed", 3)
    nozzle = {row["build"]: row["settings"]["nozzle_c"] for row in found["runs"]}
    assert sorted(chain.from_iterable(found["whole_plots"])) == sorted(nozzle)
    assert all(len({nozzle[build] for build in plot}) == 1 for plot in found["whole_plots"])
    assert len(found["whole_plots"]) < 12


def test_builds_that_the_budget_does_not_hold_are_told(hard, voidless):
    found = voidless.json("plan", hard, "--design", "ladder", "--runs", 4, "--seed", 3)
    assert len(found["runs"]) == 4
    assert found["dropped"]
    assert all(set(row) == {"flow_pct", "nozzle_c"} for row in found["dropped"])


def test_control_characters_are_written_out():
    assert printable("a\x1b[31mred\nmm²") == "a\\x1b[31mred\nmm²"


def test_every_planned_build_says_in_one_sentence_what_it_is_for(planned, voidless):
    """`next` lists the builds that are still open; the repeated run is explained once."""
    reasons = {row["run"]: row["reason"] for row in voidless.json("next", planned)["runs"]}
    assert all(reason.endswith(".") and len(reason.split()) > 5 for reason in reasons.values())
    (repeated,) = [
        run for run, reason in reasons.items() if "shows how builds of the same settings" in reason
    ]
    _, out, _ = voidless("next", planned)
    assert out.count(f"{repeated}: Printed ") == 1
