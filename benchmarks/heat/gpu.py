"""
Speed of the heat history on a graphics processor, beside one core of the CPU in the same run.

    python benchmarks/heat/gpu.py [agree] [alone] [sweep] [tune] [profile]

`agree` compares with the CPU: settings of the same times, and three settings of a sweep whose ticks are shared. `alone`
computes one setting, `sweep` one path at many settings: speed, melt temperature and air differ. Given are simulated
print time over wall time, summed over the settings, of the processor alone and with all that is prepared, copied and
collected; and the share of the memory's bandwidth: what steps of full columns must move over what a plain copy of 1 GiB
moves in the same run. `tune` computes one sweep with other numbers of threads and of registers, a compilation each.
`profile` computes one sweep and nothing else, to be run under a profiler.
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace

import numpy as np
from blocks import raster

from voidless.physics.heat.history.gpu.run import Case, Teams, graphics_processor, heat_histories
from voidless.physics.heat.history.grid import Beads, cells_of
from voidless.physics.heat.history.run import History, heat_history
from voidless.physics.heat.history.types import METHODS, Polymer, Surroundings

Path = tuple[str, tuple[float, float], int]
METHOD, ROOM = METHODS["standard"], Surroundings(298.15, 348.15)
# near a copolyester; the law of healing costs the same whatever its numbers
POLYMER = Polymer(0.2, 1.6e6, 360.0, lambda warm: 20.0 - 1e4 * (1.0 / (warm - 250.0) - 1.0 / 250.0) * 0.25)
ROW_BYTES = 72  # own temperature, pending, share and four neighbours read, temperature and pending written
TUNED = (Teams(24, 80), Teams(16, 128), Teams(8, 255))
ALL = Teams()
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


def healed_apart(one: History, other: History) -> str:
    """Return by how much healing, the integral to the power 1/4, differs: root mean square and mean."""
    found = []
    for name in ("through", "beside"):
        ratio = (getattr(one, name) / getattr(other, name)) ** 0.25 - 1.0
        ratio = ratio[np.isfinite(ratio)]
        found.append(f"{name} rms {np.sqrt(np.mean(ratio**2)):.2%} mean {np.mean(ratio):+.2%}")
    return ", ".join(found)


def copied() -> float:
    """Return what a plain copy moves, read and written. [B/s]"""
    from numba import cuda

    @cuda.jit
    def copy(there: object, here: object) -> None:
        for k in range(cuda.grid(1), here.size, cuda.gridsize(1)):
            there[k] = here[k]

    here = cuda.to_device(np.zeros(2**27))
    there = cuda.device_array_like(here)
    best = np.inf
    for _ in range(5):
        cuda.synchronize()
        begun = time.perf_counter()
        copy[2112, 1024](there, here)
        cuda.synchronize()
        best = min(best, time.perf_counter() - begun)
    return 2.0 * here.nbytes / best


def measure(path: Path, count: int, peak: float, teams: Teams = ALL) -> None:
    """Run a sweep and print a line of the table."""
    cases = cases_of(raster(path[1], path[2], 0.12, 0.5), count)
    cells = cells_of(cases[0].beads, METHOD)
    marks: list[float] = []
    begun = time.perf_counter()
    found = heat_histories(cases, METHOD, cells, lambda _: marks.append(time.perf_counter()), teams)
    whole = time.perf_counter() - begun
    inside = (marks[-1] - marks[0]) * len(marks) / (len(marks) - 1)
    total = sum(printed(case) for case in cases)
    steps = sum(one.steps for one in found)
    rows = cells.coarse // 2 + cells.fine * METHOD.rows_per_layer
    moved = steps * rows * ROW_BYTES / inside
    energy = max(abs(one.energy_residual) for one in found)
    print(
        f"{path[0]:24s} settings {count:5d} x {teams.count:3d} warps of {teams.registers:3d} registers  "
        f"computing {total / inside:8.0f} x  with all else {total / whole:8.0f} x  {steps / inside:.2e} steps/s  "
        f"needs {moved / 1e9:.1f} GB/s, {moved / peak:.2%} of what a copy moves  energy {energy:.0e}",
        flush=True,
    )


def on_cpu(case: Case, name: str) -> History:
    """Return a setting by the CPU, and print its speed."""
    begun = time.perf_counter()
    found = heat_history(case.beads, POLYMER, ROOM, METHOD)
    speed = printed(case) / (time.perf_counter() - begun)
    print(f"{name:24s} CPU {speed:.0f} x, energy {abs(found.energy_residual):.0e}", flush=True)
    return found


def agree(path: Path) -> None:
    """Print how far settings of the same times lie from the CPU's, and settings that share ticks."""
    beads = raster(path[1], path[2], 0.12, 0.5)
    hot = replace(beads, warm=beads.warm + 7.0, air=1.3 * beads.air)
    same = [Case(one, POLYMER, ROOM) for one in (beads, hot)]
    for case, one in zip(same, heat_histories(same, METHOD), strict=True):
        cpu = on_cpu(case, path[0])
        print(f"  same times: apart {apart(one, cpu):.0e}, steps {one.steps} and {cpu.steps}", flush=True)
    sweep = cases_of(beads, 1056)
    found = heat_histories(sweep, METHOD)
    for k in (0, 528, 1055):
        print(f"  setting {k} of a sweep: {healed_apart(found[k], on_cpu(sweep[k], path[0]))}", flush=True)


def warm(teams: Teams = ALL) -> None:
    """Compile."""
    begun = time.perf_counter()
    heat_histories(cases_of(raster((4.0, 4.0), 2, 0.12, 0.5), 2), METHOD, teams=teams)
    print(f"compiled for {teams} in {time.perf_counter() - begun:.0f} s", flush=True)


if __name__ == "__main__":
    begun = time.perf_counter()
    asked = sys.argv[1:] or ["agree", "alone", "sweep"]
    bytes_a_second = copied()
    print(f"{graphics_processor()}: a plain copy moves {bytes_a_second / 1e9:.0f} GB/s", flush=True)
    if "profile" in asked:
        heat_histories(cases_of(raster(SLAB[1], SLAB[2], 0.12, 0.5), 1056), METHOD)
    warm()
    if "agree" in asked:
        heat_history(cases_of(raster((4.0, 4.0), 2, 0.12, 0.5), 1)[0].beads, POLYMER, ROOM, METHOD)
        agree(SLAB)
    if "alone" in asked:
        measure(SLAB, 1, bytes_a_second)
        measure(BAR, 1, bytes_a_second)
    if "sweep" in asked:
        for count in (132, 528, 1056, 4224, 8448):
            measure(SLAB, count, bytes_a_second)
        measure(BAR, 1056, bytes_a_second)
    if "tune" in asked:
        for other in TUNED:
            warm(other)
            measure(SLAB, 4224, bytes_a_second, other)
    print(f"all in {time.perf_counter() - begun:.0f} s")
