"""
Run the simulated truths of the measurement bench in full: moisture, micrographs, haze.

    python tests/nightly/measure_coverage.py [moisture|micrographs|haze] [COUNT]

Each truth is measured COUNT (1000) times; printed are bias, coverage of the 95 % interval and its width over the one that
the true noise would give. The short forms are in tests/verification. A run returns 1 where coverage is below 93 % or a width above 1.5.
"""

import re
import subprocess
import sys
from pathlib import Path

WHERE = Path(__file__).parents[1] / "verification"
SCRIPTS = {
    "moisture": "test_measure_moisture_truth.py",
    "micrographs": "test_measure_micrograph_truth.py",
    "haze": "test_measure_haze_truth.py",
}


def main():
    chosen = [sys.argv[1]] if len(sys.argv) > 1 else list(SCRIPTS)
    count = sys.argv[2] if len(sys.argv) > 2 else "1000"
    failed = False
    for name in chosen:
        done = subprocess.run(
            [sys.executable, str(WHERE / SCRIPTS[name]), count], capture_output=True, text=True, check=True
        )
        print(f"{name}\n{done.stdout}", flush=True)
        for line in done.stdout.splitlines():
            covered, width = re.search(r"covered ([\d.]+) %", line), re.search(r"width/true ([\d.]+)", line)
            failed |= not (covered and width and float(covered[1]) >= 93.0 and float(width[1]) <= 1.5)
    return int(failed)


if __name__ == "__main__":
    sys.exit(main())
