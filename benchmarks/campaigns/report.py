"""
The tables of benchmarks/README.md from the rows of finished campaigns.

    python -m benchmarks.campaigns.report FOLDER-OR-CSV ...

Restricted mean: builds until the recipe passes within x % and keeps doing so for three steps, 60 where it never does.
Intervals: bootstrap over paired laboratories, 90 %, seed 0.
"""

from __future__ import annotations

import csv
import sys
from collections import defaultdict
from collections.abc import Iterable, Mapping
from pathlib import Path

import numpy as np
from benchmarks.campaigns.run import NULLS, PASSES
from benchmarks.labs.make import LIKE, UNLIKE
from numpy.typing import NDArray
from scipy.stats import beta

Floats = NDArray[np.float64]
Row = dict[str, float]
Campaigns = dict[str, dict[tuple[str, int], list[Row]]]

_END = 60
_HELD = 3
_RESAMPLES = 4000
_CLAIM_AT = 20
_BY = 28


def read_rows(places: Iterable[Path]) -> Campaigns:
    """Return rows by arm, then by laboratory and seed, in order of builds."""
    found: Campaigns = defaultdict(lambda: defaultdict(list))
    for place in places:
        for path in sorted(place.glob("*.csv")) if place.is_dir() else [place]:
            with path.open(encoding="utf-8", newline="") as file:
                for row in csv.DictReader(file):
                    key = (row["lab"], int(row["seed"]))
                    numbers = {k: float(v) for k, v in row.items() if k not in ("arm", "lab", "seed")}
                    found[row["arm"]][key].append(numbers)
    return found


def until(rows: list[Row], within: float, what: str = "builds") -> float:
    """Return builds (or hours) until the recipe holds within a share of the best for three steps, else inf."""
    good = [row["true"] >= PASSES and row["gap"] <= within for row in rows]
    for start in range(len(rows) - _HELD + 1):
        if all(good[start : start + _HELD]):
            return rows[start][what]
    return float("inf")


def _times(
    campaigns: Mapping[tuple[str, int], list[Row]], keys: list[tuple[str, int]], within: float
) -> Floats:
    return np.array([until(campaigns[key], within) for key in keys])


def _ratio(first: Floats, second: Floats) -> tuple[float, float, float]:
    """Return the ratio of restricted means and its bootstrap 90 % interval, pairs resampled."""
    a, b = np.minimum(first, _END), np.minimum(second, _END)
    rng = np.random.default_rng(0)
    rows = rng.integers(0, len(a), (_RESAMPLES, len(a)))
    low, high = np.quantile(a[rows].mean(axis=1) / b[rows].mean(axis=1), (0.05, 0.95))
    return float(a.mean() / b.mean()), float(low), float(high)


def _quartile(values: Floats, q: float) -> str:
    value = float(np.quantile(values, q, method="higher"))
    return "never" if not np.isfinite(value) else f"{value:.0f}"


_WITHIN = (float("inf"), 0.25, 0.05, 0.02)


def _name(within: float) -> str:
    return f"within {100 * within:.0f} %" if np.isfinite(within) else "passes"


def _line(cells: Iterable[str]) -> str:
    return "| " + " | ".join(cells) + " |"


def speed_table(found: Campaigns, labs: tuple[str, ...]) -> list[str]:
    """Return builds and hours to 25, 5 and 2 % per arm, over the laboratories that all arms finished."""
    arms = [arm for arm in found if any(lab in labs for lab, _ in found[arm])]
    keys = sorted(set.intersection(*(set(found[arm]) for arm in arms)))
    keys = [key for key in keys if key[0] in labs]
    each = [
        (f"{_name(within)}: restricted mean", "median [quartiles]", "reached", "hours, median")
        for within in _WITHIN
    ]
    heads = ("way", *(head for group in each for head in group), "truly fails at 20 / 40")
    lines = [f"{len(keys)} campaigns each ({', '.join(labs)})", "", _line(heads), _line(["---"] * len(heads))]
    for arm in arms:
        cells = [arm]
        for within in _WITHIN:
            times = _times(found[arm], keys, within)
            cells += [
                f"{np.minimum(times, _END).mean():.1f}",
                f"{_quartile(times, 0.5)} [{_quartile(times, 0.25)}, {_quartile(times, 0.75)}]",
                f"{100 * np.mean(np.isfinite(times)):.0f} %",
            ]
            hours = np.array([until(found[arm][key], within, "hours") for key in keys])
            cells.append(_quartile(hours, 0.5))
        cells.append(" / ".join(_failing(found[arm], keys, at) for at in (20, 40)))
        lines.append(_line(cells))
    lines.append("")
    for other in (arm for arm in arms if arm != "twin"):
        for within in _WITHIN:
            ratio = _ratio(_times(found["twin"], keys, within), _times(found[other], keys, within))
            lines.append(
                f"- twin / {other}, {_name(within)}: ratio of restricted means "
                f"{ratio[0]:.2f} (90 % {ratio[1]:.2f} to {ratio[2]:.2f})"
            )
    return lines


def _at(rows: list[Row], builds: float) -> Row:
    """Return the row at a number of builds, the last one where the campaign had ended before."""
    return next((row for row in rows if row["builds"] >= builds), rows[-1])


def _failing(campaigns: Mapping[tuple[str, int], list[Row]], keys: list[tuple[str, int]], at: float) -> str:
    return f"{100 * np.mean([_at(campaigns[key], at)['true'] < PASSES for key in keys]):.0f} %"


def honesty_table(found: Campaigns, labs: tuple[str, ...]) -> list[str]:
    """Return how often claims hold at build 20, how early they come, and the Brier score."""
    lines = ["| way | claim of | made | true rate of passing | 95 % bounds | fastest gap, median |",
             "| --- | --- | --- | --- | --- | --- |"]  # fmt: skip
    for arm in (arm for arm in ("twin", "plain", "generic") if arm in found):
        chosen = {key: rows for key, rows in found[arm].items() if key[0] in labs}
        rows = [_at(own, _CLAIM_AT) for own in chosen.values()]
        for level in (0.5, 0.8, 0.9, 0.95):
            made = [row for row in rows if np.isfinite(row[f"stated_{level}"])]
            if made:
                true = np.array([row[f"true_{level}"] for row in made])
                low, high = _binomial(float(true.sum()), len(true))
                gap = 100 * np.median([row[f"gap_{level}"] for row in made])
                lines.append(
                    f"| {arm} | {level} | {len(made)} of {len(rows)} | {true.mean():.3f} "
                    f"| {low:.2f} to {high:.2f} | {gap:.0f} % |"
                )
        early = np.mean(
            [
                any(np.isfinite(row["stated_0.9"]) for row in own if row["builds"] <= _BY)
                for own in chosen.values()
            ]
        )
        stated = np.array([row["stated"] for row in rows])
        true = np.array([row["true"] for row in rows])
        brier = np.mean((stated - true) ** 2 + true * (1.0 - true))
        lines.append(
            f"| {arm} | 0.9 by build {_BY} | {100 * early:.0f} % | Brier score at {_CLAIM_AT}: {brier:.3f} | | |"
        )
    return lines


def _binomial(passed: float, count: int) -> tuple[float, float]:
    """Return Clopper-Pearson bounds, for sums of true probabilities as if each were one build."""
    low = beta.ppf(0.025, passed, count - passed + 1.0) if passed > 0.0 else 0.0
    high = beta.ppf(0.975, passed + 1.0, count - passed) if passed < count else 1.0
    return float(low), float(high)


def null_table(found: Campaigns) -> list[str]:
    """Return how often something is claimed where nothing can pass."""
    lines = []
    for arm, campaigns in found.items():
        for name in NULLS:
            own = [rows for (lab, _), rows in campaigns.items() if lab == name]
            if own:
                claims = [any(np.isfinite(row["stated_0.9"]) for row in rows) for rows in own]
                last = [np.isfinite(_at(rows, _CLAIM_AT)["stated_0.9"]) for rows in own]
                lines.append(
                    f"- {arm}, {name}: a claim of 0.9 at build {_CLAIM_AT} in {sum(last)} of {len(own)}, "
                    f"at any step in {sum(claims)}"
                )
    return lines


def main() -> None:
    """Print all tables."""
    found = read_rows([Path(item) for item in sys.argv[1:]])
    some = {lab for campaigns in found.values() for lab, _ in campaigns}
    for title, kind in (("Like the twin", LIKE), ("Unlike the twin", UNLIKE), ("All", (*LIKE, *UNLIKE))):
        labs = tuple(lab for lab in kind if lab in some)
        if labs and "twin" in found:
            print(f"\n## {title}\n", *speed_table(found, labs), "", *honesty_table(found, labs), sep="\n")
    print("", *null_table(found), sep="\n")


if __name__ == "__main__":
    main()
