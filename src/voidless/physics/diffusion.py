"""Exact transients of a slab and a long cylinder whose surface steps to a new value."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import j1, jn_zeros

from voidless.physics.guards import require_not_negative

__all__ = ["cylinder_centre_residual", "cylinder_mean_residual", "slab_mean_residual"]

Floats = NDArray[np.float64]

# 30 terms leave less than 1e-15 above the crossover; below it the short-time series is within 3e-6.
_TERMS = 30
_SHORT = 0.004
_ZEROS = np.asarray(jn_zeros(0, _TERMS), dtype=float)
_ODD = np.asarray(2.0 * np.arange(_TERMS) + 1.0, dtype=np.float64)


def _series(scaled_time: Floats, eigenvalues: Floats, weights: Floats) -> Floats:
    total = np.zeros_like(scaled_time)
    for eigenvalue, weight in zip(eigenvalues, weights, strict=True):
        total += weight * np.exp(-eigenvalue * scaled_time)
    return total


def cylinder_mean_residual(fourier: ArrayLike) -> Floats:
    """
    Return the share of the step that the mean of a long cylinder has not yet followed.

    Parameters
    ----------
    fourier : (n,) float array
        Diffusivity times time over radius squared, not negative. [1]

    Returns
    -------
    residual : (n,) float array
        1 at the start, 0 at rest. [1]

    Raises
    ------
    InputError
        `fourier` is negative or not finite.

    Notes
    -----
    Sum of 4/λ² exp(-λ² Fo) over the zeros λ of J0; for short times 1 - 4 sqrt(Fo/π) + Fo +
    Fo^1.5/(3 sqrt π) [1]_.

    References
    ----------
    .. [1] J. Crank, "The Mathematics of Diffusion", 2nd edition, Oxford, 1975, section 5.3 (equation
       numbers from memory).

    Examples
    --------
    >>> [round(float(x), 4) for x in cylinder_mean_residual([0.063058, 0.454261])]
    [0.5, 0.05]
    """
    require_not_negative("cylinder_mean_residual", fourier=fourier)
    fo = np.asarray(fourier, dtype=float)
    root = np.sqrt(fo / np.pi)
    short = 1.0 - 4.0 * root + fo + fo * root / 3.0
    long = _series(fo, _ZEROS**2, 4.0 / _ZEROS**2)
    return np.asarray(np.where(fo < _SHORT, short, long))


def cylinder_centre_residual(fourier: ArrayLike) -> Floats:
    """
    Return the share of the step that the axis of a long cylinder has not yet followed.

    Parameters
    ----------
    fourier : (n,) float array
        Diffusivity times time over radius squared, at least 0.004. [1]

    Returns
    -------
    residual : (n,) float array
        1 at the start, 0 at rest. [1]

    Raises
    ------
    InputError
        `fourier` is negative or not finite.

    Notes
    -----
    Sum of 2/(λ J1(λ)) exp(-λ² Fo); below Fo = 0.004 the axis has not felt the step (residual 1 within 1e-15).
    """
    require_not_negative("cylinder_centre_residual", fourier=fourier)
    fo = np.asarray(fourier, dtype=float)
    long = _series(fo, _ZEROS**2, 2.0 / (_ZEROS * np.asarray(j1(_ZEROS))))
    return np.asarray(np.where(fo < _SHORT, 1.0, long))


def slab_mean_residual(scaled_time: ArrayLike) -> Floats:
    """
    Return the share of the step that the mean of a slab has not yet followed, both faces stepped.

    Parameters
    ----------
    scaled_time : (n,) float array
        Diffusivity times time over full thickness squared, not negative. [1]

    Returns
    -------
    residual : (n,) float array
        1 at the start, 0 at rest. [1]

    Raises
    ------
    InputError
        `scaled_time` is negative or not finite.

    Notes
    -----
    Sum of 8/((2m+1)² π²) exp(-(2m+1)² π² D t/l²); for short times 1 - 4 sqrt(D t/(π l²)).
    """
    require_not_negative("slab_mean_residual", scaled_time=scaled_time)
    time = np.asarray(scaled_time, dtype=float)
    short = 1.0 - 4.0 * np.sqrt(time / np.pi)
    squared = np.asarray((_ODD * np.pi) ** 2, dtype=np.float64)
    long = _series(time, squared, np.asarray(8.0 / squared))
    return np.asarray(np.where(time < _SHORT, short, long))
