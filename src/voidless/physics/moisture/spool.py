"""Water of a spool: changing air, warm-air dryers, and how slowly air reaches the inner windings."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq
from scipy.special import erfc

from voidless.errors import InputError
from voidless.physics.diffusion import cylinder_mean_residual
from voidless.physics.guards import require_between, require_not_negative, require_positive
from voidless.physics.melt.viscosity import GAS_CONSTANT
from voidless.physics.moisture.bubbles import WATER_MOLAR_MASS
from voidless.physics.moisture.steam import saturation_pressure

__all__ = [
    "dryer_humidity",
    "drying_time",
    "humidity_in_windings",
    "pack_diffusivity",
    "water_after_intervals",
]

Floats = NDArray[np.float64]


def dryer_humidity(room: ArrayLike, humidity: ArrayLike, dryer: ArrayLike) -> Floats:
    """
    Return the relative humidity in a dryer that warms room air and takes no water out of it.

    Parameters
    ----------
    room : (n,) float array
        Temperature of the room. [K]
    humidity : (n,) float array
        Relative humidity of the room, 0 to 1. [1]
    dryer : (n,) float array
        Temperature in the dryer. [K]

    Returns
    -------
    humidity : (n,) float array
        That of the room times the ratio of saturation pressures, at most 1: air below its dew point loses water. [1]

    Raises
    ------
    InputError
        The humidity lies outside 0 to 1, or a temperature outside the steam equation.
    """
    require_between("dryer_humidity", 0.0, 1.0, humidity=humidity)
    carried = np.asarray(humidity) * saturation_pressure(room) / saturation_pressure(dryer)
    return np.asarray(np.minimum(carried, 1.0))


def drying_time(residual: float, diffusivity: float, radius: float) -> float:
    """
    Return the time after which a free strand still holds a share of what it has to lose.

    Parameters
    ----------
    residual : float
        Share that is left, above 0 and below 1. [1]
    diffusivity : float
        Diffusivity of water. [m²/s]
    radius : float
        Radius of the filament. [m]

    Returns
    -------
    time : float
        9.66e-11/D hours for 5 % and 1.75 mm. [s]

    Raises
    ------
    InputError
        `residual` lies outside 0 to 1 or another value is not positive.
    """
    require_positive("drying_time", diffusivity=diffusivity, radius=radius)
    if not 0.0 < residual < 1.0:
        raise InputError("drying_time", f"residual = {residual:g}", "between 0 and 1", "Correct residual.")
    fourier = brentq(lambda fo: float(cylinder_mean_residual(fo)) - residual, 0.0, 50.0, xtol=1e-12)
    return float(fourier) * radius**2 / diffusivity


def water_after_intervals(
    hours: ArrayLike, rest: ArrayLike, diffusivity: ArrayLike, start: float, radius: float
) -> float:
    """
    Return the mean water of a strand after a series of places.

    Parameters
    ----------
    hours : (m,) float array
        Time in each place. [h]
    rest : (m,) float array
        Water in equilibrium with the air of each place, as mass share. [1]
    diffusivity : (m,) float array
        Diffusivity of water at the temperature of each place. [m²/s]
    start : float
        Water at the start, spread evenly, as mass share. [1]
    radius : float
        Radius of the filament. [m]

    Returns
    -------
    water : float
        Mean water as mass share. [1]

    Raises
    ------
    InputError
        A value is negative or a diffusivity not positive.

    Notes
    -----
    Exact for Fickian diffusion: every change of air adds its own step (Duhamel), each with the Fourier number
    gathered since. Filling each interval from an even profile instead would dry a briefly wetted skin too slowly.
    """
    require_not_negative("water_after_intervals", hours=hours, rest=rest, start=start)
    require_positive("water_after_intervals", diffusivity=diffusivity, radius=radius)
    steps = 3600.0 * np.asarray(hours, dtype=float) * np.asarray(diffusivity) / radius**2
    gathered = np.cumsum(steps[::-1])[::-1]  # from the start of each interval to the end of all
    levels = np.concatenate([[start], np.asarray(rest, dtype=float)])
    return float(levels[-1] - np.sum(np.diff(levels) * cylinder_mean_residual(gathered)))


def pack_diffusivity(
    temperature: ArrayLike, capacity: ArrayLike, gaps: float = 0.09, tortuosity: float = 2.0
) -> Floats:
    """
    Return how fast humid air gets into wound filament that drinks on the way.

    Parameters
    ----------
    temperature : (n,) float array
        [K]
    capacity : (n,) float array
        Water that the polymer takes up between dry and saturated air. [kg/m³]
    gaps : float
        Share of air in the pack: 0.09 for round strands in the closest packing, up to 0.2 when wound loosely.
        [1]
    tortuosity : float
        Longer way around the strands; assumed. [1]

    Returns
    -------
    diffusivity : (n,) float array
        D_air gaps/tortuosity × (vapour held by air)/(capacity of the polymer). [m²/s]

    Raises
    ------
    InputError
        A value is not positive.

    Notes
    -----
    Coarse, marked so: strands in equilibrium with the air beside them. D_air = 2.5e-5 m²/s at 23 °C growing as
    T^1.8 (from memory).
    """
    require_positive("pack_diffusivity", capacity=capacity, gaps=gaps, tortuosity=tortuosity)
    kelvin = np.asarray(temperature, dtype=float)
    vapour = saturation_pressure(kelvin) * WATER_MOLAR_MASS / (GAS_CONSTANT * kelvin)
    air = 2.5e-5 * (kelvin / 296.15) ** 1.8
    return np.asarray(air * gaps / tortuosity * vapour / np.asarray(capacity))


def humidity_in_windings(depth: ArrayLike, time: ArrayLike, diffusivity: ArrayLike, outside: float) -> Floats:
    """
    Return the relative humidity between the windings of a dry spool below its outer face.

    Parameters
    ----------
    depth : (n,) float array
        Below the outer windings. [m]
    time : (n,) float array
        Since the spool left the dryer. [s]
    diffusivity : (n,) float array
        From `pack_diffusivity`. [m²/s]
    outside : float
        Relative humidity of the room, 0 to 1. [1]

    Returns
    -------
    humidity : (n,) float array
        erfc(depth/(2 √(D t))) of that outside. [1]

    Raises
    ------
    InputError
        A value is negative or not positive, or the humidity lies outside 0 to 1.

    Notes
    -----
    A deep pack open at its outer face alone; flanges let air in too. The outermost windings are the wettest, and
    they are printed first.
    """
    require_not_negative("humidity_in_windings", depth=depth)
    require_positive("humidity_in_windings", time=time, diffusivity=diffusivity)
    require_between("humidity_in_windings", 0.0, 1.0, outside=outside)
    reach = 2.0 * np.sqrt(np.asarray(diffusivity, dtype=float) * np.asarray(time))
    return np.asarray(outside * erfc(np.asarray(depth, dtype=float) / reach))
