"""Time-temperature shift of chain motion."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_positive

__all__ = ["UNIVERSAL_WLF", "log10_shift_vogel", "log10_shift_wlf", "weld_rate_wlf", "wlf_at"]

Floats = NDArray[np.float64]

UNIVERSAL_WLF = (17.44, 51.6)
"""
C1 [1] and C2 [K] at the glass transition (Williams, Landel and Ferry, J. Am. Chem. Soc. 77, 1955,
3701).
"""


def log10_shift_wlf(temperature: ArrayLike, reference: ArrayLike, c1: ArrayLike, c2: ArrayLike) -> Floats:
    """
    Return the decimal logarithm of the shift factor.

    Parameters
    ----------
    temperature : (n,) float array
        Above `reference` - `c2`. [K]
    reference : (n,) float array
        Temperature at which the factor is 1. [K]
    c1 : (n,) float array
        [1]
    c2 : (n,) float array
        [K]

    Returns
    -------
    log10_shift : (n,) float array
        -C1 (T - Tr)/(C2 + T - Tr), negative when hotter. [1]

    Raises
    ------
    InputError
        A temperature is at or below the pole.

    Examples
    --------
    >>> round(float(log10_shift_wlf(433.15, 373.15, *UNIVERSAL_WLF)), 6)
    -9.376344
    """
    above = np.asarray(temperature, dtype=float) - np.asarray(reference)
    require_positive("log10_shift_wlf", distance_to_pole=np.asarray(c2) + above)
    return np.asarray(-np.asarray(c1) * above / (np.asarray(c2) + above))


def log10_shift_vogel(temperature: ArrayLike, reference: ArrayLike, b1: float, b2: float) -> Floats:
    """
    Return the same shift in the form that rheology databases use, temperatures in °C.

    Parameters
    ----------
    temperature : (n,) float array
        Temperature. [degC]
    reference : (n,) float array
        Temperature at which the factor is 1. [degC]
    b1 : float
        [K]
    b2 : float
        Minus the Vogel temperature. [degC]

    Returns
    -------
    log10_shift : (n,) float array
        -B1 (T - Tr)/((B2 + Tr)(B2 + T)). [1]

    Raises
    ------
    InputError
        A temperature is at or below the pole.
    """
    warm, base = b2 + np.asarray(temperature, dtype=float), b2 + np.asarray(reference, dtype=float)
    require_positive("log10_shift_vogel", distance_to_pole=np.minimum(warm, base))
    return np.asarray(-b1 * (warm - base) / (base * warm))


def wlf_at(c1: float, c2: float, shift: float) -> tuple[float, float]:
    """
    Return the WLF constants for another reference temperature.

    Parameters
    ----------
    c1 : float
        At the old reference. [1]
    c2 : float
        At the old reference. [K]
    shift : float
        New reference less old one. [K]

    Returns
    -------
    c1 : float
        C1 C2/(C2 + shift). [1]
    c2 : float
        C2 + shift. [K]

    Raises
    ------
    InputError
        The new reference is at or below the pole.
    """
    require_positive("wlf_at", distance_to_pole=c2 + shift)
    return c1 * c2 / (c2 + shift), c2 + shift


def weld_rate_wlf(
    temperature: ArrayLike,
    weld_time: ArrayLike,
    reference: ArrayLike,
    c1: ArrayLike,
    c2: ArrayLike,
    stop: ArrayLike,
) -> Floats:
    """
    Return the rate of healing, one over the time to full healing.

    Parameters
    ----------
    temperature : (n,) float array
        Temperature of the interface. [K]
    weld_time : (n,) float array
        Time to full healing at `reference`. [s]
    reference : (n,) float array
        [K]
    c1 : (n,) float array
        WLF constant at `reference`. [1]
    c2 : (n,) float array
        WLF constant at `reference`. [K]
    stop : (n,) float array
        Temperature below which nothing heals: glass transition or crystallisation. [K]

    Returns
    -------
    rate : (n,) float array
        0 at and below `stop`. [1/s]

    Raises
    ------
    InputError
        `weld_time` is not positive or `stop` lies at or below the pole.
    """
    require_positive("weld_rate_wlf", weld_time=weld_time)
    warm = np.maximum(np.asarray(temperature, dtype=float), stop)
    shift = log10_shift_wlf(warm, reference, c1, c2)
    rate = 10.0**-shift / np.asarray(weld_time)
    return np.asarray(np.where(np.asarray(temperature) > stop, rate, 0.0))
