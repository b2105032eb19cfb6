"""
Simulate how many of the pairs that are called different are alike, where one in twenty is allowed.

    python tests/nightly/false_shares.py [FAMILIES]

Ratios of strengths of 12 invented groups, five bars a side, 5 and 7 % scatter; the groups fall into 1, 2, 3 or 6 truths 12 %
apart. Printed: mean share of wrong ones among the pairs called, and its Monte-Carlo error. Returns 1 where it is over 5 %
by more than three errors.
"""

import sys

import numpy as np

from voidless.infer.compare import compare_ratios

GROUPS, BARS = 12, 5


def share(truths, families):
    """Return mean and error of the share of wrong pairs among those called at 5 %."""
    found = []
    for seed in range(families):
        rng = np.random.default_rng([seed, truths])
        level = {f"{i:02d}": 0.6 * 1.12 ** (i % truths) for i in range(GROUPS)}
        groups = {
            name: (
                40.0 * z * (1 + 0.07 * rng.standard_normal(BARS)),
                40.0 * (1 + 0.05 * rng.standard_normal(BARS)),
            )
            for name, z in level.items()
        }
        called = [pair for pair in compare_ratios(groups) if pair.false_share <= 0.05]
        wrong = sum(level[pair.first] == level[pair.second] for pair in called)
        found.append(wrong / max(1, len(called)))
    return float(np.mean(found)), float(np.std(found) / np.sqrt(families))


def main():
    families = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    failed = False
    for truths in (1, 2, 3, 6):
        mean, error = share(truths, families)
        failed |= mean > 0.05 + 3.0 * error
        print(f"{truths} truths: {100 * mean:.1f} ± {100 * error:.1f} %", flush=True)
    return int(failed)


if __name__ == "__main__":
    sys.exit(main())
