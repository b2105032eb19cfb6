"""Spread, correlation and last digit of readings about a smooth course."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.errors import ComputationError

__all__ = ["Noise", "long_run", "noise_of", "quick_noise", "step_of"]

Floats = NDArray[np.float64]

DEGREE = 3
GROUPS = 16
FEWEST = 24
"""Fewest readings about which a cubic course and its correlation are judged; our choice. [1]"""


@dataclass(frozen=True)
class Noise:
    """
    Noise of a channel.

    Attributes
    ----------
    sd : float
        Standard deviation of one reading. [unit of the channel]
    inflation : float
        Variance of a mean of many readings times their number over the variance of one; 1 for white noise. [1]
    step : float
        Last digit that the channel resolves; 0 where none shows. [unit of the channel]
    """

    sd: float
    inflation: float = 1.0
    step: float = 0.0

    @property
    def unresolved(self) -> float:
        """Standard uncertainty that the last digit leaves where the noise does not smooth it out."""
        return self.step / 12**0.5 if self.sd < 0.5 * self.step else 0.0


def quick_noise(values: Floats) -> float:
    """
    Return the standard deviation of white noise on a smooth course.

    Parameters
    ----------
    values : (n,) float array
        Readings in order. [unit of the channel]

    Returns
    -------
    sd : float
        0 below five readings. [unit of the channel]

    Notes
    -----
    Second differences of white noise have a variance of 6 times its own; the median of the absolute
    value of a normal variable is 0.6745 standard deviations. Correlated noise is underestimated.
    """
    values = np.asarray(values, dtype=float)
    if values.size < 5:
        return 0.0
    return float(np.median(np.abs(np.diff(values, 2))) / (0.6745 * np.sqrt(6.0)))


def step_of(values: Floats) -> float:
    """
    Return the last digit that readings resolve.

    Parameters
    ----------
    values : (n,) float array
        Readings. [unit of the channel]

    Returns
    -------
    step : float
        Smallest distance between different readings where each is met again on average; else 0.
        [unit of the channel]
    """
    found = np.unique(np.asarray(values, dtype=float))
    if found.size < 2 or found.size > 0.5 * np.size(values):
        return 0.0
    gaps = np.diff(found)
    return float(gaps[gaps > 1e-9 * float(np.ptp(found))].min(initial=np.inf))


def long_run(residual: Floats, lost: int, groups: int = GROUPS) -> tuple[float, float]:
    """
    Return the variance of one residual, and the inflation of the variance of their mean.

    Parameters
    ----------
    residual : (n,) float array
        Readings less their fitted course. [unit of the channel]
    lost : int
        Parameters of that course. [1]
    groups : int
        Groups that are averaged before their spread is judged. [1]

    Returns
    -------
    found : (float, float)
        Variance [unit squared], inflation, never below 1. [1]

    Notes
    -----
    Means of groups keep what hangs together within a group and need no model of it. Correlation that
    reaches over a group's length shows as correlation between neighbouring means and enlarges the
    inflation by (1 + phi) / (1 - phi), phi corrected for its bias of about -(1 + lost) / groups
    (Marriott and Pope, Biometrika 41 (1954) 390, leading term, from memory).
    """
    n = residual.size
    variance = float(residual @ residual) / max(n - lost, 1)
    groups = min(groups, n)
    if groups <= lost + 2 or not variance > 0:
        return variance, 1.0
    edges = np.linspace(0, n, groups + 1).astype(int)[:-1]
    counts = np.diff(np.append(edges, n))
    means = np.add.reduceat(residual, edges) / counts
    between = float(np.sum(counts * means**2)) / (groups - lost)
    power = float(means @ means)
    phi = float(means[1:] @ means[:-1]) / power + (1.0 + lost) / groups if power > 0 else 0.0
    phi = min(max(phi, 0.0), 0.8)
    return variance, max(between / variance * (1.0 + phi) / (1.0 - phi), 1.0)


def noise_of(values: Floats, step: float = 0.0) -> Noise:
    """
    Return the noise of readings about a cubic course.

    Parameters
    ----------
    values : (n,) float array
        Readings of a smooth stretch, in order. [unit of the channel]
    step : float
        Last digit that the channel resolves. [unit of the channel]

    Returns
    -------
    noise : Noise
        From second differences where there are fewer than 24 readings.

    Raises
    ------
    ComputationError
        A reading is not finite.
    """
    values = np.asarray(values, dtype=float)
    if not np.all(np.isfinite(values)):
        raise ComputationError("noise", "a reading that is not finite", "finite readings")
    if values.size < FEWEST:
        return Noise(quick_noise(values), 1.0, step)
    place = np.linspace(-1.0, 1.0, values.size)
    basis = np.polynomial.legendre.legvander(place, DEGREE)
    level = values - values.mean()
    residual = level - basis @ np.linalg.lstsq(basis, level, rcond=None)[0]
    variance, inflation = long_run(residual, DEGREE + 1)
    return Noise(variance**0.5, inflation, step)
