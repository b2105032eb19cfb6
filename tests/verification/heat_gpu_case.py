"""
Compare the heat history of a batch on a graphics processor, or on its simulator, with the one on the CPU.

    python heat_gpu_case.py lanes|warps

Prints a line of JSON: steps of both, largest difference of integrals over the larger, energy missing.
"""

import json
import sys
from dataclasses import replace

import numpy as np
from heat_bench import AIR, exponential, raster

from voidless.physics.heat.history.gpu import run as gpu
from voidless.physics.heat.history.run import heat_history
from voidless.physics.heat.history.types import METHODS, Surroundings


def compare(warps: bool, teams: int, side: float, layers: int) -> dict:
    """Return how far two settings of a path lie apart on both processors."""
    method = replace(
        METHODS["standard"], after=0.4, sleep_after=0.1, depth=0.5e-3, depth_layers=4, fine_layers=1, fine_depth=0.1e-3,
        block_step=0.32, body_step=0.32,
    )  # fmt: skip
    slow = raster(side, layers, 0.2e-3, 0.5e-3, 0.05, 500.0, gap=0.06)
    fast = replace(
        slow, time_start=slow.time_start * 0.7, time_end=slow.time_end * 0.7, warm=slow.warm + 15.0
    )
    polymer = exponential(480.0, 12.0)
    cases = [
        gpu.Case(beads, polymer, Surroundings(AIR, bed)) for beads, bed in ((slow, 340.0), (fast, 360.0))
    ]
    found = gpu.heat_histories(cases, method, teams=gpu.Teams(warps, teams))
    cpu = [heat_history(case.beads, case.polymer, case.around, method) for case in cases]
    apart = [
        float(np.nanmax(np.abs(a - b)) / np.nanmax(b))
        for one, other in zip(found, cpu, strict=True)
        for a, b in ((one.through, other.through), (one.beside, other.beside))
    ]
    return {
        "on": gpu.graphics_processor(),
        "steps": [[one.steps, other.steps] for one, other in zip(found, cpu, strict=True)],
        "apart": max(apart),
        "energy": max(abs(one.energy_residual) for one in found),
    }


if __name__ == "__main__":
    real = gpu.graphics_processor() != "simulated"
    print(json.dumps(compare(sys.argv[1] == "warps", 10 if real else 1, 4e-3 if real else 1e-3, 13)))
