"""Heating of the strand on its way through the melt zone."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.diffusion import cylinder_mean_residual
from voidless.physics.guards import require_not_negative, require_positive

__all__ = ["heater_power", "melt_fourier", "melt_temperature_plug", "rate_for_residual", "residence_time"]

Floats = NDArray[np.float64]


def melt_fourier(diffusivity: ArrayLike, melt_length: ArrayLike, rate: ArrayLike) -> Floats:
    """
    Return the Fourier number that a strand reaches in the melt zone.

    Parameters
    ----------
    diffusivity : (n,) float array
        Thermal diffusivity. [m²/s]
    melt_length : (n,) float array
        Heated length. [m]
    rate : (n,) float array
        Volumetric rate. [m³/s]

    Returns
    -------
    fourier : (n,) float array
        π α L/Q, free of the filament's diameter. [1]

    Raises
    ------
    InputError
        An argument is not positive.

    Notes
    -----
    Plug flow in a tube whose wall is at the set temperature; viscous heating, slip and the air gap at the
    wall are left out.
    """
    require_positive("melt_fourier", diffusivity=diffusivity, melt_length=melt_length, rate=rate)
    return np.asarray(
        np.pi * np.asarray(diffusivity) * np.asarray(melt_length) / np.asarray(rate), dtype=float
    )


def melt_temperature_plug(nozzle: ArrayLike, feed: ArrayLike, fourier: ArrayLike) -> Floats:
    """
    Return the mean temperature of the strand at the end of the melt zone.

    Parameters
    ----------
    nozzle : (n,) float array
        Wall temperature. [K]
    feed : (n,) float array
        Temperature at which the filament enters. [K]
    fourier : (n,) float array
        From `melt_fourier`. [1]

    Returns
    -------
    temperature : (n,) float array
        Between `feed` and `nozzle`. [K]

    Raises
    ------
    InputError
        `fourier` is negative.
    """
    wall = np.asarray(nozzle, dtype=float)
    return np.asarray(wall - (wall - np.asarray(feed)) * cylinder_mean_residual(fourier))


def rate_for_residual(diffusivity: float, melt_length: float, fourier: float) -> float:
    """
    Return the volumetric rate at which the strand leaves with a given Fourier number.

    Parameters
    ----------
    diffusivity : float
        Thermal diffusivity. [m²/s]
    melt_length : float
        Heated length. [m]
    fourier : float
        0.334413, 0.454261 or 0.612701 for a mean residual of 10, 5 or 2 %. [1]

    Returns
    -------
    rate : float
        Volumetric rate. [m³/s]

    Raises
    ------
    InputError
        An argument is not positive.
    """
    require_positive("rate_for_residual", diffusivity=diffusivity, melt_length=melt_length, fourier=fourier)
    return float(np.pi * diffusivity * melt_length / fourier)


def heater_power(
    rate: ArrayLike, density: ArrayLike, heat_capacity: ArrayLike, rise: ArrayLike, fusion: ArrayLike = 0.0
) -> Floats:
    """
    Return the power that goes into the melt.

    Parameters
    ----------
    rate : (n,) float array
        Volumetric rate of solid filament. [m³/s]
    density : (n,) float array
        Density of the solid. [kg/m³]
    heat_capacity : (n,) float array
        Mean specific heat capacity over the rise. [J/(kg K)]
    rise : (n,) float array
        Temperature rise. [K]
    fusion : (n,) float array
        Heat of fusion of the crystals present, 0 for amorphous polymers. [J/kg]

    Returns
    -------
    power : (n,) float array
        Without losses to the air. [W]

    Raises
    ------
    InputError
        An argument is negative.
    """
    require_not_negative(
        "heater_power", rate=rate, density=density, heat_capacity=heat_capacity, rise=rise, fusion=fusion
    )
    heat = np.asarray(heat_capacity, dtype=float) * np.asarray(rise) + np.asarray(fusion)
    return np.asarray(np.asarray(rate) * np.asarray(density) * heat)


def residence_time(melt_volume: ArrayLike, rate: ArrayLike) -> Floats:
    """
    Return the mean time that polymer spends in the melt zone.

    Parameters
    ----------
    melt_volume : (n,) float array
        Volume of the melt zone. [m³]
    rate : (n,) float array
        Volumetric rate. [m³/s]

    Returns
    -------
    time : (n,) float array
        Volume over rate. [s]

    Raises
    ------
    InputError
        An argument is not positive.

    Notes
    -----
    The mean of any steady flow; material at the wall stays longer (in laminar tube flow half of it stays
    between 0.5 and 0.71 of the mean and the slowest tail has no limit).
    """
    require_positive("residence_time", melt_volume=melt_volume, rate=rate)
    return np.asarray(np.asarray(melt_volume, dtype=float) / np.asarray(rate))
