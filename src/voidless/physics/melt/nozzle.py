"""Shear and pressure in the nozzle's capillary."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_positive

__all__ = ["pressure_drop", "shear_rate_apparent", "shear_rate_wall"]

Floats = NDArray[np.float64]


def shear_rate_apparent(rate: ArrayLike, diameter: ArrayLike) -> Floats:
    """
    Return the shear rate at the wall as if the melt were Newtonian.

    Parameters
    ----------
    rate : (n,) float array
        Volumetric rate. [m³/s]
    diameter : (n,) float array
        Diameter of the capillary. [m]

    Returns
    -------
    shear_rate : (n,) float array
        4 Q/(π R³). [1/s]

    Raises
    ------
    InputError
        An argument is not positive.

    Examples
    --------
    >>> round(float(shear_rate_apparent(5e-9, 0.4e-3)), 3)
    795.775
    """
    require_positive("shear_rate_apparent", rate=rate, diameter=diameter)
    radius = np.asarray(diameter, dtype=float) / 2.0
    return np.asarray(4.0 * np.asarray(rate) / (np.pi * radius**3))


def shear_rate_wall(rate: ArrayLike, diameter: ArrayLike, index: ArrayLike) -> Floats:
    """
    Return the true shear rate at the wall of a power-law melt.

    Parameters
    ----------
    rate : (n,) float array
        Volumetric rate. [m³/s]
    diameter : (n,) float array
        Diameter of the capillary. [m]
    index : (n,) float array
        Power-law index. [1]

    Returns
    -------
    shear_rate : (n,) float array
        Apparent rate times (3n+1)/(4n), the Weissenberg-Rabinowitsch correction. [1/s]

    Raises
    ------
    InputError
        An argument is not positive.
    """
    require_positive("shear_rate_wall", index=index)
    n = np.asarray(index, dtype=float)
    return np.asarray(shear_rate_apparent(rate, diameter) * (3.0 * n + 1.0) / (4.0 * n))


def pressure_drop(viscosity: ArrayLike, length: ArrayLike, rate: ArrayLike, diameter: ArrayLike) -> Floats:
    """
    Return the pressure that drives a melt through the capillary.

    Parameters
    ----------
    viscosity : (n,) float array
        Apparent viscosity at the wall. [Pa·s]
    length : (n,) float array
        Length of the capillary. [m]
    rate : (n,) float array
        Volumetric rate. [m³/s]
    diameter : (n,) float array
        Diameter of the capillary. [m]

    Returns
    -------
    pressure : (n,) float array
        8 η L Q/(π R⁴), without entry losses. [Pa]

    Raises
    ------
    InputError
        An argument is not positive.
    """
    require_positive("pressure_drop", viscosity=viscosity, length=length, rate=rate, diameter=diameter)
    radius = np.asarray(diameter, dtype=float) / 2.0
    flow = np.asarray(length, dtype=float) * np.asarray(rate) * np.asarray(viscosity)
    return np.asarray(8.0 * flow / (np.pi * radius**4))
