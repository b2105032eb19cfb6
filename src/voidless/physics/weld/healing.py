"""Degree of healing from a temperature history."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_not_negative, require_positive

__all__ = [
    "capped_healing",
    "healing_bastien_gillespie_1991",
    "healing_yang_pitchumani_2002",
    "integrate_rate",
    "rounded_healing",
]

Floats = NDArray[np.float64]

_TINY = 1e-300


def integrate_rate(time: ArrayLike, rate: ArrayLike) -> Floats:
    """
    Return the time integral of a rate given at nodes, along the last axis.

    Parameters
    ----------
    time : (m,) float array
        Rising. [s]
    rate : (..., m) float array
        Not negative. [1/s]

    Returns
    -------
    integral : (...) float array
        Exact where the rate is exponential in time between nodes; 0 over a step that ends at rate 0. [1]

    Raises
    ------
    InputError
        The times do not rise or a rate is negative.
    """
    nodes, values = np.asarray(time, dtype=float), np.asarray(rate, dtype=float)
    require_positive("integrate_rate", time_steps=np.diff(nodes, axis=-1))
    require_not_negative("integrate_rate", rate=values)
    first, last = values[..., :-1], values[..., 1:]
    ratio = np.log(np.maximum(last, _TINY) / np.maximum(first, _TINY))
    flat = np.abs(ratio) < 1e-6
    mean = np.where(flat, 0.5 * (first + last), (last - first) / np.where(flat, 1.0, ratio))
    return np.asarray(np.sum(mean * np.diff(nodes, axis=-1), axis=-1))


def capped_healing(integral: ArrayLike) -> Floats:
    """
    Return the degree of healing of a healing integral.

    Parameters
    ----------
    integral : (n,) float array
        Integral of one over the weld time. [1]

    Returns
    -------
    healing : (n,) float array
        Fourth root, at most 1. [1]

    Raises
    ------
    InputError
        `integral` is negative.
    """
    require_not_negative("capped_healing", integral=integral)
    return np.asarray(np.minimum(np.asarray(integral, dtype=float) ** 0.25, 1.0))


def rounded_healing(integral: ArrayLike) -> Floats:
    """
    Return the degree of healing with the corner at 1 rounded, for use where slopes are needed.

    Parameters
    ----------
    integral : (n,) float array
        Integral of one over the weld time. [1]

    Returns
    -------
    healing : (n,) float array
        (1 + I^-4)^(-1/16): within 4.3 % of `capped_healing` at 1, within 0.1 % below 0.6 or above 1.6. [1]

    Raises
    ------
    InputError
        `integral` is negative.
    """
    require_not_negative("rounded_healing", integral=integral)
    bounded = np.maximum(np.asarray(integral, dtype=float), 1e-30)
    return np.asarray((1.0 + bounded**-4.0) ** -0.0625)


def healing_yang_pitchumani_2002(time: ArrayLike, weld_time: ArrayLike) -> Floats:
    """
    Return the degree of healing for a changing temperature.

    Parameters
    ----------
    time : (m,) float array
        Rising. [s]
    weld_time : (..., m) float array
        Time to full healing at the temperature of each node; infinite where nothing heals. [s]

    Returns
    -------
    healing : (...) float array
        (∫ dt/t_w)^¼, at most 1. [1]

    Raises
    ------
    InputError
        The times do not rise or a weld time is not positive.

    Notes
    -----
    Yang and Pitchumani, Macromolecules 35 (2002) 3213 (abstract read, formula from memory); for constant
    temperature the law of Wool and O'Connor, J. Appl. Phys. 52 (1981) 5953. Full healing is no proof of bulk
    strength: entanglements lag behind diffusion (McIlroy and Olmsted, Polymer 123, 2017, 376).
    """
    times = np.asarray(weld_time, dtype=float)
    require_positive("healing_yang_pitchumani_2002", weld_time=np.minimum(times, 1e300))
    return capped_healing(integrate_rate(time, 1.0 / times))


def healing_bastien_gillespie_1991(time: ArrayLike, weld_time: ArrayLike) -> Floats:
    """
    Return the degree of healing by the older sum, kept for comparison.

    Parameters
    ----------
    time : (m,) float array
        Rising from 0. [s]
    weld_time : (..., m) float array
        Time to full healing at each node. [s]

    Returns
    -------
    healing : (...) float array
        Σ (t_{i+1}^¼ - t_i^¼)/t_w^¼, at most 1, weld time at the middle of each step. [1]

    Raises
    ------
    InputError
        The times do not rise or a weld time is not positive.

    Notes
    -----
    Bastien and Gillespie, Polym. Eng. Sci. 31 (1991) 1720 (from memory). Equal to
    `healing_yang_pitchumani_2002` at constant temperature alone; it counts late warmth too little.
    """
    nodes, times = np.asarray(time, dtype=float), np.asarray(weld_time, dtype=float)
    require_positive("healing_bastien_gillespie_1991", time_steps=np.diff(nodes), weld_time=times)
    require_not_negative("healing_bastien_gillespie_1991", time=nodes)
    middle = np.sqrt(times[..., :-1] * times[..., 1:])
    steps = np.diff(nodes**0.25) / middle**0.25
    return np.asarray(np.minimum(np.sum(steps, axis=-1), 1.0))
