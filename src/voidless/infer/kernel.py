"""Matérn-5/2 covariance on the unit cube with one length per factor."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["matern", "matern_slopes", "squared_differences"]

Floats = NDArray[np.float64]
_ROOT5 = np.sqrt(5.0)


def squared_differences(points: Floats) -> Floats:
    """Return squared differences of points `(n, k)` per factor, `(k, n, n)`. [1]"""
    columns = points.T
    return np.asarray((columns[:, :, None] - columns[:, None, :]) ** 2)


def matern(first: Floats, second: Floats, lengths: Floats) -> Floats:
    """
    Return the correlation of a Matérn process of smoothness 5/2.

    Parameters
    ----------
    first : (n, k) float array
        Points of the unit cube. [1]
    second : (m, k) float array
        Points of the unit cube. [1]
    lengths : (k,) float array
        Correlation lengths. [1]

    Returns
    -------
    correlation : (n, m) float array
        (1 + s + s²/3) exp(-s), s = sqrt(5) r. [1]

    Notes
    -----
    Rasmussen & Williams, "Gaussian Processes for Machine Learning", MIT Press 2006, equation 4.17.

    Examples
    --------
    >>> round(float(matern(np.zeros((1, 1)), np.ones((1, 1)), np.ones(1))[0, 0]), 6)
    0.523994
    """
    a, b = first / lengths, second / lengths
    squared = np.sum(a**2, axis=1)[:, None] + np.sum(b**2, axis=1)[None, :] - 2.0 * (a @ b.T)
    scaled = _ROOT5 * np.sqrt(np.maximum(squared, 0.0))  # rounding may leave -1e-17
    return np.asarray((1.0 + scaled + scaled**2 / 3.0) * np.exp(-scaled))


def matern_slopes(differences: Floats, lengths: Floats) -> tuple[Floats, Floats]:
    """
    Return the correlation among training points and a factor of its derivatives.

    Parameters
    ----------
    differences : (k, n, n) float array
        From `squared_differences`. [1]
    lengths : (k,) float array
        Correlation lengths. [1]

    Returns
    -------
    correlation : (n, n) float array
        As `matern`. [1]
    common : (n, n) float array
        d correlation / d log length_j = common * differences[j] / length_j². [1]
    """
    size = differences.shape[1]
    squared = (lengths**-2.0) @ differences.reshape(lengths.size, -1)
    scaled = _ROOT5 * np.sqrt(squared.reshape(size, size))
    decay = np.exp(-scaled)
    return np.asarray((1.0 + scaled + scaled**2 / 3.0) * decay), np.asarray(
        5.0 / 3.0 * (1.0 + scaled) * decay
    )
