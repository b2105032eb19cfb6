"""
Run whole campaigns on the invented laboratories, one CSV row per step; finished campaigns are not run again.

    python -m benchmarks.campaigns.run OUT --arms twin plain --labs kin field --seeds 0 4 --builds 60 --processes 2

A campaign ends before its last build once its recipe has been within 2 % for three steps and 28 builds are made.
Laboratories without a window get 20 builds at most. Every campaign is written when it ends; slow ways start first.
Seeds are paired: the same order of build has the same luck in every arm.
"""

from __future__ import annotations

import argparse
import csv
import os
import time
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import replace
from pathlib import Path
from typing import Any, Protocol

import numpy as np
from benchmarks.campaigns.history import History
from benchmarks.campaigns.rules import Step, start
from benchmarks.labs.bench import MEASURED, SPACE, USUAL, Bad, Lab, build_minutes
from benchmarks.labs.make import FINAL, LABS, make_lab

from voidless.campaign.types import Specification

ARMS = ("twin", "plain", "generic", "composite", "ladder")
NULLS = ("noise", "empty")
_NULL_BUILDS = 20
_SLOWEST_FIRST = ("generic", "twin", "plain", "composite", "ladder")
PASSES = 0.8
"""A recipe truly passes when the next build of it passes with this probability: 0.9 was asked for, less 0.1."""
_LEVELS = (0.5, 0.8, 0.9, 0.95)
_HELD = 3
_CLAIM_AT = 28
_COLUMNS = (
    "arm", "lab", "seed", "builds", "hours", "stated", "true", "mean_passes", "build_min", "gap", "cpu_s",
    *SPACE.names, *(f"{kind}_{level}" for level in _LEVELS for kind in ("stated", "true", "gap")),
)  # fmt: skip


class Arm(Protocol):
    """A way of choosing builds."""

    def step(self, history: History, rng: np.random.Generator) -> Step:
        """Return its recipe and its next build."""
        ...


def arm_of(name: str) -> Arm:
    """Return a way of choosing by its name."""
    if name in ("twin", "plain"):
        from benchmarks.campaigns.own import Own

        return Own(name == "twin")
    if name == "generic":
        from benchmarks.campaigns.generic import Generic

        return Generic()
    if name == "composite":
        from benchmarks.campaigns.composite import Composite

        return Composite()
    from benchmarks.campaigns.ladder import Ladder

    return Ladder()


def lab_of(name: str, seed: int) -> Lab:
    """Return a laboratory, or one without any window: `noise` holds no signal, `empty` asks too much clarity."""
    if name not in NULLS:
        return make_lab(name, seed)
    base = make_lab(LABS[seed % len(LABS)], FINAL[seed % len(FINAL)])
    if name == "empty":
        _, *others = base.specifications
        beyond = Specification("clarity", _out_of_reach(base))
        return replace(base, name=name, seed=seed, specifications=(beyond, *others), best=float("nan"))
    middle = {response: float(np.median(values)) for response, values in _sampled(base).items()}
    spread = {response: base.between[response] / 0.02 for response in MEASURED}
    flat = lambda points: {response: np.full(len(points), middle[response]) for response in MEASURED}  # noqa: E731
    within = {response: 0.1 * spread[response] for response in base.within}
    return replace(
        base, name=name, seed=seed, truth=flat, between=spread, within=within, bad=Bad({}, {}, cold=9.0),
        best=float("nan"),
    )  # fmt: skip


def _sampled(lab: Lab, count: int = 4000) -> dict[str, Any]:
    return lab.truth(SPACE.from_unit(np.random.default_rng(lab.seed).random((count, len(SPACE.names)))))


def _out_of_reach(lab: Lab) -> float:
    """Return a clarity above the best of 40,000 settings by a fifth of what clarity varies."""
    seen = _sampled(lab, 40_000)["clarity"]
    return float(np.max(seen) + 0.2 * np.std(seen))


def campaign(arm: str, name: str, seed: int, total: int, each: int) -> list[list[object]]:
    """Return the rows of one campaign, one per recommendation."""
    lab, way = lab_of(name, seed), arm_of(arm)
    total = min(total, _NULL_BUILDS) if name in NULLS else total
    rng = np.random.default_rng([seed, 29])
    history = History(lab)
    for point in start(seed) if arm in ("twin", "plain", "generic") else []:
        history.make(point)
    if not history.builds:
        history.make(USUAL if arm == "ladder" else way.step(history, rng).following)
    rows: list[list[object]] = []
    held = 0
    while True:
        began = time.process_time()
        step = way.step(history, rng)
        spent = time.process_time() - began
        row = _judged(lab, step, (arm, name, seed, len(history.builds), history.hours), spent)
        rows.append(row)
        good = float(row[6]) >= PASSES and float(row[9]) <= 0.02  # type: ignore[arg-type]
        held = held + 1 if good else 0
        if len(history.builds) >= total or (held >= _HELD and len(history.builds) >= _CLAIM_AT):
            return rows
        history.make(step.following)
        for _ in range(min(each, total - len(history.builds) + 1) - 1):
            history.make(way.step(history, rng).following)


def _judged(lab: Lab, step: Step, key: tuple[object, ...], spent: float) -> list[object]:
    """Return one row: what is stated, and what is true of it."""
    if step.recipe is None:
        blank = ["nan"] * (len(_COLUMNS) - 11)
        return [*key, "nan", 0.0, 0, "nan", "inf", f"{spent:.2f}", *blank]
    at = step.recipe[None, :]
    minutes = float(build_minutes(at)[0])
    row: list[object] = [
        *key, f"{step.probability:.4f}", f"{float(lab.pass_probability(at)[0]):.4f}",
        int(lab.mean_passes(at)[0]), f"{minutes:.3f}", f"{minutes / lab.best - 1.0:.4f}", f"{spent:.2f}",
        *(f"{value:.6g}" for value in step.recipe),
    ]  # fmt: skip
    for level in _LEVELS:
        if level not in step.levels:
            row += ["nan"] * 3
            continue
        point, stated = step.levels[level]
        true = float(lab.pass_probability(point[None, :])[0])
        gap = float(build_minutes(point[None, :])[0]) / lab.best - 1.0
        row += [f"{stated:.4f}", f"{true:.4f}", f"{gap:.4f}"]
    return row


def _save(folder: Path, task: tuple[str, str, int], rows: Iterable[list[object]]) -> None:
    place = folder / "{}-{}-{}.csv".format(*task)
    fresh = place.with_suffix(".part")
    with fresh.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([_COLUMNS, *rows])
    fresh.replace(place)


def main() -> None:
    """Run what is not there yet."""
    parser = argparse.ArgumentParser()
    parser.add_argument("out", type=Path)
    parser.add_argument("--arms", nargs="+", default=list(ARMS), choices=ARMS)
    parser.add_argument("--labs", nargs="+", default=list(LABS), choices=(*LABS, *NULLS))
    parser.add_argument("--seeds", nargs=2, type=int, default=(0, 4), help="first, and past the last")
    parser.add_argument("--builds", type=int, default=60)
    parser.add_argument("--each", type=int, default=1, help="builds between two recommendations")
    parser.add_argument("--processes", type=int, default=os.cpu_count())
    parser.add_argument("--seconds", type=float, default=float("inf"), help="start no campaign after this")
    given = parser.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    tasks = [
        (arm, lab, seed)
        for arm in sorted(given.arms, key=_SLOWEST_FIRST.index)
        for seed in range(*given.seeds)
        for lab in given.labs
        if not (given.out / f"{arm}-{lab}-{seed}.csv").exists()
    ]
    began = time.monotonic()
    with ProcessPoolExecutor(given.processes) as pool:
        waiting = {
            pool.submit(_timed, began + given.seconds, task, given.builds, given.each): task for task in tasks
        }
        for done in as_completed(waiting):
            if done.exception() is not None:
                print(*waiting[done], repr(done.exception()), flush=True)
                continue
            rows = done.result()
            if rows:
                _save(given.out, waiting[done], rows)
                print(*waiting[done], f"{sum(float(row[10]) for row in rows):.0f} s", flush=True)  # type: ignore[arg-type]


def _timed(deadline: float, task: tuple[str, str, int], builds: int, each: int) -> list[list[object]]:
    """Return the rows of a campaign, none where it would start too late."""
    return [] if time.monotonic() > deadline else campaign(*task, builds, each)


if __name__ == "__main__":
    main()
