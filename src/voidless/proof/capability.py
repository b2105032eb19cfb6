"""How many times the scatter fits between the mean and the nearest limit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import optimize, special, stats

from voidless.errors import InputError

__all__ = ["Capability", "capability"]


@dataclass(frozen=True)
class Capability:
    """
    Capability of a process whose values are normal.

    Attributes
    ----------
    value : float
        Distance of the mean from the nearest limit over three standard deviations. [1]
    low : float
        Lower confidence bound. [1]
    outside : float
        Share outside the limits at the estimates. [1]
    """

    value: float
    low: float
    outside: float


def capability(
    mean: float, sd: float, size: int, low: float, high: float, confidence: float = 0.95
) -> Capability:
    """
    Return capability with its one-sided lower confidence bound.

    Parameters
    ----------
    mean, sd : float
        Of the values. [unit of the response]
    size : int
        Values behind them, from 2. [1]
    low, high : float
        Limits; infinite where there is none. [unit of the response]

    Raises
    ------
    InputError
        Fewer than two values, no scatter, or no limit.

    Notes
    -----
    For one limit the bound is exact (noncentral t); with two it is that of the nearer limit, and so not exact when
    the mean lies in the middle. Kushler & Hurley, J. Qual. Technol. 24 (1992) 188.
    """
    if size < 2 or not sd > 0.0 or not (np.isfinite(low) or np.isfinite(high)):
        raise InputError(
            "capability", f"{size} values, standard deviation {sd}, limits {low} to {high}",
            "two or more values that scatter, and a limit", "Measure more, or state a specification.",
        )  # fmt: skip
    value = float(min(mean - low, high - mean) / (3.0 * sd))
    root = np.sqrt(size)
    observed = 3.0 * value * root

    def excess(bound: float) -> float:
        return float(stats.nct.sf(observed, size - 1, 3.0 * bound * root)) - (1.0 - confidence)

    lowest = value - 3.0 * (1.0 + abs(value))
    bound = float(optimize.brentq(excess, lowest, value + 1.0)) if np.isfinite(observed) else value
    outside = float(special.ndtr((low - mean) / sd) + special.ndtr((mean - high) / sd))
    return Capability(value, bound, outside)
