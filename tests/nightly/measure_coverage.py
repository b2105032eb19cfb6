"""
Run the simulated truths of the measurement bench in full: are its 95 % intervals right, and not wasteful?

    python tests/nightly/measure_coverage.py [tensile|leak|moisture|micrograph|haze ...] [--count 1000] [--processes 2]

Each truth is measured COUNT times; printed are error, coverage of the 95 % interval and its width over the one that
the true errors would give. The short forms are in tests/verification. A run returns 1 where coverage is below 93 % or a
width above 1.5.
"""

from __future__ import annotations

import argparse
import importlib
import multiprocessing
import re
import sys
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent / "verification")]

MODULES = {
    "tensile": "tensile_truths",
    "leak": "leak_truths",
    "moisture": "test_measure_moisture_truth",
    "micrograph": "test_measure_micrograph_truth",
    "haze": "test_measure_haze_truth",
}


def told(task: tuple[str, int, int]) -> list[str]:
    """Return the lines of one truth."""
    kind, place, count = task
    lines: list[str] = importlib.import_module(MODULES[kind]).tell(place, count)
    return [f"{kind:10s} {line}" for line in lines]


def poor(line: str) -> bool:
    """Return whether a line tells of too little coverage or too wide an interval, or tells neither."""
    covered, width = re.search(r"covered ([\d.]+) %", line), re.search(r"width/true ([\d.]+)", line)
    return not (covered and width and float(covered[1]) >= 93.0 and float(width[1]) <= 1.5)


def main() -> int:
    """Print every truth's lines, in order, and return 1 where one is poor."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("kinds", nargs="*", metavar="KIND", help=", ".join(MODULES))
    parser.add_argument("--count", type=int, default=1000, help="measurements of each truth")
    parser.add_argument("--processes", type=int, default=2, help="truths at a time")
    args = parser.parse_args()
    if unknown := [kind for kind in args.kinds if kind not in MODULES]:
        parser.error(f"{unknown[0]!r} is none of {', '.join(MODULES)}")
    tasks = [
        (kind, place, args.count)
        for kind in args.kinds or MODULES
        for place in range(importlib.import_module(MODULES[kind]).CASES)
    ]
    found = []
    with multiprocessing.get_context("spawn").Pool(args.processes) as pool:
        for lines in pool.imap(told, tasks, chunksize=1):
            print("\n".join(lines), flush=True)
            found += lines
    bad = [line for line in found if poor(line)]
    print(f"{len(found)} values, {len(bad)} poor")
    return int(bool(bad))


if __name__ == "__main__":
    sys.exit(main())
