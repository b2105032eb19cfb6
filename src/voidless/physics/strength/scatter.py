"""Scatter of strength between specimens by the weakest link."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammaln

from voidless.physics.guards import require_positive

__all__ = ["scatter_weibull_1939", "size_effect_weibull_1939"]

Floats = NDArray[np.float64]


def scatter_weibull_1939(modulus: ArrayLike) -> Floats:
    """
    Return standard deviation over mean of the strength of like specimens.

    Parameters
    ----------
    modulus : (n,) float array
        Weibull modulus. [1]

    Returns
    -------
    scatter : (n,) float array
        √(Γ(1 + 2/m)/Γ(1 + 1/m)² - 1): about 1.2/m when large. [1]

    Raises
    ------
    InputError
        `modulus` is not positive.

    Notes
    -----
    W. Weibull, "A statistical theory of the strength of materials", Stockholm, 1939 (from memory). For specimens
    that break at the worst of many flaws; those that yield first scatter less and otherwise.
    """
    require_positive("scatter_weibull_1939", modulus=modulus)
    m = np.asarray(modulus, dtype=float)
    return np.asarray(np.sqrt(np.expm1(gammaln(1.0 + 2.0 / m) - 2.0 * gammaln(1.0 + 1.0 / m))))


def size_effect_weibull_1939(welds: ArrayLike, modulus: ArrayLike) -> Floats:
    """
    Return the mean strength of a specimen with more welds in its gauge length, over that with one.

    Parameters
    ----------
    welds : (n,) float array
        How many times as many equal welds can break. [1]
    modulus : (n,) float array
        Weibull modulus. [1]

    Returns
    -------
    share : (n,) float array
        welds^(-1/m). [1]

    Raises
    ------
    InputError
        A value is not positive.

    Notes
    -----
    A chain of equal, independent links. Long upright gauges are weaker than short ones by this much.
    """
    require_positive("size_effect_weibull_1939", welds=welds, modulus=modulus)
    return np.asarray(np.asarray(welds, dtype=float) ** (-1.0 / np.asarray(modulus)))
