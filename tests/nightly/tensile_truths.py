"""
Tensile tests of a bench that is invented here: are the intervals right?

    python tests/nightly/measure_coverage.py tensile

The generator knows nothing of the reduction: material, slack, machine and slips are solved for travel, then the
force cell adds a wandering zero, hum at a few frequencies, impulses' tails and a last digit. For each truth the share of 95 %
intervals that hold it, the median error and the width against the interval that the true errors would give are printed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from voidless.errors import ComputationError
from voidless.measure.curves.read import Curve
from voidless.measure.tensile.bench import Bench
from voidless.measure.tensile.lengths import LengthRecord, fit_lengths
from voidless.measure.tensile.reduce import reduce_tensile

SECTION = 40.0
CELL_N = 5000.0


@dataclass(frozen=True)
class Truth:
    """An invented material on an invented bench."""

    name: str
    modulus_mpa: float
    top_mpa: float
    ductile: bool
    noise_n: float = 1.0
    drift_n: float = 0.5
    digit_n: float = 0.1
    rate_hz: float = 50.0
    slips: int = 0
    give_mm_n: float = 3e-4


TRUTHS = (
    Truth("brittle, quiet", 3200.0, 38.0, False),
    Truth("brittle, noisy", 3200.0, 22.0, False, noise_n=4.0, drift_n=2.0),
    Truth("ductile, quiet", 2000.0, 46.0, True),
    Truth("ductile, noisy", 2000.0, 46.0, True, noise_n=5.0, drift_n=3.0),
    Truth("ductile, coarse digit", 1500.0, 32.05, True, noise_n=0.5, digit_n=5.0),
    Truth("brittle, slips", 2600.0, 40.0, False, slips=2),
    Truth("ductile, slips", 2000.0, 46.0, True, slips=2),
    Truth("brittle, weak weld", 2000.0, 9.0, False, noise_n=1.0, drift_n=1.0),
)


def stress_of(truth: Truth, strain: np.ndarray) -> np.ndarray:
    """Return stress: straight with a slight bend up to a brittle break, or rounded over a yield point. [MPa]"""
    if not truth.ductile:
        limit = truth.top_mpa
        bend = 0.08 * truth.modulus_mpa**2 / limit  # 8 % softer at the break than at the start
        return truth.modulus_mpa * strain - bend * strain**2
    at = 2.2 * truth.top_mpa / truth.modulus_mpa
    share = strain / at
    power = truth.modulus_mpa * at / truth.top_mpa  # slope at the origin is the modulus, the top is at `at`
    top = truth.top_mpa * (1.0 - np.abs(1.0 - np.minimum(share, 1.0)) ** power)
    fallen = truth.top_mpa * (1.0 - 0.25 * (1.0 - np.exp(-((np.maximum(share, 1.0) - 1.0) ** 2) / 0.5)))
    return np.where(share <= 1.0, top, fallen)


def break_strain(truth: Truth) -> float:
    """Return the strain at which the bar breaks. [1]"""
    if truth.ductile:
        return 2.2 * truth.top_mpa / truth.modulus_mpa * 2.2
    # Root of the bent line at the strength.
    return truth.top_mpa / truth.modulus_mpa * (1.0 - np.sqrt(1.0 - 4.0 * 0.08)) / (2.0 * 0.08)


def modulus_of(truth: Truth) -> float:
    """Return the true chord modulus between 0.05 and 0.25 %. [MPa]"""
    low, high = stress_of(truth, np.array([0.0005, 0.0025]))
    return float(high - low) / 0.002


def give_of(truth: Truth, force: np.ndarray) -> np.ndarray:
    """Return the travel of machine and grips: soft at first, stiffer later. [mm]"""
    return truth.give_mm_n * (force + 60.0 * (1.0 - np.exp(-force / 60.0)))


def force_errors(truth: Truth, count: int, rng: np.random.Generator) -> np.ndarray:
    """Return what the cell adds: hum, tails of impulses, white noise and a wandering zero. [N]"""
    time = np.arange(count) / truth.rate_hz
    hum = sum(
        a * np.sin(2 * np.pi * f * time + rng.uniform(0, 2 * np.pi))
        for a, f in ((0.5, 12.3), (0.35, 7.1), (0.3, 21.7))
    )
    kicks = np.where(rng.random(count) < 0.05, rng.laplace(0.0, 0.7, count), 0.0)
    tails = np.convolve(kicks, np.exp(-np.arange(12) / 3.0))[:count]
    white = rng.standard_normal(count) * 0.6
    noise = truth.noise_n * (hum + tails + white)
    end = truth.drift_n * rng.standard_normal()
    bent = rng.uniform(0.6, 1.6)
    walk = np.cumsum(rng.standard_normal(count)) / np.sqrt(count) * 0.3 * truth.drift_n
    return noise + end * np.linspace(0.0, 1.0, count) ** bent + walk


def record(truth: Truth, length_mm: float, rng: np.random.Generator) -> tuple[Curve, np.ndarray]:
    """Return one test as the machine writes it, and the true strain at each reading."""
    grid = np.linspace(0.0, break_strain(truth), 4000)
    stress = stress_of(truth, grid)
    slack = rng.uniform(0.02, 0.15)
    travel = grid * length_mm + give_of(truth, stress * SECTION)
    duration = rng.uniform(25.0, 60.0) if not truth.ductile else rng.uniform(60.0, 110.0)
    count = int(duration * truth.rate_hz)
    along = np.linspace(0.0, slack + travel[-1], count)
    lost = np.zeros(count)
    for _ in range(truth.slips):
        at = rng.uniform(0.15, 0.38) if truth.ductile else rng.uniform(0.55, 0.9)
        lost += np.where(along > at * along[-1], rng.uniform(0.03, 0.06) * length_mm * grid[-1], 0.0)
    taken = np.maximum(along - slack - lost, 0.0)
    if truth.slips:
        more = np.arange(1, int(lost[-1] / (along[1] - along[0])) + 1) * (along[1] - along[0])
        along = np.append(along, along[-1] + more)
        taken = np.append(taken, taken[-1] + more)
        taken = np.minimum(taken, travel[-1])
    # Where the force falls past yield, travel still grows: interpolation in travel stays single-valued.
    strain = np.interp(taken, np.maximum.accumulate(travel), grid)
    force = np.interp(strain, grid, stress) * SECTION
    tail = int(rng.integers(60, 200))
    force = np.concatenate([force, np.zeros(tail)])
    along = np.concatenate([along, along[-1] + np.arange(1, tail + 1) * (along[1] - along[0])])
    read = force + force_errors(truth, force.size, rng)
    read = np.round(read / truth.digit_n) * truth.digit_n
    shown = np.round(along / 0.001) * 0.001
    curve = Curve(
        "bar",
        {"force_n": read, "travel_mm": shown, "time_s": np.arange(force.size) / truth.rate_hz},
        facts={"span_mm": length_mm},
    )
    return curve, strain


def strength_tests(given: Truth, tests: int, rng: np.random.Generator) -> dict[str, np.ndarray]:
    """Return error and standard uncertainty of each reduced value, as shares of its truth. (tests, 2)"""
    found: dict[str, list[tuple[float, float]]] = {}
    truth = given
    for _ in range(tests):
        # A strength that always lies at the same place between two digits would show one error of rounding, not its spread.
        digit_mpa = truth.digit_n / SECTION
        truth = replace(truth, top_mpa=given.top_mpa + digit_mpa * rng.uniform(-0.5, 0.5))
        curve, _ = record(truth, 115.0, rng)
        for method in ("maximum", "iso527_2012"):
            result = reduce_tensile(curve, SECTION, method=method, bench=Bench())
            found.setdefault(method, []).append(
                (
                    result.strength_mpa / truth.top_mpa - 1.0,
                    result.uncertainty["strength_mpa"] / truth.top_mpa,
                )
            )
        if truth.ductile:
            value, unsure = result.yield_mpa, result.uncertainty.get("yield_mpa")
            found.setdefault("yield", []).append(
                (np.nan, np.nan) if value is None else (value / truth.top_mpa - 1.0, unsure / truth.top_mpa)
            )
        elif result.yield_mpa is not None:
            found.setdefault("no yield", []).append((np.nan, np.nan))
    return {name: np.array(rows) for name, rows in found.items()}


def modulus_tests(truth: Truth, tests: int, rng: np.random.Generator) -> np.ndarray:
    """Return error and standard uncertainty of the modulus by three lengths, as shares of its truth. (tests, 2)"""
    rows = []
    for _ in range(tests):
        records = []
        for length in (25.0, 60.0, 115.0):
            curve, _ = record(truth, length, rng)
            records.append(
                LengthRecord(
                    f"{length}", length, SECTION, curve.channels["force_n"], curve.channels["travel_mm"]
                )
            )
        try:
            fit = fit_lengths(records)
        except ComputationError as fault:
            print(f"refused: {fault}")
            continue
        true = modulus_of(truth) / 1e3
        rows.append((fit.modulus_gpa / true - 1.0, fit.uncertainty_gpa / true))
    return np.array(rows)


def judge(rows: np.ndarray) -> tuple[float, float, float]:
    """Return the share of intervals that hold the truth, the root mean square error, and the relative width."""
    error, unsure = rows.T
    held = np.abs(error) <= 1.96 * unsure
    wide = np.quantile(np.abs(error), 0.95)
    return float(np.mean(held)), float(np.sqrt(np.mean(error**2))), float(np.mean(1.96 * unsure) / wide)


CASES = len(TRUTHS)


def tell(place: int, count: int) -> list[str]:
    """Return the lines of one truth, one a value."""
    truth, rng = TRUTHS[place], np.random.default_rng([527, place])
    found = strength_tests(truth, count, rng)
    if not truth.slips:
        found["modulus"] = modulus_tests(truth, count, rng)
    lines = []
    for name, rows in found.items():
        held, error, wide = judge(rows)
        said = f"{truth.name:24s} {name:12s} n {len(rows)}  rms error {100 * error:.3f} %"
        lines.append(f"{said}  covered {100 * held:.1f} %  width/true {wide:.2f}")
    return lines
