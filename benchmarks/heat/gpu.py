"""
Speed of the heat history on a graphics processor, beside one core of the CPU in the same run.

    python benchmarks/heat/gpu.py [alone] [sweep] [profile]

`sweep` computes one path at many settings: speed, melt temperature and air differ. Simulated print time over wall time,
summed over the settings, with and without what is copied there and back; beside it how far the results lie from those
of the CPU. `profile` computes one sweep and nothing else, to be run under a profiler that reads memory traffic.
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace

import numpy as np
from blocks import raster

from voidless.physics.heat.history.gpu.run import Case, graphics_processor, heat_histories
from voidless.physics.heat.history.grid import Beads, cells_of
from voidless.physics.heat.history.run import History, heat_history
from voidless.physics.heat.history.types import METHODS, Polymer, Surroundings

METHOD, ROOM = METHODS["standard"], Surroundings(298.15, 348.15)
# near a copolyester; the law of healing costs the same whatever its numbers
POLYMER = Polymer(0.2, 1.6e6, 360.0, lambda warm: 20.0 - 1e4 * (1.0 / (warm - 250.0) - 1.0 / 250.0) * 0.25)
BAR, SLAB = ("bar 80 x 10 x 4 mm", (80.0, 10.0), 33), ("slab 40 x 10 x 1.2 mm", (40.0, 10.0), 10)


def cases_of(beads: Beads, count: int) -> list[Case]:
    """Return a path at settings spread over speed, melt temperature and fan."""
    found = []
    for k, share in enumerate(np.linspace(0.7, 1.3, count) if count > 1 else [1.0]):
        air = beads.air * (1.0 + 0.5 * np.cos(k))
        time_start, time_end = beads.time_start * share, beads.time_end * share
        other = replace(
            beads, time_start=time_start, time_end=time_end, warm=beads.warm + 10 * np.sin(k), air=air
        )
        found.append(Case(other, POLYMER, ROOM))
    return found


def printed(case: Case) -> float:
    """Return how long a case takes to print. [s]"""
    return float(case.beads.time_end[-1] - case.beads.time_start[0])


def apart(one: History, other: History) -> float:
    """Return the largest difference of integrals over the largest integral."""
    pairs = ((one.through, other.through), (one.beside, other.beside))
    return max(float(np.nanmax(np.abs(a - b)) / np.nanmax(b)) for a, b in pairs)


def measure(name: str, size: tuple[float, float], layers: int, count: int) -> None:
    """Run a sweep and the CPU on its first setting, and print a line of the table."""
    cases = cases_of(raster(size, layers, 0.12, 0.5), count)
    cells = cells_of(cases[0].beads, METHOD)
    marks: list[float] = []
    begun = time.perf_counter()
    found = heat_histories(cases, METHOD, cells, lambda _: marks.append(time.perf_counter()))
    whole = time.perf_counter() - begun
    inside = (marks[-1] - marks[0]) * len(marks) / (len(marks) - 1)
    begun = time.perf_counter()
    cpu = heat_history(cases[0].beads, POLYMER, ROOM, METHOD, cells)
    alone = time.perf_counter() - begun
    total = sum(printed(case) for case in cases)
    print(
        f"{name:24s} settings {count:5d}  computing {total / inside:8.0f} x  with copies {total / whole:8.0f} x  "
        f"one core {printed(cases[0]) / alone:6.0f} x  apart {apart(found[0], cpu):.0e}  "
        f"steps {sum(one.steps for one in found) / inside:.2e} a second",
        flush=True,
    )


if __name__ == "__main__":
    print(graphics_processor())
    asked = sys.argv[1:] or ["alone", "sweep"]
    if "profile" in asked:
        heat_histories(cases_of(raster(SLAB[1], SLAB[2], 0.12, 0.5), 528), METHOD)
    small = cases_of(raster((4.0, 4.0), 2, 0.12, 0.5), 17)
    heat_history(small[0].beads, POLYMER, ROOM, METHOD)  # compiles
    if "alone" in asked:
        heat_histories(small[:1], METHOD)
        measure(*SLAB, 1)
        measure(*BAR, 1)
    if "sweep" in asked:
        heat_histories(small, METHOD)
        measure(*SLAB, 528)
