"""Bounds instead of values: bars that broke early, builds that failed or not."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr

__all__ = ["truncated_sites"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_EXACT = 1e-9
_SWEEPS = 40
_DAMPING = 0.6


def truncated_sites(covariance: Floats, limits: Floats, sides: Ints) -> tuple[Floats, Floats]:
    """
    Return normal observations that stand for exact values and bounds.

    Parameters
    ----------
    covariance : (n, n) float array
        Prior covariance of the observed quantities about mean 0, noise included. [1]
    limits : (n,) float array
        Exact value, or the bound. [1]
    sides : (n,) int array
        0 exact, 1 the quantity is above `limits`, -1 below.

    Returns
    -------
    target : (n,) float array
        Values of the stand-ins. [1]
    variance : (n,) float array
        Their variances, beside what `covariance` already holds. [1]

    Notes
    -----
    Expectation propagation with one truncated-normal site per bound (Minka 2001; Rasmussen & Williams
    2006, section 3.6, whose probit site is the same integral). Parallel updates, damped.
    """
    target = limits.astype(float).copy()
    variance = np.full(limits.size, _EXACT)
    bound = np.flatnonzero(sides)
    if not bound.size:
        return target, variance
    side, limit = sides[bound].astype(float), limits[bound]
    variance[bound] = np.diag(covariance)[bound]
    for _ in range(_SWEEPS):
        inverse = np.linalg.inv(covariance + np.diag(variance))
        precision = np.diag(inverse)[bound]
        cavity_mean = target[bound] - (inverse @ target)[bound] / precision
        cavity_variance = np.maximum(1.0 / precision - variance[bound], 1e-12)
        mean, spread = _truncated_moments(cavity_mean, cavity_variance, limit, side)
        gained = np.maximum(1.0 / spread - 1.0 / cavity_variance, 1e-8)
        natural = mean / spread - cavity_mean / cavity_variance
        old = 1.0 / variance[bound]
        mixed = _DAMPING * gained + (1.0 - _DAMPING) * old
        natural = _DAMPING * natural + (1.0 - _DAMPING) * old * target[bound]
        moved = float(np.max(np.abs(natural / mixed - target[bound])))
        variance[bound], target[bound] = 1.0 / mixed, natural / mixed
        if moved < 1e-6:
            break
    return target, variance


def _truncated_moments(mean: Floats, variance: Floats, limit: Floats, side: Floats) -> tuple[Floats, Floats]:
    """Return mean and variance of a normal cut off at `limit`, kept on the `side`."""
    spread = np.sqrt(variance)
    distance = side * (mean - limit) / spread
    ratio = np.exp(-0.5 * distance**2 - 0.5 * np.log(2.0 * np.pi) - log_ndtr(distance))
    return mean + side * spread * ratio, variance * np.maximum(1.0 - ratio * (distance + ratio), 1e-6)
