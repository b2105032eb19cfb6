"""Attenuation by channels that run along the beads, and where the scattered light goes, by width."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_not_negative, require_positive
from voidless.physics.optics.cylinder import Cylinder, cylinder_phase, cylinder_scatter
from voidless.physics.optics.voids import NARROW, WAVELENGTH, VoidScatter

__all__ = ["channel_depth", "channel_scatter"]

Floats = NDArray[np.float64]


def channel_scatter(diameter: float, index: float, wavelength: float = WAVELENGTH) -> VoidScatter:
    """
    Return how a long round void scatters light that crosses it at right angles.

    Parameters
    ----------
    diameter : float
        Diameter. [m]
    index : float
        Refractive index of the polymer. [1]
    wavelength : float
        In vacuum. [m]

    Returns
    -------
    scatter : VoidScatter
        Efficiency (width over diameter) and shares; narrow, wide and lost add up to 1. [1]

    Raises
    ------
    InputError
        An argument is not positive.

    Notes
    -----
    All light stays in the plane across the channel, so more of it is narrow than with a sphere. Straight channels;
    real ones bend and change width.
    """
    require_positive("channel_scatter", diameter=diameter, index=index, wavelength=wavelength)
    size = np.pi * diameter * index / wavelength
    cylinder = cylinder_scatter(1.0 / index, float(size))
    inner, critical = np.arcsin(np.sin(NARROW) / index), np.arcsin(1.0 / index)
    narrow = _share(cylinder, 0.0, inner, max(400, int(6.0 * size * inner) + 64))
    wide = _share(cylinder, inner, critical, max(1500, int(3.0 * size)))
    return VoidScatter(cylinder.scattering, narrow, wide, 1.0 - narrow - wide)


def _share(cylinder: Cylinder, low: float, high: float, count: int) -> float:
    angle = np.linspace(low, high, count)
    return float(np.trapezoid(2.0 * cylinder_phase(cylinder, angle), angle))


def channel_depth(
    open_length: ArrayLike, diameter: ArrayLike, efficiency: ArrayLike, pitch: ArrayLike, layers: ArrayLike
) -> Floats:
    """
    Return the optical depth of channels that run along the beads, seen across them.

    Parameters
    ----------
    open_length : (n,) float array
        Share of the bead's length along which the channel is open. [1]
    diameter : (n,) float array
        Width of the open channel. [m]
    efficiency : (n,) float array
        Scattering width over shadow width, from `channel_scatter`. [1]
    pitch : (n,) float array
        Distance between channels. [m]
    layers : (n,) float array
        Number of layers in the path. [1]

    Returns
    -------
    depth : (n,) float array
        layers × Q × open length × diameter/pitch. [1]

    Raises
    ------
    InputError
        A share is negative or a length is not positive.

    Notes
    -----
    Shadows of different layers taken as independent. Channels that stand above each other, as in a
    unidirectional raster without offset, shade each other and do less.
    """
    require_not_negative("channel_depth", open_length=open_length, diameter=diameter, efficiency=efficiency)
    require_positive("channel_depth", pitch=pitch, layers=layers)
    shadow = np.asarray(open_length, dtype=float) * np.asarray(diameter) / np.asarray(pitch)
    return np.asarray(np.asarray(layers) * np.asarray(efficiency) * shadow)
