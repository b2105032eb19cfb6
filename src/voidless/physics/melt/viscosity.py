"""Melt viscosity against temperature and shear rate."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_not_negative, require_positive

__all__ = [
    "GAS_CONSTANT",
    "arrhenius_factor",
    "viscosity_cross",
    "viscosity_exponential_zero",
    "viscosity_wlf_zero",
]

Floats = NDArray[np.float64]

GAS_CONSTANT = 8.31446261815324
"""Molar gas constant. [J/(mol K)] Exact in the SI of 2019 (SI Brochure, 9th edition)."""


def arrhenius_factor(temperature: ArrayLike, reference: ArrayLike, activation: ArrayLike) -> Floats:
    """
    Return how many times larger a thermally activated time or viscosity is than at the reference.

    Parameters
    ----------
    temperature : (n,) float array
        Temperature. [K]
    reference : (n,) float array
        Temperature at which the factor is 1. [K]
    activation : (n,) float array
        Activation energy. [J/mol]

    Returns
    -------
    factor : (n,) float array
        exp(E/R (1/T - 1/T_ref)), above 1 when colder. [1]

    Raises
    ------
    InputError
        A temperature is not positive.
    """
    require_positive("arrhenius_factor", temperature=temperature, reference=reference)
    inverse = 1.0 / np.asarray(temperature, dtype=float) - 1.0 / np.asarray(reference, dtype=float)
    return np.asarray(np.exp(np.asarray(activation) / GAS_CONSTANT * inverse))


def viscosity_wlf_zero(
    temperature: ArrayLike, front: float, reference: float, slope: float, offset: float
) -> Floats:
    """
    Return the viscosity at rest by the WLF form that moulding data sheets use.

    Parameters
    ----------
    temperature : (n,) float array
        Temperature, above `reference` - `offset`. [K]
    front : float
        D1, viscosity at the reference temperature. [Pa·s]
    reference : float
        T*, often near the glass transition. [K]
    slope : float
        A1. [1]
    offset : float
        A2. [K]

    Returns
    -------
    viscosity : (n,) float array
        D1 exp(-A1 (T - T*)/(A2 + T - T*)). [Pa·s]

    Raises
    ------
    InputError
        A temperature is at or below the pole.
    """
    above = np.asarray(temperature, dtype=float) - reference
    require_positive("viscosity_wlf_zero", distance_to_pole=offset + above, front=front)
    return np.asarray(front * np.exp(-slope * above / (offset + above)))


def viscosity_exponential_zero(temperature: ArrayLike, front: float, exponent: float) -> Floats:
    """
    Return the viscosity at rest by the exponential form B exp(Tb/T).

    Parameters
    ----------
    temperature : (n,) float array
        Temperature. [K]
    front : float
        B. [Pa·s]
    exponent : float
        Tb, activation energy over the gas constant. [K]

    Returns
    -------
    viscosity : (n,) float array
        Viscosity at rest. [Pa·s]

    Raises
    ------
    InputError
        A temperature is not positive.
    """
    require_positive("viscosity_exponential_zero", temperature=temperature, front=front)
    return np.asarray(front * np.exp(exponent / np.asarray(temperature, dtype=float)))


def viscosity_cross(zero: ArrayLike, shear_rate: ArrayLike, stress: ArrayLike, index: ArrayLike) -> Floats:
    """
    Return the viscosity in shear by the Cross law.

    Parameters
    ----------
    zero : (n,) float array
        Viscosity at rest. [Pa·s]
    shear_rate : (n,) float array
        Shear rate. [1/s]
    stress : (n,) float array
        τ*, stress at which thinning sets in. [Pa]
    index : (n,) float array
        n; 1 for a fluid that does not thin, whose viscosity the form halves. [1]

    Returns
    -------
    viscosity : (n,) float array
        η0/(1 + (η0 γ/τ*)^(1-n)). [Pa·s]

    Raises
    ------
    InputError
        `zero` or `stress` is not positive, or the rate is negative.

    Examples
    --------
    Cycolac MG47 at 239 °C and 2000 1/s; Kazmer, "Injection Mold Design Engineering", appendix A, p. 392 says
    about 120 Pa·s:

    >>> rest = viscosity_wlf_zero(512.15, 1.93e13, 373.15, 31.4, 51.6)
    >>> round(float(viscosity_cross(rest, 2000.0, 9.97e4, 0.247)), 2)
    119.95
    """
    require_positive("viscosity_cross", zero=zero, stress=stress)
    require_not_negative("viscosity_cross", shear_rate=shear_rate)
    rest = np.asarray(zero, dtype=float)
    thinning = (rest * np.asarray(shear_rate) / np.asarray(stress)) ** (1.0 - np.asarray(index))
    return np.asarray(rest / (1.0 + thinning))
