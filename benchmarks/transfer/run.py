"""
Pairs of invented laboratories: how many builds the second needs with and without what the first taught.

    python -m benchmarks.transfer.run OUT --pairs 0 8 --processes 8      # one file per pair and way
    python -m benchmarks.transfer.report OUT

Both laboratories of a pair are of the twin's kind. The second is another lot: its constants lie 0.3 prior standard
deviations from those of the first, its smooth error is its own. `wrong` starts from a laboratory that has nothing to do
with it but is named as if it had. `dark` and `dark right` never see clarity of the second one, as with a dyed lot:
with the twin alone, and with what the first taught. The recipe must pass in clarity nevertheless.
"""

from __future__ import annotations

import argparse
import csv
from collections.abc import Mapping
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from benchmarks.campaigns.history import History
from benchmarks.campaigns.own import Own
from benchmarks.campaigns.rules import start
from benchmarks.labs.bench import SETTING_SD, SPACE, Lab, Values, build_minutes
from benchmarks.labs.kin import constants, plain_prior, twin_truth
from benchmarks.labs.make import completed
from numpy.typing import NDArray

from voidless.infer.model import CampaignModel, TrainingData
from voidless.twin.transfer import Source, StartedPrior
from voidless.workflows.taught import believed, source_of

Floats = NDArray[np.float64]

WAYS = ("without", "right", "wrong", "dark", "dark right")
COLUMNS = ("pair", "way", "builds", "true", "gap", "stated", "weight")
_LOT = 0.3
_SOURCE_BUILDS = 20
_MOST = 40
_TRIALS = 40
# Seeds of pairs and of laboratories that have nothing to do with them.
_PAIRED, _STRANGE = 1000, 2000


def _truths(seed: int, count: int, trial: int) -> list[Lab]:
    """Return a laboratory without specifications, and with `count` 2 another lot of it."""
    rng = np.random.default_rng([seed, trial])
    theta = {name: sd * float(np.clip(rng.standard_normal(), -2.0, 2.0)) for name, sd in constants().items()}
    lot = {name: theta[name] + _LOT * sd * rng.standard_normal() for name, sd in constants().items()}
    return [
        Lab("kin", 10 * seed + place, twin_truth(own, rng)) for place, own in enumerate((theta, lot)[:count])
    ]


def find_labs(kind: tuple[int, int]) -> tuple[int, list[Lab]]:
    """
    Return the first draw of the constants in which every laboratory of a seed and count has a window, and those.

    Their truths are left out: they cannot be sent between processes.
    """
    for trial in range(_TRIALS):
        found = [completed(blank) for blank in _truths(*kind, trial)]
        kept = [replace(lab, truth=_no_truth) for lab in found if lab is not None]
        if len(kept) == len(found):
            return trial, kept
    raise ValueError(f"seed {kind[0]}: no window in {_TRIALS} draws of the constants")


def _no_truth(_points: Floats) -> Values:
    raise RuntimeError("a laboratory that was sent between processes has no truth yet")


def _whole(seed: int, found: Mapping[int, tuple[int, list[Lab]]]) -> list[Lab]:
    """Return laboratories with their truths."""
    trial, blank = found[seed]
    return [
        replace(lab, truth=own.truth)
        for lab, own in zip(blank, _truths(seed, len(blank), trial), strict=True)
    ]


@dataclass
class Dark(History):
    """A campaign that cannot measure clarity."""

    def make(self, point: Floats) -> None:
        """Build one setting, and see all but its clarity."""
        super().make(point)
        self.observations = [item for item in self.observations if item.key.quantity != "clarity"]


def begun(history: History) -> History:
    """Return the campaign after the start that all share."""
    for point in start(history.lab.seed):
        history.make(point)
    return history


class Started(Own):
    """This project's loop, started from a source that is believed as far as the builds speak for it."""

    def __init__(self, source: Source) -> None:
        super().__init__(True)
        self.source = source
        self.weight = float("nan")
        """How far the source was believed last. [1]"""

    def learned(self, history: History, rng: np.random.Generator) -> tuple[CampaignModel, TrainingData]:
        """Return the model after the builds so far, and what it was fitted to."""
        data = TrainingData(SPACE, history.builds, history.observations, setting_sd=SETTING_SD)
        prior = believed(data, plain_prior(), {"old": self.source})
        assert isinstance(prior, StartedPrior)
        self.prior, self.weight = prior, prior.beliefs[0].weight
        return super().learned(history, rng)


def source_from(lab: Lab) -> Source:
    """Return what a campaign of `_SOURCE_BUILDS` builds in a laboratory knows."""
    history, way, rng = begun(History(lab)), Own(True), np.random.default_rng([lab.seed, 107])
    while len(history.builds) < _SOURCE_BUILDS:
        history.make(way.step(history, rng).following)
    return source_of(*way.learned(history, rng), same_material=True, same_machine=True)


def campaign(seed: int, way: str, found: Mapping[int, tuple[int, list[Lab]]]) -> list[list[object]]:
    """Return a row per recommendation, as `COLUMNS` names them."""
    old, lab = _whole(_PAIRED + seed, found)
    own = Own(True)
    if way.endswith("right"):
        own = Started(source_from(old))
    elif way == "wrong":
        own = Started(source_from(_whole(_STRANGE + seed, found)[0]))
    history = begun(Dark(lab) if way.startswith("dark") else History(lab))
    rng, rows = np.random.default_rng([lab.seed, 109]), []
    while True:
        step = own.step(history, rng)
        assert step.recipe is not None
        at = step.recipe[None, :]
        gap = float(build_minutes(at)[0]) / lab.best - 1.0
        true = float(lab.pass_probability(at)[0])
        row: list[object] = [seed, way, len(history.builds)]
        weight = f"{own.weight:.4f}" if isinstance(own, Started) else ""
        rows.append([*row, f"{true:.4f}", f"{gap:.4f}", f"{step.probability:.4f}", weight])
        if len(history.builds) >= _MOST:
            return rows
        history.make(step.following)


def main() -> None:
    """Run the campaigns that are not there yet."""
    parser = argparse.ArgumentParser()
    parser.add_argument("out", type=Path)
    parser.add_argument("--pairs", nargs=2, type=int, default=(0, 8), help="first, and past the last")
    parser.add_argument("--ways", nargs="+", default=list(WAYS), choices=WAYS)
    parser.add_argument("--processes", type=int, default=None)
    given = parser.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    places = {
        (seed, way): given.out / f"{seed}-{way.replace(' ', '-')}.csv"
        for way in sorted(
            given.ways, key=lambda item: item in ("without", "dark")
        )  # those with a source last longer
        for seed in range(*given.pairs)
    }
    missing = {task: place for task, place in places.items() if not place.exists()}
    kinds = [(base + seed, count) for seed, _ in missing for base, count in ((_PAIRED, 2), (_STRANGE, 1))]
    kinds = list(dict.fromkeys(kinds))
    with ProcessPoolExecutor(given.processes) as pool:
        found = {kind[0]: labs for kind, labs in zip(kinds, pool.map(find_labs, kinds), strict=True)}
        print(f"{len(found)} draws of laboratories", flush=True)
        waiting = {pool.submit(campaign, *task, found): (task, place) for task, place in missing.items()}
        for done in as_completed(waiting):
            task, place = waiting[done]
            if done.exception() is not None:
                print(*task, repr(done.exception()), flush=True)
                continue
            fresh = place.with_suffix(".part")
            with fresh.open("w", encoding="utf-8", newline="") as file:
                csv.writer(file, lineterminator="\n").writerows([COLUMNS, *done.result()])
            fresh.replace(place)
            print(*task, flush=True)


if __name__ == "__main__":
    main()
