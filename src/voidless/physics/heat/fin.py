"""A bead as a moving fin, and lumped cooling of a layer and of a wall one bead thick."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_not_negative, require_positive

__all__ = [
    "ellipse_perimeter",
    "fin_decay",
    "lumped_temperature",
    "time_constant_bead",
    "time_constant_layer",
    "time_constant_wall",
]

Floats = NDArray[np.float64]


def ellipse_perimeter(width: ArrayLike, height: ArrayLike) -> Floats:
    """
    Return the perimeter of an ellipse.

    Parameters
    ----------
    width, height : (n,) float array
        Full axes. [m]

    Returns
    -------
    perimeter : (n,) float array
        Ramanujan's second approximation, relative error below 1e-4 for axes up to 8 to 1. [m]

    Raises
    ------
    InputError
        An axis is not positive.
    """
    require_positive("ellipse_perimeter", width=width, height=height)
    a, b = np.asarray(width, dtype=float) / 2.0, np.asarray(height, dtype=float) / 2.0
    h = ((a - b) / (a + b)) ** 2
    return np.asarray(np.pi * (a + b) * (1.0 + 3.0 * h / (10.0 + np.sqrt(4.0 - 3.0 * h))))


def time_constant_bead(
    area: ArrayLike,
    perimeter: ArrayLike,
    coefficient: ArrayLike,
    density: ArrayLike,
    heat_capacity: ArrayLike,
) -> Floats:
    """
    Return the time constant of a free bead cooled by air all round.

    Parameters
    ----------
    area : (n,) float array
        Section of the bead. [m²]
    perimeter : (n,) float array
        Cooled perimeter. [m]
    coefficient : (n,) float array
        Heat-transfer coefficient. [W/(m² K)]
    density : (n,) float array
        Density. [kg/m³]
    heat_capacity : (n,) float array
        Specific heat capacity. [J/(kg K)]

    Returns
    -------
    time_constant : (n,) float array
        ρ c A/(h P). [s]

    Raises
    ------
    InputError
        An argument is not positive.
    """
    require_positive(
        "time_constant_bead",
        area=area,
        perimeter=perimeter,
        coefficient=coefficient,
        density=density,
        heat_capacity=heat_capacity,
    )
    stored = np.asarray(density, dtype=float) * np.asarray(heat_capacity) * np.asarray(area)
    return np.asarray(stored / (np.asarray(coefficient) * np.asarray(perimeter)))


def time_constant_layer(
    thickness: ArrayLike, coefficient: ArrayLike, density: ArrayLike, heat_capacity: ArrayLike
) -> Floats:
    """
    Return the time constant of a layer cooled from above alone.

    Parameters
    ----------
    thickness : (n,) float array
        Layer thickness. [m]
    coefficient : (n,) float array
        Heat-transfer coefficient. [W/(m² K)]
    density : (n,) float array
        Density. [kg/m³]
    heat_capacity : (n,) float array
        Specific heat capacity. [J/(kg K)]

    Returns
    -------
    time_constant : (n,) float array
        ρ c h/h_c. [s]

    Raises
    ------
    InputError
        An argument is not positive.
    """
    return time_constant_bead(thickness, 1.0, coefficient, density, heat_capacity)


def time_constant_wall(
    width: ArrayLike, coefficient: ArrayLike, density: ArrayLike, heat_capacity: ArrayLike
) -> Floats:
    """
    Return the time constant of a wall one bead thick, cooled from both sides.

    Parameters
    ----------
    width : (n,) float array
        Thickness of the wall. [m]
    coefficient : (n,) float array
        Heat-transfer coefficient. [W/(m² K)]
    density : (n,) float array
        Density. [kg/m³]
    heat_capacity : (n,) float array
        Specific heat capacity. [J/(kg K)]

    Returns
    -------
    time_constant : (n,) float array
        ρ c w/(2 h_c). [s]

    Raises
    ------
    InputError
        An argument is not positive.
    """
    return time_constant_bead(width, 2.0, coefficient, density, heat_capacity)


def fin_decay(diffusivity: ArrayLike, speed: ArrayLike, time_constant: ArrayLike) -> Floats:
    """
    Return the decay per length behind the nozzle of a bead that cools as a moving fin.

    Parameters
    ----------
    diffusivity : (n,) float array
        Thermal diffusivity. [m²/s]
    speed : (n,) float array
        Bead speed. [m/s]
    time_constant : (n,) float array
        From `time_constant_bead`. [s]

    Returns
    -------
    decay : (n,) float array
        m in T = T_air + (T_0 - T_air) exp(-m x). [1/m]

    Raises
    ------
    InputError
        An argument is not positive.

    Notes
    -----
    m = (√(1 + 4ab) - 1)/(2a), a = α/v, b = 1/(v τ); form of Bellehumeur, Li, Sun and Gu, J. Manuf. Process. 6
    (2004) 170, re-derived.
    """
    require_positive("fin_decay", diffusivity=diffusivity, speed=speed, time_constant=time_constant)
    v = np.asarray(speed, dtype=float)
    a = np.asarray(diffusivity) / v
    b = 1.0 / (v * np.asarray(time_constant))
    # written without the difference of nearly equal numbers
    return np.asarray(2.0 * b / (1.0 + np.sqrt(1.0 + 4.0 * a * b)))


def lumped_temperature(time: ArrayLike, start: ArrayLike, air: ArrayLike, time_constant: ArrayLike) -> Floats:
    """
    Return the temperature of a small body that cools in still surroundings.

    Parameters
    ----------
    time : (n,) float array
        Time since the start, not negative. [s]
    start : (n,) float array
        Temperature at time 0. [K]
    air : (n,) float array
        Temperature of the surroundings. [K]
    time_constant : (n,) float array
        Time constant. [s]

    Returns
    -------
    temperature : (n,) float array
        Temperature at each time. [K]

    Raises
    ------
    InputError
        `time_constant` is not positive or a time is negative.
    """
    require_not_negative("lumped_temperature", time=time)
    require_positive("lumped_temperature", time_constant=time_constant)
    share = np.exp(-np.asarray(time, dtype=float) / np.asarray(time_constant))
    return np.asarray(np.asarray(air) + (np.asarray(start) - np.asarray(air)) * share)
