"""Shear and pressure in the nozzle's capillary."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_positive
from voidless.physics.melt.viscosity import viscosity_cross

__all__ = [
    "cross_power",
    "pressure_drop",
    "pressure_drop_cone",
    "pressure_drop_nozzle",
    "shear_rate_apparent",
    "shear_rate_wall",
    "wall_stress_cross",
]

Floats = NDArray[np.float64]

_REPRESENTATIVE = 0.83  # where true and apparent viscosity agree, over the apparent shear rate


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


def cross_power(zero: ArrayLike, shear_rate: ArrayLike, stress: ArrayLike, index: ArrayLike) -> Floats:
    """
    Return the power-law index that a Cross melt has at a shear rate.

    Parameters
    ----------
    zero : (n,) float array
        Viscosity at rest. [Pa·s]
    shear_rate : (n,) float array
        Shear rate. [1/s]
    stress : (n,) float array
        τ* of the Cross law. [Pa]
    index : (n,) float array
        n of the Cross law. [1]

    Returns
    -------
    power : (n,) float array
        d ln τ/d ln γ: 1 at rest, `index` when fast. [1]

    Raises
    ------
    InputError
        `zero` or `stress` is not positive, or the rate is negative.
    """
    thin = viscosity_cross(zero, shear_rate, stress, index) / np.asarray(zero, dtype=float)
    return np.asarray(1.0 - (1.0 - np.asarray(index)) * (1.0 - thin))


def wall_stress_cross(
    zero: ArrayLike, stress: ArrayLike, index: ArrayLike, rate: ArrayLike, diameter: ArrayLike
) -> Floats:
    """
    Return the shear stress at the wall of a capillary through which a Cross melt flows.

    Parameters
    ----------
    zero : (n,) float array
        Viscosity at rest. [Pa·s]
    stress : (n,) float array
        τ* of the Cross law. [Pa]
    index : (n,) float array
        n of the Cross law. [1]
    rate : (n,) float array
        Volumetric rate. [m³/s]
    diameter : (n,) float array
        Diameter of the capillary. [m]

    Returns
    -------
    wall : (n,) float array
        Shear stress at the wall. [Pa]

    Raises
    ------
    InputError
        An argument is not positive.

    Notes
    -----
    Representative viscosity: that of 0.83 times the apparent shear rate is the apparent viscosity (Schümmer and
    Worthoff, Chem. Eng. Sci. 33, 1978, 759; from memory). Against the exact integral of Rabinowitsch within 3 %
    for n of 0.25 to 1 (tests).
    """
    apparent = shear_rate_apparent(rate, diameter)
    return np.asarray(viscosity_cross(zero, _REPRESENTATIVE * apparent, stress, index) * apparent)


def pressure_drop_cone(wall: ArrayLike, power: ArrayLike, half_angle: float, ratio: ArrayLike) -> Floats:
    """
    Return the pressure that drives a power-law melt through the cone before a capillary.

    Parameters
    ----------
    wall : (n,) float array
        Shear stress at the wall of the capillary. [Pa]
    power : (n,) float array
        Power-law index. [1]
    half_angle : float
        Angle between wall and axis, above 0 and below π/2. [rad]
    ratio : (n,) float array
        Diameter of the capillary over that of the cone's wide end. [1]

    Returns
    -------
    pressure : (n,) float array
        2 τ/(3 n tan α) (1 - ratio^(3n)). [Pa]

    Raises
    ------
    InputError
        An argument is not positive.

    Notes
    -----
    Shear alone, flow as in a tube of the local diameter: the lubrication form, meant for slender cones. The
    pressure of stretching the melt is left out.
    """
    require_positive("pressure_drop_cone", wall=wall, power=power, half_angle=half_angle, ratio=ratio)
    n = np.asarray(power, dtype=float)
    narrowing = 1.0 - np.asarray(ratio, dtype=float) ** (3.0 * n)
    return np.asarray(2.0 * np.asarray(wall) / (3.0 * n * np.tan(half_angle)) * narrowing)


def pressure_drop_nozzle(
    zero: ArrayLike,
    stress: ArrayLike,
    index: ArrayLike,
    rate: ArrayLike,
    diameter: float,
    length: float,
    half_angle: float,
    wide: float,
) -> Floats:
    """
    Return the pressure before the nozzle: cone and bore, for a Cross melt.

    Parameters
    ----------
    zero : (n,) float array
        Viscosity at rest. [Pa·s]
    stress : (n,) float array
        τ* of the Cross law. [Pa]
    index : (n,) float array
        n of the Cross law. [1]
    rate : (n,) float array
        Volumetric rate. [m³/s]
    diameter : float
        Diameter of the bore. [m]
    length : float
        Length of the bore. [m]
    half_angle : float
        Between the cone's wall and axis. [rad]
    wide : float
        Diameter of the melt channel above the cone. [m]

    Returns
    -------
    pressure : (n,) float array
        Above the atmosphere. [Pa]

    Raises
    ------
    InputError
        An argument is not positive.
    """
    require_positive("pressure_drop_nozzle", length=length, wide=wide)
    wall = wall_stress_cross(zero, stress, index, rate, diameter)
    power = cross_power(zero, shear_rate_apparent(rate, diameter), stress, index)
    bore = 4.0 * wall * length / diameter
    return np.asarray(bore + pressure_drop_cone(wall, power, half_angle, diameter / wide))
