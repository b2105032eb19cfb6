"""
Time of many tensile curves: files of a machine to strengths, yields, moduli and their uncertainties.

    python benchmarks/measure_curves/run.py [CURVES] [POINTS]

The curves are invented here: a rounded yield, noise, a wandering zero, a last digit; each is a file of its own.
"""

import sys
import time

import numpy as np

from voidless.measure.results import Answers, RawFile, Status
from voidless.measure.take import take_files


def file(place: int, points: int, rng: np.random.Generator) -> RawFile:
    """Return one curve as a machine writes it."""
    strain = np.linspace(0.0, 0.08, points)
    stress = 45.0 * np.tanh(2000.0 * strain / 45.0) - 60.0 * np.maximum(strain - 0.03, 0.0)
    force = 40.0 * stress + rng.normal(0.0, 0.8, points) + np.linspace(0.0, rng.normal(0.0, 1.0), points)
    force[-20:] = rng.normal(0.0, 0.8, 20)
    rows = "".join(
        f"{0.02 * n:.2f},{f:.2f},{50 * e:.5f}\n" for n, (f, e) in enumerate(zip(force, strain, strict=True))
    )
    head = "Gauge length: 50 mm\nSection: 40 mm2\n\nTime [s],Force [N],Extension [mm]\n"
    return RawFile(f"bars/R01_B01_xy_{place}.csv", (head + rows).encode())


def main() -> None:
    """Print seconds of a core, of the clock, and how many results came."""
    curves = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    points = int(sys.argv[2]) if len(sys.argv) > 2 else 5000
    rng = np.random.default_rng(1)
    files = [file(place, points, rng) for place in range(curves)]
    take_files(files[:2], Answers())  # imports
    core, clock = time.process_time(), time.perf_counter()
    found = take_files(files, Answers())
    core, clock = time.process_time() - core, time.perf_counter() - clock
    good = sum(result.status is Status.OK for result in found)
    results = sum(len(result.observations) for result in found)
    print(
        f"{curves} curves of {points} points: {core:.2f} s of a core, {clock:.2f} s; {good} read, {results} results"
    )


if __name__ == "__main__":
    main()
