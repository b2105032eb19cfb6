"""Void share of a layer whose fill scatters from place to place."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr

from voidless.physics.guards import require_positive

__all__ = ["mean_excess", "mean_shortfall", "shortfall_probability"]

Floats = NDArray[np.float64]

_ROOT_TWO_PI = float(np.sqrt(2.0 * np.pi))


def mean_shortfall(deficit: ArrayLike, scatter: ArrayLike) -> Floats:
    """
    Return the mean void share where the local fill scatters normally about its mean.

    Parameters
    ----------
    deficit : (n,) float array
        Mean volume that is lacking, negative when there is more than enough. [1]
    scatter : (n,) float array
        Standard deviation of the fill along the bead. [1]

    Returns
    -------
    share : (n,) float array
        Mean of the positive part of the deficit: σ (z Φ(z) + φ(z)), z = deficit/σ. [1]

    Raises
    ------
    InputError
        `scatter` is not positive.

    Notes
    -----
    Volume that is too much in one place is not carried to the next: melt moves sideways, not along the bead.
    The limit of no scatter is max(0, deficit), the rigid geometry.
    """
    require_positive("mean_shortfall", scatter=scatter)
    sigma = np.asarray(scatter, dtype=float)
    z = np.asarray(deficit, dtype=float) / sigma
    density = np.exp(-0.5 * z**2) / _ROOT_TWO_PI
    # far below zero the two terms cancel; their series φ(z)/z² keeps the sign right
    far = density / np.where(z < -8.0, z, 1.0) ** 2
    return np.asarray(sigma * np.where(z < -8.0, far, z * ndtr(z) + density))


def shortfall_probability(deficit: ArrayLike, scatter: ArrayLike) -> Floats:
    """
    Return the share of the bead's length along which a void runs.

    Parameters
    ----------
    deficit : (n,) float array
        Mean volume that is lacking. [1]
    scatter : (n,) float array
        Standard deviation of the fill along the bead. [1]

    Returns
    -------
    share : (n,) float array
        Φ(deficit/σ). [1]

    Raises
    ------
    InputError
        `scatter` is not positive.
    """
    require_positive("shortfall_probability", scatter=scatter)
    return np.asarray(ndtr(np.asarray(deficit, dtype=float) / np.asarray(scatter)))


def mean_excess(deficit: ArrayLike, scatter: ArrayLike) -> Floats:
    """
    Return the mean volume that finds no room.

    Parameters
    ----------
    deficit : (n,) float array
        Mean volume that is lacking. [1]
    scatter : (n,) float array
        Standard deviation of the fill along the bead. [1]

    Returns
    -------
    share : (n,) float array
        `mean_shortfall` of the opposite deficit; shortfall less excess is the deficit itself. [1]

    Raises
    ------
    InputError
        `scatter` is not positive.
    """
    return mean_shortfall(-np.asarray(deficit, dtype=float), scatter)
