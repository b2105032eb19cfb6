"""
Work against precision of the heat history: errors on brute-force cross-sections beside the cost, in one run.

    python benchmarks/heat/precision.py
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))
sys.path.insert(0, str(Path(__file__).parents[2] / "tests" / "verification"))
import heat_bench as bench
from benchmarks.heat.run import GROUND, ROOM, raster
from test_heat_history import references

from voidless.physics.heat.history.run import heat_history
from voidless.physics.heat.history.types import METHODS, Method
from voidless.twin.full.fields import polymer_of

STANDARD, VERIFY = METHODS["standard"], METHODS["verify"]
WAYS: dict[str, Method] = {
    "1 cell a bead, 1 row a layer": replace(STANDARD, rows_per_layer=1),
    "1 x 2": replace(STANDARD, rows_per_layer=2),
    "1 x 3 (standard)": STANDARD,
    "1 x 3, no fresh contact": replace(STANDARD, fresh_contact=False),
    "2 x 3": replace(STANDARD, cells_per_bead=2),
    "2 x 3, short steps": replace(STANDARD, cells_per_bead=2, tick=0.01, grade=0.3),
    "4 x 4 (verify)": VERIFY,
}


def main() -> None:
    """Print a row a way."""
    beads = raster((10.0, 10.0), 12, 0.2, 0.5)
    print("way | healing rms % | healing worst % | integral rms % | us per mm of bead")
    for name, method in WAYS.items():
        off = np.array(
            [bench.section_integrals(case, method) / true - 1.0 for case, true in references().items()]
        )
        root = (1.0 + off) ** 0.25 - 1.0
        cost = []
        for _ in range(3):
            begun = time.process_time()
            heat_history(beads, polymer_of(GROUND), ROOM, method)
            cost.append(time.process_time() - begun)
        print(
            f"{name} | {100 * np.sqrt(np.nanmean(root**2)):.2f} | {100 * np.nanmax(np.abs(root)):.1f} | "
            f"{100 * np.sqrt(np.nanmean(off**2)):.1f} | {1e3 * min(cost) / beads.length.sum():.0f}"
        )


if __name__ == "__main__":
    main()
