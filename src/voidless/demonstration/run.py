"""The invented campaign, run through every stage as a person would run it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from voidless.demonstration.bench import MARK, Bench
from voidless.demonstration.truth import Truth, true_means, truly_passes
from voidless.errors import ComputationError, InputError
from voidless.workflows.document import write_report
from voidless.workflows.learn import learn_effects
from voidless.workflows.log import log_fact
from voidless.workflows.make import make_files
from voidless.workflows.new import new_campaign
from voidless.workflows.plan import plan_builds
from voidless.workflows.predict import predict_settings
from voidless.workflows.propose import next_builds
from voidless.workflows.read import read_files
from voidless.workflows.sheet import write_sheet
from voidless.workflows.window import find_recipe

__all__ = ["CAMPAIGN", "run_demo"]

Progress = Callable[[str], None]

CAMPAIGN = f"""# {MARK}: an imaginary workshop prints inspection windows for beehive monitors.
[campaign]
name = "beehive window (invented demo)"
material = "pctg"
machine = "bench-0.4"

[factors.flow_pct]
low = 94.0
high = 108.0
[factors.nozzle_c]
low = 225.0
high = 260.0
[factors.speed_mm_s]
low = 15.0
high = 70.0
[settings]
fan_pct = 0.0

[responses.clarity]
thickness_mm = "3"
gap_mm = "10"
surface = "as printed"

[specifications.clarity]
min = 0.70
[specifications.z_ratio]
min = 0.82
[specifications.size_error_mm]
min = -0.15
max = 0.15

[objective]
minimise = "build_min"
[limits]
builds = 30
[specimens]
bar_xy = 2
bar_z = 2
plaque = 1
block = 1
"""
LIMITS = {"clarity": (0.70, 1.0), "z_ratio": (0.82, 9.0), "size_error_mm": (-0.15, 0.15)}
_ROUNDS = 3
_BATCH = 4
_FIRST_DAY = datetime(2031, 5, 5, 7, 0, tzinfo=UTC)
_LEVELS = 3
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
    source, campaign = folder / "beehive-window.toml", folder / "campaign"
    source.write_text(CAMPAIGN, encoding="utf-8")
    bench = Bench(folder / "bench", np.random.default_rng(seed))

    progress("new: the target")
    fixed = new_campaign(campaign, source, _FIRST_DAY)["fixed"]
    progress("plan: the first builds")
    plan = plan_builds(campaign, seed=seed, now=_FIRST_DAY)
    progress("make: G-code, specimens and run sheets of the first build")
    made = make_files(campaign, [plan["runs"][0]["build"]])
    progress("log: spool, drying, storage, instruments")
    _log_workshop(campaign)
    rows, hours, read = plan["runs"], 0.0, 0
    for number in range(_ROUNDS + 1):
        day = _FIRST_DAY + timedelta(days=number)
        progress(f"print and measure (invented): session {number + 1}, {len(rows)} builds")
        files = bench.print_and_measure(rows, fixed)
        hours += sum(row["build_min"] for row in rows) / 60.0
        progress("read: tables, curves, weighings, photos")
        answer = read_files(campaign, files, facts=_REFERENCE, now=day)
        _check_all_stored(answer)
        read += sum(len(entry["results"]) for entry in answer["files"])
        if number == 0:
            _log_failure(campaign, rows[-1], day)
        if number < _ROUNDS:
            progress("next: the builds that tell most")
            rows = next_builds(campaign, _BATCH, now=day + timedelta(days=1))["runs"]
            bench.dry()
            if not rows:
                break
    progress("learn: effects, drift, scatter")
    learned = learn_effects(campaign, now=day)
    progress("window: the recipe")
    window = find_recipe(campaign, 0.9, now=day)
    progress("sheet and report")
    sheet, report = write_sheet(campaign, now=day), write_report(campaign, now=day)
    before = predict_settings("pctg", "bench-0.4", {**fixed, **window["recipe"]["settings"]})
    return _result(
        folder,
        plan,
        window,
        learned,
        before,
        hours,
        read,
        [*made["files"], *sheet["files"], *report["files"]],
    )


def _check_all_stored(answer: dict[str, Any]) -> None:
    for entry in answer["files"]:
        if entry["status"] != "stored":
            what = str(entry.get("error") or entry["questions"])
            raise ComputationError(
                "voidless demo", f"{entry['file']} was not stored: {what}", "every file stored"
            )


def _log_workshop(campaign: Path) -> None:
    start = _FIRST_DAY.isoformat()
    facts: tuple[tuple[str, dict[str, str]], ...] = (
        ("spool", {"spool": "S1", "lot": "invented lot 7", "colour": "clear", "diameter_mm": "1.74"}),
        (
            "exposure",
            {
                "spool": "S1",
                "start": "2031-05-04T19:00+00:00",
                "end": start,
                "place": "dryer",
                "temperature_c": "65",
            },
        ),
        (
            "exposure",
            {
                "spool": "S1",
                "start": start,
                "end": "2031-05-05T17:00+00:00",
                "place": "shelf",
                "humidity_pct": "52",
            },
        ),
        ("session", {"session": "1", "operator": "invented", "note": MARK}),
        ("instrument", {"instrument": "rig", "kind": "tensile rig, force and crosshead"}),
        (
            "check",
            {
                "instrument": "rig",
                "at": start,
                "passed": "yes",
                "deviation": "-0.4",
                "unit": "N",
                "note": "20 kg weight",
            },
        ),
    )
    for what, given in facts:
        log_fact(campaign, what, given, _FIRST_DAY)


def _log_failure(campaign: Path, row: dict[str, Any], day: datetime) -> None:
    """Log one repeat of a build that came off the bed."""
    facts = {
        "run": row["run"],
        "build": "B99",
        "outcome": "fell_off",
        "note": "corner lifted in layer 9 (invented)",
    }
    log_fact(campaign, "build", facts, day)


def _result(
    folder: Path,
    plan: dict[str, Any],
    window: dict[str, Any],
    learned: dict[str, Any],
    before: dict[str, Any],
    hours: float,
    read: int,
    files: list[dict[str, Any]],
) -> dict[str, Any]:
    recipe = window["recipe"]
    settings = {**plan["fixed"], **recipe["settings"]}
    truth, holds = true_means(settings), truly_passes(settings, LIMITS)
    grid = _LEVELS ** len(recipe["settings"])
    mean_h = float(np.mean([row["build_min"] for row in plan["runs"]])) / 60.0
    claim = "claimed" if recipe["claim"] else "not claimed"
    shown = ", ".join(f"{name} {value:g}" for name, value in recipe["settings"].items())
    story = [
        f"{MARK}: nothing below was printed or measured.",
        f"{window['builds']} builds, {hours:.0f} h of printing, {read} results read from raw files.",
        f"All combinations of three levels would have been {grid} builds and about {grid * mean_h:.0f} h.",
        *learned["statements"][:8],
        f"Recipe ({claim}): {shown}; {recipe['build_min']:.1f} min.",
        window["verdict"],
        _verdict(truth, holds),
        f"Physics alone expected clarity {_band(before, 'clarity')} and Z/XY {_band(before, 'z_ratio')} there.",
        *(
            f"{file['kind']}: {file['path']}"
            for file in files
            if file["kind"] in ("settings sheet", "report")
        ),
        f"Raw files of the invented bench: {folder / 'bench'}",
    ]
    return {
        "schema_version": 1,
        "folder": str(folder),
        "invented": True,
        "story": story,
        "recipe": recipe,
        "truth": {
            "passes": holds,
            "clarity": truth.clarity,
            "z_ratio": truth.z_ratio,
            "size_error_mm": truth.size_error_mm,
        },
        "builds": window["builds"],
        "print_hours": hours,
        "files": files,
    }


def _verdict(truth: Truth, holds: bool) -> str:
    word = "passes" if holds else "does not pass"
    means = f"clarity {truth.clarity:.3f}, Z/XY {truth.z_ratio:.3f}, size error {truth.size_error_mm:+.3f} mm"
    return f"In the invented truth the recipe {word}: {means}."


def _band(found: dict[str, Any], name: str) -> str:
    item = found["responses"][name]
    return f"{item['low']:.2f} to {item['high']:.2f}"
