"""Scatter at rough faces."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_not_negative, require_positive
from voidless.physics.optics.voids import NARROW

__all__ = ["haze_from_slopes", "ridge_slope", "scatter_from_roughness"]

Floats = NDArray[np.float64]


def scatter_from_roughness(
    height: ArrayLike, index: ArrayLike, wavelength: float, surrounding: ArrayLike = 1.0
) -> Floats:
    """
    Return the share of light that a face much smoother than the wavelength scatters in passing.

    Parameters
    ----------
    height : (n,) float array
        Root mean square roughness, at most a tenth of the wavelength. [m]
    index : (n,) float array
        Refractive index of the part. [1]
    wavelength : float
        In vacuum. [m]
    surrounding : (n,) float array
        Refractive index outside. [1]

    Returns
    -------
    scattered : (n,) float array
        1 - exp(-(2 π σ |n1 - n2|/λ)²). [1]

    Raises
    ------
    InputError
        A value is negative.

    Notes
    -----
    Scalar Kirchhoff form (from memory). Beyond a tenth of the wavelength it is wrong for printed roughness: a
    coated film of Ra 0.2 to 0.4 µm has 8 to 13 % haze where this gives 87 to 100 %. Use `haze_from_slopes`.
    """
    require_not_negative("scatter_from_roughness", height=height)
    require_positive("scatter_from_roughness", index=index, wavelength=wavelength, surrounding=surrounding)
    step = np.abs(np.asarray(index, dtype=float) - np.asarray(surrounding))
    phase = 2.0 * np.pi * np.asarray(height) * step / wavelength
    return np.asarray(-np.expm1(-(phase**2)))


def haze_from_slopes(
    slope: ArrayLike, index: ArrayLike, surrounding: ArrayLike = 1.0, faces: float = 1.0
) -> Floats:
    """
    Return the haze of faces whose waviness is longer than the wavelength.

    Parameters
    ----------
    slope : (n,) float array
        Root mean square slope per axis. [rad]
    index : (n,) float array
        Refractive index of the part. [1]
    surrounding : (n,) float array
        Refractive index outside, with a flat window beyond it. [1]
    faces : float
        Number of such faces. [1]

    Returns
    -------
    haze : (n,) float array
        exp(-(2.5°)²/(2 s²)) with s = (n - n_m) × slope × √faces. [1]

    Raises
    ------
    InputError
        A value is negative or not positive where it must be.

    Notes
    -----
    Each facet deviates light by (n - n_m) × slope; normal slopes make a Rayleigh law of angles.
    """
    require_not_negative("haze_from_slopes", slope=slope)
    require_positive("haze_from_slopes", index=index, surrounding=surrounding, faces=faces)
    bend = np.abs(np.asarray(index, dtype=float) - np.asarray(surrounding)) * np.sqrt(faces)
    spread = np.maximum(bend * np.asarray(slope), 1e-12)
    return np.asarray(np.exp(-(NARROW**2) / (2.0 * spread**2)))


def ridge_slope(steepest: ArrayLike) -> Floats:
    """
    Return the root mean square slope of a face of round ridges, such as the side of a stack of layers.

    Parameters
    ----------
    steepest : (n,) float array
        Angle at the foot of a ridge: π/2 for half circles, less where the grooves are filled. [rad]

    Returns
    -------
    slope : (n,) float array
        √(θ² + 2 θ cot θ - 2): 0.684 (39°) for half circles. [rad]

    Raises
    ------
    InputError
        `steepest` is not positive.

    Notes
    -----
    ∫ t² cos t dt from 0 to θ, over sin θ. Slopes along the layers are taken as none.
    """
    require_positive("ridge_slope", steepest=steepest)
    theta = np.asarray(steepest, dtype=float)
    return np.asarray(np.sqrt(np.maximum(theta**2 + 2.0 * theta / np.tan(theta) - 2.0, 0.0)))
