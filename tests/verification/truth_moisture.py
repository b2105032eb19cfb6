"""
Filaments that drink, simulated by rings of finite volume, and a bench that weighs them badly.

Nothing here is shared with the reduction: the water moves by implicit steps on rings, not by a series; the balance
rounds, wanders in a slow wave and keeps part of its last error; gauges are off by their stated uncertainty all along.
"""

from dataclasses import dataclass

import numpy as np
from scipy.linalg import solve_banded

CELLS, STEPS = 300, 60


@dataclass(frozen=True)
class Truth:
    name: str
    diffusivity: float
    """At 23 °C. [m²/s]"""
    start: float
    saturation: float
    hours: tuple[float, ...]
    humidity: tuple[float, ...]
    celsius: tuple[float, ...]
    dry_g: float = 50.0


def plan(dry_h, wet_h, points=(9, 13), humidity=(0.05, 0.60), celsius=(23.0, 23.0)):
    """Return hours, humidity and temperature of a stay in dry air and one in moist air."""
    first = np.geomspace(dry_h / 60, dry_h, points[0])
    second = dry_h + np.geomspace(wet_h / 100, wet_h, points[1])
    hours = (0.0, *first, *second)
    pick = [0] + [0] * points[0] + [1] * points[1]
    return hours, tuple(humidity[k] for k in pick), tuple(celsius[k] for k in pick)


TRUTHS = (
    Truth("slow", 5e-13, 0.004, 0.005, *plan(240.0, 960.0)),
    Truth("common", 4e-12, 0.003, 0.006, *plan(30.0, 120.0)),
    Truth("warm dryer", 3e-12, 0.004, 0.008, *plan(8.0, 160.0, celsius=(65.0, 23.0))),
    Truth("thirsty", 1e-11, 0.010, 0.020, *plan(12.0, 48.0)),
    Truth("one humidity", 5e-12, 0.0002, 0.006, *plan(0.5, 90.0, points=(1, 21), humidity=(0.5, 0.5))),
)


def exact_mass(truth, radius=0.875e-3, activation=40e3):
    """Return the true mass at each weighing. [g]"""
    edges = np.linspace(0.0, radius, CELLS + 1)
    volume = np.diff(edges**2)
    width = radius / CELLS
    held = np.full(CELLS, truth.start)
    found = [truth.start]
    for k in range(1, len(truth.hours)):
        span = 3600.0 * (truth.hours[k] - truth.hours[k - 1])
        speed = truth.diffusivity * np.exp(
            -activation / 8.314462618 * (1 / (truth.celsius[k] + 273.15) - 1 / 296.15)
        )
        rest = truth.saturation * truth.humidity[k]
        for step in np.diff(span * np.linspace(0.0, 1.0, STEPS + 1) ** 2.5):
            inner = 2.0 * edges[1:-1] / width * speed * step
            outer = 4.0 * radius / width * speed * step
            main, above, below = volume.copy(), np.zeros(CELLS), np.zeros(CELLS)
            main[:-1] += inner
            main[1:] += inner
            main[-1] += outer
            above[1:], below[:-1] = -inner, -inner
            right = volume * held
            right[-1] += outer * rest
            held = solve_banded((1, 1), np.vstack([above, main, below]), right)
        found.append(float(held @ volume) / radius**2)
    return truth.dry_g * (1.0 + np.array(found))


@dataclass(frozen=True)
class Bench:
    """Spreads of a bench: noise, slow wave, last digit [g]; diameter [mm], humidity [1], temperature [°C]."""

    noise_g: float = 3e-4
    memory: float = 0.5
    wave_g: float = 3e-4
    step_g: float = 1e-4
    diameter_mm: float = 0.01
    humidity: float = 0.02
    celsius: float = 0.3


def balance_errors(truth, bench, rng):
    """Return what the balance adds, before it rounds. [g]"""
    hours = np.array(truth.hours)
    errors, last = np.zeros(len(hours)), 0.0
    for k in range(len(hours)):
        last = bench.memory * last + rng.normal(0.0, bench.noise_g * (1 - bench.memory**2) ** 0.5)
        errors[k] = last
    period = max(hours[-1] / rng.uniform(1.5, 6.0), 1e-9)
    return errors + bench.wave_g * np.sin(2 * np.pi * hours / period + rng.uniform(0, 2 * np.pi))


def weighed(truth, mass, bench, rng):
    """Return what the bench says: masses, diameter, humidity, temperature."""
    readings = np.round((mass + balance_errors(truth, bench, rng)) / bench.step_g) * bench.step_g
    diameter = 1.75 + rng.normal(0.0, bench.diameter_mm)
    # the instrument is off by its zero and by its slope, each a part of the stated spread
    zero, slope = rng.normal(0.0, bench.humidity, 2) * 0.7
    humidity = np.array(truth.humidity) * (1 + slope / max(truth.humidity)) + zero
    celsius = np.array(truth.celsius) + rng.normal(0.0, bench.celsius)
    return readings, diameter, np.maximum(humidity, 0.0), celsius
