"""Heating and residence of a melt that flows by a power law in a tube: between plug and parabola."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.linalg import eigh
from scipy.special import j0, j1, jn_zeros

from voidless.errors import InputError
from voidless.physics.guards import require_between, require_not_negative

__all__ = ["residence_share", "residence_shortest", "sheared_mean_residual", "sheared_modes"]

Floats = NDArray[np.float64]

_BASIS = 40  # eigenfunctions of plug flow in which those of sheared flow are sought
_KEPT = 12
_POINTS = 400


def _require_index(where: str, index: float) -> None:
    if not 0.0 < index <= 1.0:
        raise InputError(where, f"index = {index:g}", "above 0, at most 1", "Correct index.")


@lru_cache(maxsize=32)
def sheared_modes(index: float) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """
    Return decay rates and weights of the mean temperature in a tube whose wall steps to a new value.

    Parameters
    ----------
    index : float
        Power-law index of the melt, above 0 (plug) to 1 (parabola). [1]

    Returns
    -------
    decays : (12,) tuple of float
        Squared eigenvalues per unit of Fourier number of the mean speed, rising. [1]
    weights : (12,) tuple of float
        Shares of the first step; their sum tends to 1. [1]

    Raises
    ------
    InputError
        `index` lies outside 0 to 1.

    Notes
    -----
    The Graetz problem for u/U = (3n+1)/(n+1) (1 - r^((n+1)/n)), Galerkin's method with the Bessel functions of
    plug flow. The first decay rate is the Nusselt number of the developed flow: 3.657 for n = 1, 5.783 for a
    plug.
    """
    _require_index("sheared_modes", index)
    nodes, gauss = np.polynomial.legendre.leggauss(_POINTS)
    r, area = 0.5 * (nodes + 1.0), 0.5 * gauss * 0.5 * (nodes + 1.0)
    speed = (3.0 * index + 1.0) / (index + 1.0) * (1.0 - r ** ((index + 1.0) / index))
    zeros = np.asarray(jn_zeros(0, _BASIS), dtype=float)
    basis = np.asarray(j0(np.outer(zeros, r)), dtype=float)
    conducted = np.diag(0.5 * zeros**2 * np.asarray(j1(zeros)) ** 2)
    carried = (basis * (area * speed)) @ basis.T
    decays, modes = eigh(conducted, carried)
    mean = 2.0 * modes.T @ (basis @ (area * speed))  # modes are normal in `carried`
    return tuple(float(x) for x in decays[:_KEPT]), tuple(float(x) for x in 0.5 * mean[:_KEPT] ** 2)


def sheared_mean_residual(fourier: ArrayLike, index: float) -> Floats:
    """
    Return the share of the step that the flow's mean temperature has not yet followed.

    Parameters
    ----------
    fourier : (n,) float array
        Diffusivity times length over radius squared and mean speed: π α L/Q. [1]
    index : float
        Power-law index, above 0 to 1. [1]

    Returns
    -------
    residual : (n,) float array
        1 at the start, 0 at rest; below Fo = 0.004 the sum's end shows (at most 0.03 low). [1]

    Raises
    ------
    InputError
        `fourier` is negative or `index` lies outside 0 to 1.

    Notes
    -----
    Larger than that of plug flow (`diffusion.cylinder_mean_residual`): the core is faster. A strand that melts
    from the wall is in between.
    """
    require_not_negative("sheared_mean_residual", fourier=fourier)
    decays, weights = sheared_modes(float(index))
    fo = np.asarray(fourier, dtype=float)
    total = np.zeros_like(fo)
    for decay, weight in zip(decays, weights, strict=True):
        total += weight * np.exp(-decay * fo)
    return np.asarray(total)


def residence_shortest(index: float) -> float:
    """
    Return the shortest residence time over the mean: that of the axis.

    Parameters
    ----------
    index : float
        Power-law index, above 0 to 1. [1]

    Returns
    -------
    share : float
        (n+1)/(3n+1): 0.5 for a parabola. [1]

    Raises
    ------
    InputError
        `index` lies outside 0 to 1.
    """
    _require_index("residence_shortest", index)
    return (index + 1.0) / (3.0 * index + 1.0)


def residence_share(time: ArrayLike, index: float) -> Floats:
    """
    Return the share of the flow that has left after some time.

    Parameters
    ----------
    time : (n,) float array
        Time over the mean residence time, not negative. [1]
    index : float
        Power-law index, above 0 to 1. [1]

    Returns
    -------
    share : (n,) float array
        0 until the axis arrives, then towards 1; for n = 1 it is 1 - 1/(4 θ²). [1]

    Raises
    ------
    InputError
        `time` is negative or `index` lies outside 0 to 1.

    Notes
    -----
    Steady flow without diffusion. Half of a Newtonian melt has left at 0.707 of the mean; the tail has no limit,
    so a little melt browns however short the mean is.
    """
    require_not_negative("residence_share", time=time)
    first, power = residence_shortest(index), (index + 1.0) / index
    late = np.maximum(np.asarray(time, dtype=float), first)
    radius = np.maximum(1.0 - first / late, 0.0) ** (1.0 / power)
    share = (radius**2 - 2.0 * radius ** (power + 2.0) / (power + 2.0)) / first
    require_between("residence_share", 0.0, 1.0 + 1e-9, share=share)
    return np.asarray(np.minimum(share, 1.0))
