"""One hot layer laid on a half-space of the same material, its top insulated."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import erf, erfc

from voidless.physics.guards import require_not_negative, require_positive

__all__ = ["excess_at_depth", "excess_mean_of_layer", "excess_under_hot_face", "heat_from_hot_face"]

Floats = NDArray[np.float64]


def excess_at_depth(scaled_time: ArrayLike, depth: ArrayLike) -> Floats:
    """
    Return the share of the layer's first excess temperature at a depth.

    Parameters
    ----------
    scaled_time : (n,) float array
        Diffusivity times time over layer thickness squared, above zero. [1]
    depth : (n,) float array
        Depth below the top over layer thickness: 1 is the interface, 2 the interface below. [1]

    Returns
    -------
    excess : (n,) float array
        (T - T_substrate)/(T_layer - T_substrate). [1]

    Raises
    ------
    InputError
        `scaled_time` is not positive or `depth` is negative.

    Notes
    -----
    Exact by images: ½ erf((1-d)/2√u) + ½ erf((1+d)/2√u); at the interface ½ erf(1/√u).
    """
    require_positive("excess_at_depth", scaled_time=scaled_time)
    require_not_negative("excess_at_depth", depth=depth)
    half = 0.5 / np.sqrt(np.asarray(scaled_time, dtype=float))
    d = np.asarray(depth, dtype=float)
    return np.asarray(0.5 * (erf((1.0 - d) * half) + erf((1.0 + d) * half)))


def excess_mean_of_layer(scaled_time: ArrayLike) -> Floats:
    """
    Return the share of the first excess temperature that the layer itself still holds on average.

    Parameters
    ----------
    scaled_time : (n,) float array
        Diffusivity times time over layer thickness squared, above zero. [1]

    Returns
    -------
    excess : (n,) float array
        Mean over the layer of (T - T_substrate)/(T_layer - T_substrate). [1]

    Raises
    ------
    InputError
        `scaled_time` is not positive.

    Notes
    -----
    Integral of `excess_at_depth` over 0 to 1: erf(1/√u) - √(u/π) (1 - exp(-1/u)).
    """
    require_positive("excess_mean_of_layer", scaled_time=scaled_time)
    u = np.asarray(scaled_time, dtype=float)
    return np.asarray(erf(1.0 / np.sqrt(u)) + np.sqrt(u / np.pi) * np.expm1(-1.0 / u))


def excess_under_hot_face(scaled_time: ArrayLike) -> Floats:
    """
    Return the share of the first excess temperature at the interface while a hot face rests on the layer.

    Parameters
    ----------
    scaled_time : (n,) float array
        Diffusivity times time over layer thickness squared, above zero. [1]

    Returns
    -------
    excess : (n,) float array
        1 - ½ erf(1/√u), with the top held at the layer's first temperature. [1]

    Raises
    ------
    InputError
        `scaled_time` is not positive.

    Notes
    -----
    Exact by images of opposite sign.
    """
    require_positive("excess_under_hot_face", scaled_time=scaled_time)
    return np.asarray(1.0 - 0.5 * erf(1.0 / np.sqrt(np.asarray(scaled_time, dtype=float))))


def heat_from_hot_face(scaled_time: ArrayLike) -> Floats:
    """
    Return the heat that a hot face has given to a layer on which it rests, over the layer's own.

    Parameters
    ----------
    scaled_time : (n,) float array
        Diffusivity times time over layer thickness squared, above zero. [1]

    Returns
    -------
    heat : (n,) float array
        2 √(u/π) exp(-1/(4u)) - erfc(1/(2√u)), the integral of the flux at the top. [1]

    Raises
    ------
    InputError
        `scaled_time` is not positive.
    """
    require_positive("heat_from_hot_face", scaled_time=scaled_time)
    u = np.asarray(scaled_time, dtype=float)
    return np.asarray(2.0 * np.sqrt(u / np.pi) * np.exp(-0.25 / u) - erfc(0.5 / np.sqrt(u)))
