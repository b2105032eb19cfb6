"""
What a source is worth to the first predictions of the next campaign, believed as named and weighed by its builds.

    python -m benchmarks.transfer.beliefs FIRST LAST

Laboratories of the twin's kind with the seeds FIRST to LAST - 1. The next one is another lot of `lot` (constants 0.3
prior standard deviations off); `other` is another draw of all constants; of `far` every constant lies two prior
standard deviations on the other side. Each source is a campaign of 20 builds. Printed, per source: mean log density of
clarity, Z/XY and size error at 500 settings, half of them near the window, against no source, after several numbers of
builds that lie evenly over the space.
"""

from __future__ import annotations

import sys
from dataclasses import replace

import numpy as np
from benchmarks.campaigns.history import History
from benchmarks.campaigns.own import Own
from benchmarks.campaigns.rules import start
from benchmarks.labs.bench import MEASURED, SETTING_SD, SPACE, Lab, Values, feasible
from benchmarks.labs.kin import constants, plain_prior, twin_truth
from benchmarks.labs.make import scattered, specified
from benchmarks.transfer.run import source_from
from numpy.typing import NDArray

from voidless.campaign.types import Probability
from voidless.infer.prior import Prior
from voidless.infer.search import candidates, even_points
from voidless.infer.table import TrainingData
from voidless.twin.transfer import one_started
from voidless.workflows.taught import believed

Floats = NDArray[np.float64]

BUILDS = (0, 4, 7, 14)
JUDGED = ("clarity", "z_ratio", "size_error_mm")
_EVEN, _AT, _DRAWS = 6000, 250, 400
_LOT, _FAR = 0.3, 2.0
_NEAR = 0.08
_SCATTER = 0.01


def _lab(seed: int, theta: dict[str, float], rng: np.random.Generator) -> tuple[Lab, Floats]:
    """Return a laboratory with specifications and scatter, and settings that meet them."""
    blank = Lab("kin", seed, twin_truth(theta, rng))
    even = even_points(_EVEN, 6, np.random.default_rng([seed, 3]))
    points = np.unique(SPACE.snap(SPACE.from_unit(even)), axis=0)
    points = points[feasible(points)]
    values: Values = blank.means(points)
    lab = replace(blank, specifications=specified(blank, values))
    spread = {name: float(np.std(values[name])) for name in MEASURED}
    return scattered(lab, spread, _SCATTER), points[lab.passes(values)]


def _labs(seed: int) -> dict[str, tuple[Lab, Floats]]:
    rng, sds = np.random.default_rng([seed, 77]), constants()

    def drawn() -> dict[str, float]:
        return {name: sd * float(np.clip(rng.standard_normal(), -2.0, 2.0)) for name, sd in sds.items()}

    lot = drawn()
    new = {name: lot[name] + _LOT * sd * rng.standard_normal() for name, sd in sds.items()}
    other = drawn()
    far = {name: new[name] - np.copysign(_FAR * sd, new[name]) for name, sd in sds.items()}
    thetas = {"lot": lot, "new": new, "other": other, "far": far}
    return {name: _lab(10 * seed + place, theta, rng) for place, (name, theta) in enumerate(thetas.items())}


def _settings(inside: Floats) -> Floats:
    """Return settings to judge by: even ones, and others near those that meet the specifications."""
    rng = np.random.default_rng(9)
    even = np.asarray(candidates(SPACE, feasible, _AT, rng))
    unit = SPACE.to_unit(inside[rng.integers(0, len(inside), _AT)])
    near = SPACE.from_unit(np.clip(unit + _NEAR * rng.standard_normal(unit.shape), 0.0, 1.0))
    return np.vstack([even, near[feasible(near)]])


def _score(lab: Lab, history: History, prior: Prior, points: Floats) -> float:
    """Return the mean log density of the true means at points, all judged responses together."""
    model, _ = Own(True, prior).learned(history, np.random.default_rng(1))
    draws = model.draws(points, _DRAWS, Probability.MEAN, np.random.default_rng(2))
    true, total = lab.means(points), 0.0
    for name in JUDGED:
        mean, sd = draws[name].mean(axis=0), draws[name].std(axis=0)
        total += float(np.mean(-0.5 * ((true[name] - mean) / sd) ** 2 - np.log(sd)))
    return total


def main() -> None:
    """Print gains per seed, source and number of builds."""
    prior = plain_prior()
    print("| seed | source | weight after builds | as named | weighed |", "| --- " * 5 + "|", sep="\n")
    for seed in range(int(sys.argv[1]), int(sys.argv[2])):
        labs = _labs(seed)
        lab, inside = labs.pop("new")
        sources = {name: source_from(old) for name, (old, _) in labs.items()}
        rows: dict[str, list[tuple[float, float, float]]] = {name: [] for name in sources}
        more = candidates(SPACE, feasible, 40, np.random.default_rng(5))
        for count in BUILDS:
            history = History(lab)
            for point in [*start(lab.seed), *more][:count]:
                history.make(point)
            data = TrainingData(SPACE, history.builds, history.observations, setting_sd=SETTING_SD)
            alone = _score(lab, history, prior, _settings(inside))
            for name, source in sources.items():
                weighed = believed(data, prior, {name: source})
                named = one_started(prior, source, 0)
                gains = [_score(lab, history, own, _settings(inside)) - alone for own in (named, weighed)]
                rows[name].append((weighed.beliefs[0].weight, *gains))
        for name, found in rows.items():
            told = (", ".join(f"{row[place]:+.2f}" for row in found) for place in range(3))
            print(f"| {seed} | {name} | {' | '.join(told)} |", flush=True)


if __name__ == "__main__":
    main()
