"""A column that grows on a bed: the temperature its top has just before the next layer comes."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_positive

__all__ = ["column_top_temperature", "layer_ripple"]

Floats = NDArray[np.float64]

_ZETA_HALF = -1.4603545088095868  # Riemann's zeta function at one half


def column_top_temperature(
    height: ArrayLike,
    slenderness: ArrayLike,
    conductivity: ArrayLike,
    coefficient: ArrayLike,
    heat_flow: ArrayLike,
    deposit: ArrayLike,
    bed: ArrayLike,
    air: ArrayLike,
) -> Floats:
    """
    Return the steady temperature of the top of a column fed with hot layers.

    Parameters
    ----------
    height : (n,) float array
        Height of the column above the bed. [m]
    slenderness : (n,) float array
        Perimeter over section area. [1/m]
    conductivity : (n,) float array
        Thermal conductivity of the column. [W/(m K)]
    coefficient : (n,) float array
        Heat-transfer coefficient to the air, sides and top. [W/(m² K)]
    heat_flow : (n,) float array
        Heat that layers bring per area and kelvin: ρ c times layer thickness over layer time. [W/(m² K)]
    deposit : (n,) float array
        Temperature of the layers as laid. [K]
    bed : (n,) float array
        Temperature of the bed. [K]
    air : (n,) float array
        Temperature of the air. [K]

    Returns
    -------
    temperature : (n,) float array
        Mean temperature of the top over a layer time. [K]

    Raises
    ------
    InputError
        A value other than a temperature is not positive.

    Notes
    -----
    A straight fin, base at bed temperature, whose top loses heat to the air and gains
    `heat_flow` × (deposit - top). Exact for a column that grows slowly (growth speed × height over
    diffusivity below one); one temperature per height; the bed's own fall in temperature is left out.
    """
    require_positive(
        "column_top_temperature",
        height=height,
        slenderness=slenderness,
        conductivity=conductivity,
        coefficient=coefficient,
        heat_flow=heat_flow,
    )
    k, h_air = np.asarray(conductivity, dtype=float), np.asarray(coefficient, dtype=float)
    flow = np.asarray(heat_flow, dtype=float)
    decay = np.sqrt(h_air * np.asarray(slenderness) / k)
    reach = np.tanh(decay * np.asarray(height)) / (k * decay)
    base = (np.asarray(bed) - air) / np.cosh(decay * np.asarray(height))
    excess = (base + reach * flow * (np.asarray(deposit) - air)) / (1.0 + reach * (h_air + flow))
    return np.asarray(air + excess)


def layer_ripple(scaled_time: ArrayLike) -> Floats:
    """
    Return how far the top falls below its mean until the next layer comes, over the melt's excess.

    Parameters
    ----------
    scaled_time : (n,) float array
        Diffusivity times layer time over layer thickness squared. [1]

    Returns
    -------
    ripple : (n,) float array
        r/(1 + r) with r = -ζ(½)/√(π u). [1]

    Raises
    ------
    InputError
        `scaled_time` is not positive.

    Notes
    -----
    Each layer heats the top as 1/√(π u) of its excess. The sum over all layers before, less its mean, is
    ζ(½)/√(π u) just before the next one: exact for thin layers on a deep body, to first order in r; the form
    keeps it below one for layers laid faster than they cool. Against the sum itself it is 6 % low at u = 200, 11 % at
    50 and 22 % at 10.
    """
    require_positive("layer_ripple", scaled_time=scaled_time)
    r = -_ZETA_HALF / np.sqrt(np.pi * np.asarray(scaled_time, dtype=float))
    return np.asarray(r / (1.0 + r))
