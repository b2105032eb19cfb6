"""
Simulate the intervals of effects on the learned surface, and the stated chance of passing, in full.

    python tests/nightly/learned_coverage.py [CAMPAIGNS]

Printed: share of 95 % intervals that cover the true change, with the error of as many campaigns; and, by stated chance, the true
one. Returns 1 where coverage is under 90 % by more than three errors, or a chance of 0.8 and more is off by more than 0.1.
"""

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "verification"))

from truth_learned import simulate


def main():
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    covered, chances = simulate(range(count))
    share, error = covered.mean(), covered.mean(axis=1).std() / np.sqrt(count)
    print(f"changes covered: {100 * share:.1f} ± {100 * error:.1f} %")
    stated, true = chances.reshape(-1, 2).T
    for low in np.arange(0.0, 1.0, 0.2):
        own = (stated >= low) & (stated < low + 0.2 + 1e-9)
        print(
            f"stated {low:.1f} to {low + 0.2:.1f}: {np.sum(own)} points, stated {stated[own].mean():.3f}, true {true[own].mean():.3f}"
        )
    firm = stated >= 0.8
    return int(share < 0.90 - 3.0 * error or abs(stated[firm].mean() - true[firm].mean()) > 0.1)


if __name__ == "__main__":
    sys.exit(main())
