"""
Time the fast twin: all responses of many settings, slopes, and one-sided slopes with and without memory.

    python benchmarks/twin/speed.py [SETTINGS]

Set OPENBLAS_NUM_THREADS=1 for one core. The best of three; figures of one machine compare with each other only.
"""

from __future__ import annotations

import platform
import sys
import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from voidless.campaign.space import Space
from voidless.campaign.types import Factor
from voidless.machines import load_machine
from voidless.materials import load_material
from voidless.settings import default_settings
from voidless.twin.heat import warmth_of
from voidless.twin.links import RESPONSES
from voidless.twin.prior import TwinPrior, twin_prior

SPACE = Space(
    (
        Factor("flow_pct", 90.0, 110.0),
        Factor("nozzle_c", 210.0, 260.0),
        Factor("fan_pct", 0.0, 100.0),
        Factor("speed_mm_s", 10.0, 60.0),
        Factor("layer_mm", 0.1, 0.28),
        Factor("width_mm", 0.4, 0.6),
    )
)


def best(work: Callable[[int], object]) -> float:
    """Return the shortest of three times; each repeat gets its number, so that nothing is remembered."""
    times = []
    for repeat in range(3):
        start = time.perf_counter()
        work(repeat)
        times.append(time.perf_counter() - start)
    return min(times)


def one_sided(prior: TwinPrior, points: np.ndarray) -> None:
    """Ask for values and a shift of each parameter, as learning does."""
    theta = np.zeros(len(prior.parameters))
    prior(points, theta)
    for place, (_, _, sd) in enumerate(prior.parameters):
        prior(points, theta + 0.3 * sd * np.eye(theta.size)[place])


def main(count: int) -> None:
    """Print the times."""
    petg, machine = load_material("petg"), load_machine("bench-0.4")
    fixed = default_settings(petg, machine)
    whole = twin_prior(SPACE, fixed, petg, machine, RESPONSES)
    few = twin_prior(SPACE, fixed, petg, machine, ("clarity", "z_ratio", "void_pct"))

    def points(number: int, seed: int) -> np.ndarray:
        return SPACE.from_unit(np.random.default_rng(seed).random((number, len(SPACE.factors))))

    zero = np.zeros(len(whole.parameters))
    whole(points(10, 9), zero)
    print(platform.machine(), platform.python_version(), "numpy", np.__version__)
    print(
        f"{count} settings, {len(whole.responses)} responses: {best(lambda k: whole(points(count, k), zero)):.2f} s"
    )
    slopes = best(lambda k: few.gradient(points(5000, k), np.zeros(len(few.parameters))))
    print(f"5000 settings, slopes by 6 settings and {len(few.parameters)} parameters: {slopes:.2f} s")
    bare = replace(few, warmth=warmth_of)
    with_memory, without = (best(lambda k, p=p: one_sided(p, points(400, 10 + k))) for p in (few, bare))
    print(
        f"400 settings, {len(few.parameters)} one-sided slopes: {with_memory:.3f} s, without memory {without:.3f} s"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100_000)
