"""The invented campaign, run through every stage as a person would run it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from voidless.demonstration.bench import Bench, Printed
from voidless.demonstration.diary import log_day, log_failure, log_workshop
from voidless.demonstration.story import Found, tell, truth_at
from voidless.demonstration.target import CAMPAIGN
from voidless.errors import ComputationError, InputError
from voidless.workflows.document import write_report
from voidless.workflows.learn import learn_effects
from voidless.workflows.make import make_files
from voidless.workflows.new import new_campaign
from voidless.workflows.plan import plan_builds
from voidless.workflows.propose import next_builds
from voidless.workflows.read import read_files
from voidless.workflows.sheet import write_sheet
from voidless.workflows.window import find_recipe

__all__ = ["run_demo"]

Progress = Callable[[str], None]

_FIRST, _BATCH, _DAYS = 10, 4, 3
_FIRST_DAY = datetime(2031, 5, 5, 7, 0, tzinfo=UTC)
_CONFIDENCE = 0.9
_REFERENCE = {"reference_density_g_cm3": "1.230", "reference_uncertainty_g_cm3": "0.001"}


def run_demo(folder: str | Path, seed: int = 1, progress: Progress = lambda _: None) -> dict[str, Any]:
    """
    Return what the demo found, with its story in plain lines.

    Parameters
    ----------
    folder : path
        A folder that does not exist yet.
    seed : int
        Seed of the invented bench and of the plan.
    progress : callable
        Told of each stage.

    Raises
    ------
    InputError
        The folder is taken, or the seed is below 0.
    """
    if seed < 0:
        raise InputError("voidless demo --seed", f"{seed}", "0 or more", "Choose another seed.")
    folder = Path(folder)
    if folder.exists():
        raise InputError("voidless demo", f"{folder} exists", "a new folder", "Name another folder.")
    folder.mkdir(parents=True)
    found = _campaign(folder, seed, progress)
    truth = truth_at(found, np.random.default_rng([seed, 1]))
    return {
        "schema_version": 1,
        "folder": str(folder),
        "invented": True,
        "story": tell(found, truth),
        "recipe": found.window["recipe"],
        "truth": truth,
        "builds": found.window["builds"],
        "print_hours": found.hours,
        "files": list(found.files),
    }


def _campaign(folder: Path, seed: int, progress: Progress) -> Found:
    """Return what every stage gave, from the target to the report."""
    source, campaign = folder / "beehive-window.toml", folder / "campaign"
    source.write_text(CAMPAIGN, encoding="utf-8")
    progress("new: the target")
    fixed = new_campaign(campaign, source, _FIRST_DAY)["fixed"]
    progress("plan: the first builds")
    rows = plan_builds(campaign, runs=_FIRST, seed=seed, now=_FIRST_DAY)["runs"]
    progress("make: G-code, specimens and run sheets of the first build")
    made = make_files(campaign, [rows[0]["build"]])
    log_workshop(campaign, _FIRST_DAY)
    torn = frozenset({(rows[1]["build"], "bar_z_2")})
    bench = Bench(folder / "bench", np.random.default_rng([seed, 0]), torn)
    planned: list[dict[str, Any]] = []
    printed: list[Printed] = []
    read, failed = 0, ""
    for number in range(1, _DAYS + 1):
        opens = _FIRST_DAY + timedelta(days=number - 1)
        progress(f"print, measure, log (invented): day {number}, {len(rows)} builds")
        session = bench.work(rows, fixed, opens)
        log_day(campaign, number, opens, session.builds)
        planned += rows
        printed += session.builds
        if number == 1:
            failed = log_failure(campaign, rows, printed[-1])
        progress("read: tables, curves, weighings, photos")
        answer = read_files(campaign, session.files, facts=_REFERENCE, now=opens + timedelta(hours=16))
        read += _results(answer)
        if number == _DAYS:
            break
        progress("next: the builds that tell most")
        rows = next_builds(campaign, _BATCH, now=opens + timedelta(days=1))["runs"]
        if not rows:
            break
    evening = opens + timedelta(hours=18)
    progress("learn: effects, drift, scatter")
    learned = learn_effects(campaign, now=evening)
    progress("window: the recipe")
    window = find_recipe(campaign, _CONFIDENCE, now=evening)
    progress("sheet and report")
    written = [*write_sheet(campaign, now=evening)["files"], *write_report(campaign, now=evening)["files"]]
    return Found(folder, fixed, planned, printed, failed, read, learned, window, [*made["files"], *written])


def _results(answer: Mapping[str, Any]) -> int:
    """
    Return how many results the files gave.

    Raises
    ------
    ComputationError
        A file of the bench was not stored.
    """
    for entry in answer["files"]:
        if entry["status"] != "stored":
            what = str(entry.get("error") or entry["questions"])
            raise ComputationError(
                "voidless demo", f"{entry['file']} was not stored: {what}", "every file stored"
            )
    return sum(len(entry["results"]) for entry in answer["files"])
