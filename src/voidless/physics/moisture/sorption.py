"""Uptake of water by a round filament from air, and drying."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.diffusion import cylinder_mean_residual
from voidless.physics.guards import require_between, require_not_negative, require_positive

__all__ = ["water_after_exposure"]

Floats = NDArray[np.float64]


def water_after_exposure(
    time: ArrayLike,
    start: ArrayLike,
    saturation: ArrayLike,
    humidity: ArrayLike,
    diffusivity: ArrayLike,
    radius: float,
) -> Floats:
    """
    Return the mean water content of a filament after some time in air of one humidity.

    Parameters
    ----------
    time : (n,) float array
        Time in this air. [s]
    start : (n,) float array
        Water at the start, spread evenly, as mass share. [1]
    saturation : (n,) float array
        Water in equilibrium with saturated air, as mass share. [1]
    humidity : (n,) float array
        Relative humidity, 0 to 1. [1]
    diffusivity : (n,) float array
        Diffusivity of water at the air's temperature. [m²/s]
    radius : float
        Radius of the filament. [m]

    Returns
    -------
    water : (n,) float array
        Mean water as mass share; wetting and drying alike. [1]

    Raises
    ------
    InputError
        A value is negative, or the humidity lies outside 0 to 1.

    Notes
    -----
    Fickian diffusion into one free strand (Crank's cylinder) and equilibrium proportional to humidity. On a
    spool the inner windings are slower and the outermost strand, which prints first, is the wettest; twelve
    filaments were Fickian, but the diffusivity of half of them changed with humidity (Aniskevich et al.,
    Polymers 15, 2023, 2600, abstract).
    """
    require_not_negative("water_after_exposure", time=time, start=start, saturation=saturation)
    require_between("water_after_exposure", 0.0, 1.0, humidity=humidity)
    require_positive("water_after_exposure", diffusivity=diffusivity, radius=radius)
    rest = np.asarray(saturation, dtype=float) * np.asarray(humidity)
    fourier = np.asarray(diffusivity, dtype=float) * np.asarray(time) / radius**2
    return np.asarray(rest + (np.asarray(start) - rest) * cylinder_mean_residual(fourier))
