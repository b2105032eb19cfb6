"""Contrast carried through a scattering plate."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_between, require_not_negative

__all__ = ["contrast_through_plate", "contrast_under_veil"]

Floats = NDArray[np.float64]


def contrast_through_plate(
    unscattered: ArrayLike, spread: ArrayLike, gap: ArrayLike, frequency: ArrayLike
) -> Floats:
    """
    Return the contrast of a pattern seen through a plate, over that without the plate.

    Parameters
    ----------
    unscattered : (n,) float array
        Share of the transmitted light that keeps its direction. [1]
    spread : (n,) float array
        Root mean square angle per axis of the scattered light, in air. [rad]
    gap : (n,) float array
        Distance from pattern to plate. [m]
    frequency : (n,) float array
        Spatial frequency of the pattern. [1/m]

    Returns
    -------
    contrast : (n,) float array
        S + (1-S) exp(-2 π² (z θ f)²). [1]

    Raises
    ------
    InputError
        `unscattered` lies outside 0 to 1 or another value is negative.

    Notes
    -----
    Gaussian lobe, small angles (family of Wells, 1969; from memory). A contact photo (gap 0) proves nothing.
    """
    require_between("contrast_through_plate", 0.0, 1.0, unscattered=unscattered)
    require_not_negative("contrast_through_plate", spread=spread, gap=gap, frequency=frequency)
    s = np.asarray(unscattered, dtype=float)
    blur = np.asarray(gap, dtype=float) * np.asarray(spread) * np.asarray(frequency)
    return np.asarray(s + (1.0 - s) * np.exp(-2.0 * np.pi**2 * blur**2))


def contrast_under_veil(veil: ArrayLike) -> Floats:
    """
    Return the contrast of black bars on a bright surround under a uniform veil of scattered light.

    Parameters
    ----------
    veil : (n,) float array
        Share of the light that is scattered evenly. [1]

    Returns
    -------
    contrast : (n,) float array
        (1-h)/(1+h). [1]

    Raises
    ------
    InputError
        `veil` lies outside 0 to 1.
    """
    require_between("contrast_under_veil", 0.0, 1.0, veil=veil)
    h = np.asarray(veil, dtype=float)
    return np.asarray((1.0 - h) / (1.0 + h))
