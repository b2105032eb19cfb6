"""
Replay of two published print campaigns as pools: which share of the best is found after how many builds.

    python -m benchmarks.pool.replay [SEEDS] [BUILDS]

Each rule sees the pool's settings, chooses one at a time, and is told one measured value of it. Rules: `random`;
`generic` (Gaussian process with a Matern 5/2 kernel and expected improvement, from scikit-learn); `own` (this program's
learning model without physics, expected improvement over the best design so far, from joint draws).
Data: tests/data/autonomous-print-campaigns (MIT).
"""

from __future__ import annotations

import csv
import sys
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.space import Space
from voidless.campaign.types import Build, Factor, Observation, ResponseKey
from voidless.infer.model import fit_model
from voidless.infer.paths import surface_draws
from voidless.infer.table import TrainingData

DATA = Path(__file__).parents[2] / "tests" / "data" / "autonomous-print-campaigns"
START = 4
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Pool:
    """Designs `(n, k)` scaled to 0..1, and the values measured of each."""

    name: str
    unit: Floats
    values: list[Floats]

    @property
    def truth(self) -> Floats:
        """Mean of each design's values."""
        return np.array([item.mean() for item in self.values])


def load(name: str, response: str) -> Pool:
    """Return a pool from a CSV file whose last column is the response."""
    rows = list(csv.DictReader((DATA / f"{name}.csv").open(encoding="utf-8-sig")))
    settings = np.array([[float(v) for k, v in row.items() if k != response] for row in rows])
    designs, which = np.unique(settings, axis=0, return_inverse=True)
    measured = np.array([float(row[response]) for row in rows])
    unit = (designs - designs.min(axis=0)) / np.ptp(designs, axis=0)
    return Pool(name, unit, [measured[which.ravel() == place] for place in range(len(designs))])


Rule = Callable[[Pool, list[int], list[float], np.random.Generator], int]


def at_random(pool: Pool, made: list[int], _values: list[float], rng: np.random.Generator) -> int:
    """Return any design not made yet."""
    return int(rng.choice(np.setdiff1d(np.arange(len(pool.unit)), made)))


def generic(pool: Pool, made: list[int], values: list[float], _rng: np.random.Generator) -> int:
    """Return the design of largest expected improvement under a general library's Gaussian process."""
    from scipy.stats import norm
    from sklearn.gaussian_process import GaussianProcessRegressor
    from sklearn.gaussian_process.kernels import ConstantKernel, Matern, WhiteKernel

    k = pool.unit.shape[1]
    kernel = ConstantKernel() * Matern(np.full(k, 0.5), (0.05, 20.0), nu=2.5) + WhiteKernel(0.05, (1e-4, 1.0))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        model = GaussianProcessRegressor(kernel, normalize_y=True, n_restarts_optimizer=1, random_state=0)
        model.fit(pool.unit[made], np.array(values))
        mean, sd = model.predict(pool.unit, return_std=True)
    best = mean[made].max()
    z = (mean - best) / sd
    gain = sd * (z * norm.cdf(z) + norm.pdf(z))
    gain[made] = -1.0
    return int(np.argmax(gain))


def own(pool: Pool, made: list[int], values: list[float], rng: np.random.Generator) -> int:
    """Return the design of largest expected improvement under this program's learning model."""
    space = Space(tuple(Factor(name, 0.0, 1.0) for name in _names(pool)))
    builds = [
        Build(f"B{i + 1:02d}", f"R{i + 1:02d}", i + 1, 1, space.settings(pool.unit[row]))
        for i, row in enumerate(made)
    ]
    key = ResponseKey("strength_xy_mpa")  # any response without limits of its own
    observations = [
        Observation(build.run, build.label, "", key, value)
        for build, value in zip(builds, values, strict=True)
    ]
    model = fit_model(TrainingData(space, builds, observations, None, {}, None), rng)
    draws = surface_draws(model, pool.unit, 256, rng)["strength_xy_mpa"]
    best = draws[:, made].max(axis=1, keepdims=True)
    gain = np.maximum(draws - best, 0.0).mean(axis=0)
    gain[made] = -1.0
    return int(np.argmax(gain))


def _names(pool: Pool) -> tuple[str, ...]:
    return ("flow_pct", "nozzle_c", "speed_mm_s", "fan_pct")[: pool.unit.shape[1]]


RULES: dict[str, Rule] = {"random": at_random, "generic": generic, "own": own}


def campaign(pool: Pool, rule: Rule, builds: int, seed: int) -> Floats:
    """Return the share of the pool's best that the best design so far has, after each build."""
    rng = np.random.default_rng(seed)
    made = [int(row) for row in rng.permutation(len(pool.unit))[:START]]
    values = [float(rng.choice(pool.values[row])) for row in made]
    while len(made) < builds:
        row = rule(pool, made, values, rng)
        made.append(row)
        values.append(float(rng.choice(pool.values[row])))
    return np.maximum.accumulate(pool.truth[made]) / pool.truth.max()


def main(seeds: int, builds: int) -> None:
    """Print the table."""
    marks = [mark for mark in (8, 12, 16, 24, 32, 48, 64) if mark <= builds]
    print("pool, rule, seeds, median share of the best after", *marks, "builds", sep=", ")
    for pool in (load("auto_am", "Score"), load("crossed_barrel", "toughness")):
        for name, rule in RULES.items():
            found = np.array([campaign(pool, rule, builds, seed) for seed in range(seeds)])
            shares = [f"{np.median(found[:, mark - 1]):.3f}" for mark in marks]
            print(pool.name, name, seeds, *shares, sep=", ", flush=True)


if __name__ == "__main__":
    main(*(int(word) for word in (*sys.argv[1:], 12, 32)[:2]))
