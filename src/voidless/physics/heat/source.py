"""Moving sources of heat after Rosenthal."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import k0e

from voidless.physics.guards import require_positive

__all__ = ["rise_line_rosenthal", "rise_point_rosenthal"]

Floats = NDArray[np.float64]


def rise_point_rosenthal(
    power: float, conductivity: float, diffusivity: float, speed: float, ahead: ArrayLike, distance: ArrayLike
) -> Floats:
    """
    Return the steady temperature rise around a point source moving on a half-space.

    Parameters
    ----------
    power : float
        Power of the source. [W]
    conductivity : float
        Thermal conductivity. [W/(m K)]
    diffusivity : float
        Thermal diffusivity. [m²/s]
    speed : float
        Speed of the source. [m/s]
    ahead : (n,) float array
        Distance ahead of the source, negative behind. [m]
    distance : (n,) float array
        Distance from the source. [m]

    Returns
    -------
    rise : (n,) float array
        Q/(2 π k R) exp(-v (R + ξ)/(2α)). [K]

    Raises
    ------
    InputError
        A value is not positive.
    """
    require_positive(
        "rise_point_rosenthal",
        power=power,
        conductivity=conductivity,
        diffusivity=diffusivity,
        speed=speed,
        distance=distance,
    )
    r = np.asarray(distance, dtype=float)
    decay = np.exp(-speed * (r + np.asarray(ahead)) / (2.0 * diffusivity))
    return np.asarray(power / (2.0 * np.pi * conductivity * r) * decay)


def rise_line_rosenthal(
    power_per_length: float,
    conductivity: float,
    diffusivity: float,
    speed: float,
    ahead: ArrayLike,
    distance: ArrayLike,
) -> Floats:
    """
    Return the steady temperature rise around a line source moving through a body.

    Parameters
    ----------
    power_per_length : float
        Power per length of the line. [W/m]
    conductivity : float
        Thermal conductivity. [W/(m K)]
    diffusivity : float
        Thermal diffusivity. [m²/s]
    speed : float
        Speed of the source. [m/s]
    ahead : (n,) float array
        Distance ahead of the source, negative behind. [m]
    distance : (n,) float array
        Distance from the line. [m]

    Returns
    -------
    rise : (n,) float array
        q'/(2 π k) exp(-v ξ/(2α)) K0(v r/(2α)). [K]

    Raises
    ------
    InputError
        A value is not positive.
    """
    require_positive(
        "rise_line_rosenthal",
        power_per_length=power_per_length,
        conductivity=conductivity,
        diffusivity=diffusivity,
        speed=speed,
        distance=distance,
    )
    scaled = speed * np.asarray(distance, dtype=float) / (2.0 * diffusivity)
    # k0e is K0 times exp(x): the product stays finite far behind the source
    decay = np.exp(-speed * np.asarray(ahead) / (2.0 * diffusivity) - scaled)
    return np.asarray(power_per_length / (2.0 * np.pi * conductivity) * decay * np.asarray(k0e(scaled)))
