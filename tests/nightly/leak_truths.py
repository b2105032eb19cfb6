"""
Leak tests of a vessel that is invented here: are the intervals right?

    python tests/nightly/measure_coverage.py leak

The gas follows the room through a wall (a first-order lag), the room swings and drifts, the thermometer sits in the gas and
wanders a little, the pressure transducer hums, wanders and shows a last digit. The reduction knows nothing of this.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from voidless.measure.tightness.decay import leak_from_decay

VOLUME = 2e-4
REFERENCE = 296.15


@dataclass(frozen=True)
class Truth:
    """An invented leak and its bench."""

    name: str
    rate: float
    drift_k: float
    noise_pa: float = 8.0
    digit_pa: float = 1.0
    minutes: float = 30.0


TRUTHS = (
    Truth("large, warm room", 5e-5, 1.5),
    Truth("medium, warm room", 2e-5, 1.0),
    Truth("medium, coarse digit", 2e-5, 0.5, noise_pa=3.0, digit_pa=50.0),
    Truth("medium, noisy", 2e-5, 1.0, noise_pa=40.0, minutes=60.0),
    Truth("small, long", 5e-6, 1.0, minutes=120.0),
    Truth("tight", 0.0, 1.0),
)


def record(truth: Truth, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return time, pressure and temperature as read. [s], [Pa], [K]"""
    time = np.arange(0.0, truth.minutes * 60.0, 2.0)
    swing = 0.3 * np.sin(2 * np.pi * time / rng.uniform(400, 900) + rng.uniform(0, 6.28))
    room = REFERENCE + truth.drift_k * rng.uniform(-1, 1) * time / time[-1] + swing
    gas = np.empty_like(room)
    gas[0] = room[0] + rng.uniform(-0.3, 0.3)
    for n in range(1, time.size):
        gas[n] = gas[n - 1] + (room[n - 1] - gas[n - 1]) * 2.0 / 240.0
    amount = 3e5 / REFERENCE - truth.rate / VOLUME * time / REFERENCE
    pressure = amount * gas
    kicks = np.convolve(rng.standard_normal(time.size + 20), np.exp(-np.arange(21) / 6.0), "valid") / 1.75
    hum = np.sin(2 * np.pi * time / 7.3 + rng.uniform(0, 6.28))
    read = pressure + truth.noise_pa * (0.7 * kicks + 0.5 * hum + 0.5 * rng.standard_t(5, time.size))
    read = np.round(read / truth.digit_pa) * truth.digit_pa
    sensor = gas + 0.005 * np.convolve(rng.standard_normal(time.size + 30), np.ones(31) / 31**0.5, "valid")
    return time, read, np.round(sensor / 0.001) * 0.001


def tests_of(truth: Truth, tests: int, rng: np.random.Generator) -> np.ndarray:
    """Return error and standard uncertainty of each test. (tests, 2) [Pa m³/s]"""
    rows = []
    for _ in range(tests):
        time, pressure, temperature = record(truth, rng)
        found = leak_from_decay(time, pressure, temperature, VOLUME, 0.0, REFERENCE)
        rows.append((found.rate - truth.rate, found.uncertainty))
    return np.array(rows)


def judge(rows: np.ndarray) -> tuple[float, float, float]:
    """Return the share of intervals that hold, the root mean square error, and the width against true errors."""
    error, unsure = rows.T
    held = float(np.mean(np.abs(error) <= 1.96 * unsure))
    return held, float(np.sqrt(np.mean(error**2))), float(np.mean(unsure) / np.std(error))


CASES = len(TRUTHS)


def tell(place: int, count: int) -> list[str]:
    """Return the line of one truth."""
    truth = TRUTHS[place]
    held, error, wide = judge(tests_of(truth, count, np.random.default_rng([20, place])))
    share = f"{100 * error / truth.rate:.2f} %" if truth.rate else "-"
    said = f"{truth.name:22s} n {count}  rms error {error:.2e} Pa m³/s  {share:>8s}"
    return [f"{said}  covered {100 * held:.1f} %  width/true {wide:.2f}"]
