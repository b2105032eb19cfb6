"""
Simulate what campaigns say, with and without the twin, against what is so.

    python tests/nightly/campaign_coverage.py KIND FIRST LAST

KIND is `plain`, `scattered` or `twin` (tests/verification/truth_campaigns.py), seeds FIRST to LAST - 1. Printed, with the error of
as many campaigns: share of 95 % intervals that hold, of effects and of the next build and part at even points, at the recipe
and at proposed builds; stated and true probability of claimed recipes, of the truly worst corner of tolerance boxes,
and inside of them. Returns 1 where intervals hold in less than 90 % by more than three errors, or recipes and boxes
pass less often than asked for by more than three errors.
"""

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "verification"))

from truth_campaigns import LEVEL, simulate

INTERVALS = {
    "changes": "effect from the low to the high end",
    "next_build": "next build at even points",
    "next_part": "next part at even points",
    "recipe_build": "next build at the recipe",
    "proposals": "next build where `next` proposes one",
}


def _mean(rows):
    """Return the mean over campaigns and its error."""
    each = np.array([np.mean(row) for row in rows if len(row)], dtype=float)
    if not each.size:
        return float("nan"), float("nan"), 0
    return (
        float(each.mean()),
        float(each.std(ddof=1) / np.sqrt(each.size)) if each.size > 1 else float("nan"),
        each.size,
    )


def _row(kind, words, count, stated, share, error):
    print(f"| {kind}: {words} | {count} | {stated} | {100 * share:.1f} ± {100 * error:.1f} |")


def report(kind, seen):
    """Print what campaigns said and what was so; return whether something falls short."""
    failed = False
    for name, words in INTERVALS.items():
        share, error, _ = _mean([getattr(item, name) for item in seen])
        count = sum(len(getattr(item, name)) for item in seen)
        failed |= not share >= 0.90 - 3.0 * error
        print(
            f"| {kind}: {words} | {len(seen)} campaigns, {count} intervals | 95 | {100 * share:.1f} ± {100 * error:.1f} |"
        )
    for name, words in (("recipe", "claimed recipe"), ("corner", "worst corner of its tolerance box")):
        stated, _, count = _mean([[row[0] for row in getattr(item, name)] for item in seen])
        true, error, _ = _mean([[row[1] for row in getattr(item, name)] for item in seen])
        failed |= bool(count) and not true >= LEVEL - 3.0 * error
        print(
            f"| {kind}: {words} passes | {count} claims | {100 * stated:.1f} | {100 * true:.1f} ± {100 * error:.1f} |"
        )
    true, error, count = _mean([item.inside for item in seen])
    print(
        f"| {kind}: settings inside of tolerance boxes pass | {count} boxes | over {100 * LEVEL:.0f} | {100 * true:.1f} ± {100 * error:.1f} |"
    )
    return failed


def main():
    kind, first, last = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
    return int(report(kind, [simulate(kind, seed) for seed in range(first, last)]))


if __name__ == "__main__":
    sys.exit(main())
