"""The top of a noisy course."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voidless.measure.series.noise import Noise

__all__ = ["smooth_peak"]

Floats = NDArray[np.float64]

FEWEST = 6
CROSSED = 0.9
"""
Error of the top of a parabola through readings rounded to a last digit, over that digit's own standard
uncertainty and times the root of the digits that the course crosses: 0.72 to 0.76 for 2 to 12 digits without
noise, less with noise (simulated, 3,000 tops each; tests/unit/measure/test_series.py); a quarter more for tops
that lie to one side of their stretch. [1]
"""
ALLOWANCE = (0.5, 3.0)
"""
Share by which the variance of residuals may exceed that of the noise before a parabola is no longer believed, and
standard deviations of that variance beside it. Noise that comes in bursts has no steady variance; our choices. [1]
"""


def _parabola(part: Floats) -> tuple[float, float, float]:
    """Return the top of a fitted parabola within its stretch, its leverage, and the residual variance."""
    place = np.linspace(-1.0, 1.0, part.size)
    basis = np.polynomial.legendre.legvander(place, 2)
    # Legendre polynomials are all but orthogonal on evenly spaced places; solve the 3 by 3 system exactly.
    normal = np.linalg.inv(basis.T @ basis)
    level = float(part.mean())
    weights = normal @ (basis.T @ (part - level))
    fitted = basis @ weights
    at = int(np.argmax(fitted))
    leverage = float(basis[at] @ normal @ basis[at])
    residual = part - level - fitted
    return level + float(fitted[at]), leverage, float(residual @ residual) / (part.size - 3)


def _rounding(part: Floats, noise: Noise) -> float:
    """Return the standard uncertainty that the last digit leaves in the top of a parabola through a stretch."""
    if not noise.step > 0:
        return 0.0
    crossed = float(np.ptp(part)) / noise.step
    # The course itself smooths the digits that it crosses; on a single one nothing does.
    return noise.unresolved * (CROSSED / crossed**0.5 if crossed > 1.5 else 1.0)


def smooth_peak(values: Floats, at: int, low: int, high: int, noise: Noise) -> tuple[float, float]:
    """
    Return the top of a course near its largest reading, less what noise adds, and its uncertainty.

    Parameters
    ----------
    values : (n,) float array
        Readings in order. [unit of the channel]
    at : int
        Place of the largest reading. [1]
    low, high : int
        First and last place of the stretch on which the course is smooth. [1]
    noise : Noise
        Noise of a reading.

    Returns
    -------
    top : (float, float)
        Value and standard uncertainty, by noise and last digit alone. [unit of the channel]

    Notes
    -----
    A parabola through a stretch around the largest reading. Of stretches that double, the longest whose
    residuals are no larger than the noise is sought (short ones stand on a reading that noise has lifted),
    and half of it is used, on which the parabola misses several times less. Without noise the largest
    reading itself comes back.
    """
    raw, floor = float(values[at]), noise.step**2 / 12.0
    best = (raw, float(np.hypot(noise.sd, noise.unresolved)))
    if not noise.sd > 0:
        return best
    known = noise.sd**2 + floor
    found: list[tuple[float, float]] = []
    believed, half = -1, FEWEST
    while True:
        start, stop = max(low, at - half), min(high, at + half) + 1
        part = values[start:stop]
        if part.size >= FEWEST:
            top, leverage, left = _parabola(part)
            spread = noise.sd * min(noise.inflation * leverage, 1.0) ** 0.5
            found.append((top, float(np.hypot(spread, _rounding(part, noise)))))
            if left <= known * (1.0 + ALLOWANCE[0] + ALLOWANCE[1] * (2.0 / (part.size - 3)) ** 0.5):
                believed = len(found) - 1
        if start == low and stop == high + 1:
            break
        half *= 2
    if believed < 0:
        return best
    used = max(believed - 1, 0)
    top, spread = found[used]
    # What the parabola misses on the long stretch bounds what it misses on the one that is used.
    return top, float(np.hypot(spread, 0.5 * (found[believed][0] - top)))
