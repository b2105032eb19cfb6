"""
Name and seed -> laboratory, as frozen.csv holds it.

    python -m benchmarks.labs.make --seeds 400 408 --processes 8      # writes the rows of these seeds

The specifications of a seed are set so that 0.9 % of the allowed space meets them all in the mean; the scatter of
builds is 2 % of a response's spread over the space, less where too few settings would pass the next build with 0.9.
"""

from __future__ import annotations

import argparse
import csv
from collections.abc import Callable, Mapping
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
from benchmarks.labs.bench import MEASURED, SPACE, Bad, Lab, Values, build_minutes, feasible
from benchmarks.labs.kin import kin_truth
from benchmarks.labs.truths import TRUTHS
from numpy.typing import NDArray

from voidless.campaign.types import Specification
from voidless.infer.search import even_points

Floats = NDArray[np.float64]

UNLIKE = tuple(TRUTHS)
LIKE = ("kin", "cousin")
LABS = (*UNLIKE, *LIKE)
FROZEN = Path(__file__).with_name("frozen.csv")
SHARE = 0.009
# Of the settings whose mean passes, at least so many must pass the next build with the confidence too.
_FIRM = 0.02
CONFIDENCE = 0.9
_BAND = 0.45
_TRIALS = 60
_EVEN = 60_000
_SCATTER = 0.02
_SOME = 12


def truth_of(name: str, seed: int, trial: int = 0) -> Callable[[Floats], Values]:
    """Return the truth of a laboratory; another trial draws other constants."""
    rng = np.random.default_rng([seed, LABS.index(name), trial])
    if name in LIKE:
        return kin_truth(name, rng)
    form, numbers = TRUTHS[name]
    drawn = numbers(rng)
    return lambda points: form(SPACE.to_unit(points), drawn)


def find_lab(name: str, seed: int) -> tuple[Lab, int]:
    """Return a laboratory computed anew (up to a minute), and the first trial of its truth that has a window."""
    for trial in range(_TRIALS):
        lab = completed(Lab(name, seed, truth_of(name, seed, trial)))
        if lab is not None:
            return lab, trial
    raise ValueError(f"{name} {seed}: no setting passes the next build with {CONFIDENCE}")


def completed(lab: Lab) -> Lab | None:
    """Return the laboratory with specifications, scatter and best setting, None where no setting is firm."""
    seed = lab.seed
    rng = np.random.default_rng([seed, 3])
    points = np.unique(SPACE.snap(SPACE.from_unit(even_points(_EVEN, 6, rng))), axis=0)
    points = points[feasible(points) & ~scattered(lab, dict.fromkeys(MEASURED, 0.0), 0.0).cold(points)]
    values = lab.means(points)
    lab = replace(lab, specifications=specified(lab, values))
    inside = points[lab.passes(values)]
    spread = {response: float(np.std(values[response])) for response in MEASURED}
    for less in range(12):
        lab = scattered(lab, spread, _SCATTER * 0.8**less)
        some = inside[:: max(1, len(inside) // 100)]
        if np.mean(lab.pass_probability(some, 200) >= CONFIDENCE + 0.02) < _FIRM:
            continue
        point, chance = _best(lab, inside, rng)
        if chance >= CONFIDENCE:
            return replace(lab, best=float(build_minutes(point[None, :])[0]), best_point=point)
    return None


def specified(lab: Lab, values: Values) -> tuple[Specification, ...]:
    """Return a fixed band of size, and limits at one common quantile that `SHARE` of the points meet."""
    centre = float(np.quantile(values["size_error_mm"], 0.5))
    low, high = 0.3, 0.9999
    for _ in range(40):
        level = 0.5 * (low + high)
        band = float(np.quantile(np.abs(values["size_error_mm"] - centre), _BAND))
        found = (
            Specification("clarity", float(np.quantile(values["clarity"], level))),
            Specification("z_ratio", float(np.quantile(values["z_ratio"], level))),
            Specification("size_error_mm", centre - band, centre + band),
        )
        met = float(np.mean(replace(lab, specifications=found).passes(values)))
        low, high = (level, high) if met > SHARE else (low, level)
    return found


def scattered(lab: Lab, spread: Mapping[str, float], share: float) -> Lab:
    """Return the laboratory with its scatter and faults; their signs are drawn once per seed."""
    between = {name: share * value for name, value in spread.items()}
    signs = np.random.default_rng([lab.seed, 5]).choice([-1.0, 1.0], len(MEASURED))
    drift = {name: sign * between[name] for name, sign in zip(MEASURED, signs, strict=True)}
    exposure = {"clarity": -0.25 * between["clarity"], "strength_z_mpa": -0.15 * between["strength_z_mpa"]}
    cold = float(np.random.default_rng([lab.seed, 6]).uniform(0.8, 1.0))
    within = {name: 1.5 * between[name] for name in MEASURED if name.startswith("strength")}
    return replace(lab, between=between, within=within, bad=Bad(drift, exposure, cold=cold))


def _best(lab: Lab, inside: Floats, rng: np.random.Generator) -> tuple[Floats, float]:
    """Return the fastest setting that passes the next build with the confidence, else the likeliest."""
    pool = inside[np.argsort(build_minutes(inside))]
    chance = lab.pass_probability(pool, 200)
    best, top = _fastest(pool, chance)
    for round_ in range(10):
        fresh = _around(np.vstack([pool[np.argsort(-chance)[:6]], best[None, :]]), 0.15 * 0.75**round_, rng)
        if top >= CONFIDENCE:  # only settings that would be faster are worth a look
            fresh = fresh[build_minutes(fresh) < build_minutes(best[None, :])[0] - 1e-9]
        fresh = fresh[lab.mean_passes(fresh)]
        fresh = fresh[np.argsort(build_minutes(fresh))][:150]
        pool, chance = np.vstack([pool, fresh]), np.append(chance, lab.pass_probability(fresh, 200))
        close = np.flatnonzero(chance >= min(CONFIDENCE - 0.02, float(chance.max())))
        close = close[np.argsort(build_minutes(pool[close]))][:_SOME]
        best, top = _fastest(pool[close], lab.pass_probability(pool[close]))
    return best, top


def _fastest(points: Floats, chance: Floats) -> tuple[Floats, float]:
    enough = np.flatnonzero(chance >= CONFIDENCE)
    row = int(enough[np.argmin(build_minutes(points[enough]))]) if enough.size else int(np.argmax(chance))
    return points[row], float(chance[row])


def _around(centres: Floats, reach: float, rng: np.random.Generator) -> Floats:
    unit = SPACE.to_unit(centres)
    moves = reach * rng.standard_normal((len(unit), 600, 6)) * (rng.random((len(unit), 600, 6)) < 0.6)
    points = SPACE.snap(SPACE.from_unit(np.clip((unit[:, None, :] + moves).reshape(-1, 6), 0.0, 1.0)))
    points = np.unique(np.vstack([centres, points]), axis=0)
    return np.asarray(points[feasible(points)])


_COLUMNS = (
    "lab", "seed", "trial", "best_min", *SPACE.names, "clarity_min", "z_ratio_min", "size_low", "size_high",
    *(f"between_{name}" for name in MEASURED), *(f"{name}_at_best" for name in MEASURED),
)  # fmt: skip


def _row(task: tuple[str, int]) -> list[object]:
    lab, trial = find_lab(*task)
    clarity, ratio, size = lab.specifications
    numbers = [
        lab.best, *lab.best_point, clarity.minimum, ratio.minimum, size.minimum, size.maximum,
        *(lab.between[name] for name in MEASURED), *_at_best(lab),
    ]  # fmt: skip
    return [*task, trial, *(f"{float(value):.9g}" for value in numbers)]


def _at_best(lab: Lab) -> list[float]:
    means = lab.means(lab.best_point[None, :])
    return [float(means[name][0]) for name in MEASURED]


@cache
def _frozen() -> dict[tuple[str, int], dict[str, float]]:
    with FROZEN.open(encoding="utf-8", newline="") as file:
        return {
            (row["lab"], int(row["seed"])): {k: float(v) for k, v in row.items() if k not in ("lab", "seed")}
            for row in csv.DictReader(file)
        }


def make_lab(name: str, seed: int) -> Lab:
    """
    Return a laboratory as frozen.csv holds it; KeyError where it does not.

    Laboratories of the twin's kind move with the twin: where its code has changed since, ValueError says so.
    """
    row = _frozen()[name, seed]
    spread = {response: row[f"between_{response}"] for response in MEASURED}
    specs = (
        Specification("clarity", row["clarity_min"]),
        Specification("z_ratio", row["z_ratio_min"]),
        Specification("size_error_mm", row["size_low"], row["size_high"]),
    )
    lab = Lab(name, seed, truth_of(name, seed, int(row["trial"])), specs)
    lab = scattered(lab, spread, 1.0)
    lab = replace(lab, best=row["best_min"], best_point=SPACE.point(row))
    was = [row[f"{name}_at_best"] for name in MEASURED]
    if not np.allclose(_at_best(lab), was, rtol=1e-6, atol=1e-6):
        raise ValueError(
            f"{name} {seed} is not what was frozen: run `python -m benchmarks.labs.make --seeds` again"
        )
    return lab


TUNING = range(8)
FINAL = range(400, 408)
"""Seeds to tune on and seeds for the one final run."""


def main() -> None:
    """Write the rows of the seeds asked for into frozen.csv; all other rows stay as they are."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--seeds", nargs=2, type=int, required=True, help="first, and past the last")
    parser.add_argument("--processes", type=int, default=None)
    given = parser.parse_args()
    # the slowest kinds first, so that no process waits for them at the end
    tasks = [(name, seed) for name in (*LIKE, *UNLIKE) for seed in range(*given.seeds)]
    with FROZEN.open(encoding="utf-8", newline="") as file:
        kept = {(row["lab"], int(row["seed"])): list(row.values()) for row in csv.DictReader(file)}
    with ProcessPoolExecutor(given.processes) as pool:
        for task, row in zip(tasks, pool.map(_row, tasks), strict=True):
            kept[task] = [str(cell) for cell in row]
            print(*task, flush=True)
    order = sorted(kept, key=lambda key: (LABS.index(key[0]), key[1]))
    with FROZEN.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows([_COLUMNS, *(kept[key] for key in order)])


if __name__ == "__main__":
    main()
