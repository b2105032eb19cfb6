"""
Pairs of invented laboratories: how many builds the second needs with and without what the first taught.

    python -m benchmarks.transfer.run OUT.csv --pairs 0 8 --processes 2

Both laboratories of a pair are of the twin's kind. The second is another lot: its constants lie 0.3 prior standard
deviations from those of the first, its smooth error is its own. `wrong` starts from a laboratory that has nothing to do
with it but is named as if it had.
"""

from __future__ import annotations

import argparse
import csv
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np
from benchmarks.campaigns.history import History
from benchmarks.campaigns.own import Own
from benchmarks.campaigns.rules import start
from benchmarks.campaigns.run import PASSES
from benchmarks.labs.bench import Lab, build_minutes
from benchmarks.labs.kin import constants, plain_prior, twin_truth
from benchmarks.labs.make import completed

from voidless.infer.prior import Prior
from voidless.twin.transfer import start_from
from voidless.workflows.taught import source_of

WAYS = ("without", "right", "wrong")
_LOT = 0.3
_SOURCE_BUILDS = 20
_MOST = 40
_TRIALS = 40
_HELD = 3


def _labs(seed: int, count: int) -> list[Lab]:
    """Return a laboratory, and with `count` 2 another lot of it; constants are drawn again until all have a window."""
    for trial in range(_TRIALS):
        rng = np.random.default_rng([seed, trial])
        theta = {
            name: sd * float(np.clip(rng.standard_normal(), -2.0, 2.0)) for name, sd in constants().items()
        }
        lot = {name: theta[name] + _LOT * sd * rng.standard_normal() for name, sd in constants().items()}
        found = []
        for place, own in enumerate((theta, lot)[:count]):
            lab = completed(Lab("kin", 10 * seed + place, twin_truth(own, rng)))
            if lab is None:
                break
            found.append(lab)
        if len(found) == count:
            return found
    raise ValueError(f"pair {seed}: no window in {_TRIALS} draws of the constants")


def _taught(lab: Lab) -> Prior:
    """Return the twin as a campaign of `_SOURCE_BUILDS` builds in a laboratory leaves it."""
    history, way, rng = _begun(lab), Own(True), np.random.default_rng([lab.seed, 107])
    while len(history.builds) < _SOURCE_BUILDS:
        history.make(way.step(history, rng).following)
    source = source_of(*way.learned(history, rng), same_material=True, same_machine=True)
    return start_from(plain_prior(), [source])


def _begun(lab: Lab) -> History:
    history = History(lab)
    for point in start(lab.seed):
        history.make(point)
    return history


def campaign(lab: Lab, prior: Callable[[], Prior]) -> tuple[float, float]:
    """Return builds until the recipe passes for three steps (`_MOST` where it never does), and its gap at the end."""
    history, way, rng = _begun(lab), Own(True, prior()), np.random.default_rng([lab.seed, 109])
    held, gap = 0, float("nan")
    while len(history.builds) <= _MOST:
        step = way.step(history, rng)
        assert step.recipe is not None
        at = step.recipe[None, :]
        gap = float(build_minutes(at)[0]) / lab.best - 1.0
        held = held + 1 if float(lab.pass_probability(at)[0]) >= PASSES else 0
        if held == _HELD:
            return len(history.builds) - _HELD + 1.0, gap
        history.make(step.following)
    return float(_MOST), gap


def pair(seed: int) -> list[list[object]]:
    """Return one row per way."""
    old, target = _labs(1000 + seed, 2)
    starts: dict[str, Callable[[], Prior]] = {
        "without": plain_prior,
        "right": lambda: _taught(old),
        "wrong": lambda: _taught(_labs(2000 + seed, 1)[0]),
    }
    rows: list[list[object]] = []
    for way in WAYS:
        builds, gap = campaign(target, starts[way])
        rows.append([seed, way, builds, f"{gap:.3f}"])
        print(*rows[-1], flush=True)
    return rows


def main() -> None:
    """Write one row per pair and way, and print means and ratios."""
    parser = argparse.ArgumentParser()
    parser.add_argument("out", type=Path)
    parser.add_argument("--pairs", nargs=2, type=int, default=(0, 8))
    parser.add_argument("--processes", type=int, default=None)
    given = parser.parse_args()
    with ProcessPoolExecutor(given.processes) as pool:
        rows = [row for found in pool.map(pair, range(*given.pairs)) for row in found]
    with given.out.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([("pair", "way", "builds", "gap"), *rows])
    means = {way: np.mean([float(str(row[2])) for row in rows if row[1] == way]) for way in WAYS}
    for way, mean in means.items():
        print(f"{way}: {mean:.1f} builds, {mean / means['without']:.2f} of without")


if __name__ == "__main__":
    main()
