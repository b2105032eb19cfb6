"""Saturation pressure of water."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_between

__all__ = ["saturation_pressure"]

Floats = NDArray[np.float64]

# IAPWS-IF97 (2007 release), table 34: coefficients of equation 30, region 4.
_N = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)


def saturation_pressure(temperature: ArrayLike) -> Floats:
    """
    Return the pressure at which water boils.

    Parameters
    ----------
    temperature : (n,) float array
        273.15 to 647.096 K. [K]

    Returns
    -------
    pressure : (n,) float array
        Saturation pressure. [Pa]

    Raises
    ------
    InputError
        A temperature lies outside the equation's range.

    Notes
    -----
    IAPWS-IF97, equation 30. The release's check values (300, 500, 600 K) are in the tests.

    Examples
    --------
    >>> round(float(saturation_pressure(500.0)) / 1e6, 8)
    2.63889776
    """
    require_between("saturation_pressure", 273.15, 647.096, temperature=temperature)
    kelvin = np.asarray(temperature, dtype=float)
    theta = kelvin + _N[8] / (kelvin - _N[9])
    a = theta**2 + _N[0] * theta + _N[1]
    b = _N[2] * theta**2 + _N[3] * theta + _N[4]
    c = _N[5] * theta**2 + _N[6] * theta + _N[7]
    return np.asarray(1e6 * (2.0 * c / (-b + np.sqrt(b**2 - 4.0 * a * c))) ** 4)
