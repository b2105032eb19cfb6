"""Melt density by the Tait equation of state."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.errors import InputError
from voidless.physics.guards import require_between
from voidless.units import CELSIUS_ZERO

__all__ = ["TAIT", "Tait", "melt_density_tait"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Tait:
    """
    Constants of one polymer, temperature in °C.

    Attributes
    ----------
    a0, a1, a2 : float
        Specific volume at zero pressure. [m³/kg], [m³/(kg K)], [m³/(kg K²)]
    b0 : float
        [Pa]
    b1 : float
        [1/K]
    low, high : float
        Range of the fit. [K]
    """

    a0: float
    a1: float
    a2: float
    b0: float
    b1: float
    low: float
    high: float


# Danner and High, "Handbook of Polymer Solution Thermodynamics", AIChE, 1993, as tabulated in the
# parameter file of a general open polymer library (Tait_parameters.tsv).
TAIT: dict[str, Tait] = {
    "pc": Tait(7.9165e-4, 4.4201e-7, 2.8583e-10, 3.1268e8, 3.9728e-3, 430.0, 610.0),
    "pmma": Tait(8.2396e-4, 3.0490e-7, 7.0201e-10, 2.9803e8, 4.3789e-3, 387.0, 432.0),
    "pp": Tait(1.2033e-3, 4.8182e-7, 7.7589e-10, 1.4236e8, 4.0184e-3, 447.0, 571.0),
    "pa": Tait(7.8153e-4, 3.6134e-7, 2.7519e-10, 3.4019e8, 3.8021e-3, 455.0, 588.0),
    "ps": Tait(9.3805e-4, 3.3086e-7, 6.6910e-10, 2.5001e8, 4.1815e-3, 389.0, 469.0),
}


def melt_density_tait(polymer: str, temperature: ArrayLike, pressure: ArrayLike) -> Floats:
    """
    Return the density of a melt under pressure.

    Parameters
    ----------
    polymer : str
        A key of `TAIT`. [1]
    temperature : (n,) float array
        Within the range of the fit. [K]
    pressure : (n,) float array
        Absolute pressure, 0 to 200 MPa. [Pa]

    Returns
    -------
    density : (n,) float array
        Melt density. [kg/m³]

    Raises
    ------
    InputError
        The polymer has no constants or the state lies outside the fit.

    Notes
    -----
    v = (A0 + A1 T + A2 T²)(1 - 0.0894 ln(1 + p/(B0 exp(-B1 T)))).
    """
    constants = TAIT.get(polymer)
    if constants is None:
        raise InputError(
            "melt_density_tait",
            f"no Tait constants for {polymer!r}",
            "one of " + ", ".join(TAIT),
            "Use the melt density of the material's data instead.",
        )
    require_between("melt_density_tait", constants.low, constants.high, temperature=temperature)
    require_between("melt_density_tait", 0.0, 2e8, pressure=pressure)
    celsius = np.asarray(temperature, dtype=float) - CELSIUS_ZERO
    volume = constants.a0 + constants.a1 * celsius + constants.a2 * celsius**2
    bulk = constants.b0 * np.exp(-constants.b1 * celsius)
    squeeze = 1.0 - 0.0894 * np.log1p(np.asarray(pressure, dtype=float) / bulk)
    return np.asarray(1.0 / (volume * squeeze))
