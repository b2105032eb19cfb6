"""
Tables of benchmarks/transfer/README.md from the rows of finished campaigns.

    python -m benchmarks.transfer.report OUT

Builds until the recipe passes for three steps, 40 where it never does; ratios of means with a bootstrap 90 % interval
over pairs, seed 0.
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path

import numpy as np
from benchmarks.campaigns.run import PASSES
from benchmarks.transfer.run import WAYS
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Row = dict[str, str]

_END = 40
_HELD = 3
_RESAMPLES = 4000
_AGAINST = {"right": "without", "wrong": "without", "dark": "without", "dark right": "dark"}


def read_rows(place: Path) -> dict[str, dict[int, list[Row]]]:
    """Return rows by way, then by pair, in order of builds."""
    found: dict[str, dict[int, list[Row]]] = {way: {} for way in WAYS}
    for path in sorted(place.glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as file:
            for row in csv.DictReader(file):
                found[row["way"]].setdefault(int(row["pair"]), []).append(row)
    return found


def until(rows: list[Row], within: float) -> float:
    """Return builds until the recipe passes within a share of the best for three steps, `_END` where it never does."""
    good = [float(row["true"]) >= PASSES and float(row["gap"]) <= within for row in rows]
    for first in range(len(rows) - _HELD + 1):
        if all(good[first : first + _HELD]):
            return float(rows[first]["builds"])
    return float(_END)


def main() -> None:
    """Print one row per way and the ratios."""
    found = read_rows(Path(sys.argv[1]))
    print(
        "| way | pairs | passes | within 25 % | recipe truly fails at 12 builds | weight of the source at 6 and 12 |",
        "| --- " * 6 + "|",
        sep="\n",
    )
    for way, pairs in found.items():
        if not pairs:
            continue
        means = [np.mean([until(rows, within) for rows in pairs.values()]) for within in (np.inf, 0.25)]
        early = np.mean([float(rows[min(8, len(rows) - 1)]["true"]) < PASSES for rows in pairs.values()])
        weights = [np.mean([_weight(rows, builds) for rows in pairs.values()]) for builds in (6, 12)]
        believed = "" if np.isnan(weights[0]) else f"{weights[0]:.2f}, {weights[1]:.2f}"
        print(
            f"| {way} | {len(pairs)} | {means[0]:.1f} | {means[1]:.1f} | {100 * early:.0f} % | {believed} |"
        )
    for way, other in _AGAINST.items():
        both = sorted(set(found[way]) & set(found[other]))
        for name, within in (("passes", np.inf), ("within 25 %", 0.25)):
            if both:
                ratio = _ratio(*(np.array([until(found[w][p], within) for p in both]) for w in (way, other)))
                print(f"- {way} / {other}, {name}: {ratio[0]:.2f} (90 % {ratio[1]:.2f} to {ratio[2]:.2f})")


def _weight(rows: list[Row], builds: int) -> float:
    """Return how far the source was believed after so many builds, NaN without one."""
    return next((float(row["weight"] or "nan") for row in rows if int(row["builds"]) >= builds), float("nan"))


def _ratio(first: Floats, second: Floats) -> tuple[float, float, float]:
    """Return the ratio of means and its bootstrap interval, pairs resampled."""
    rows = np.random.default_rng(0).integers(0, first.size, (_RESAMPLES, first.size))
    low, high = np.quantile(first[rows].mean(axis=1) / second[rows].mean(axis=1), (0.05, 0.95))
    return float(first.mean() / second.mean()), float(low), float(high)


if __name__ == "__main__":
    main()
