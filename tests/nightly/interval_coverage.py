"""
Simulate every interval and bound of proofs and effects in full.

    python tests/nightly/interval_coverage.py [COUNT] [WORD]

Each truth is simulated COUNT (2000) times, with WORD those whose name holds it. Printed are the covered share where 95 % is
promised, its Monte-Carlo error, and the median width over the one that known variances would give. Returns 1 where a share is
more than three Monte-Carlo errors below 93 %.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "verification"))

from truth_intervals import TRUTHS, simulate


def main():
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    word = sys.argv[2] if len(sys.argv) > 2 else ""
    failed = False
    for seed, truth in enumerate(TRUTHS):
        if word not in truth.name:
            continue
        covered, error, width = simulate(truth, count, seed)
        low = covered < 0.93 - 3.0 * error
        failed |= low
        print(
            f"| {truth.name} | {100 * covered:.1f} ± {100 * error:.1f} | {width:.2f} |{' LOW' if low else ''}",
            flush=True,
        )
    return int(failed)


if __name__ == "__main__":
    sys.exit(main())
