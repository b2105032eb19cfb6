"""Laws of strength against void share."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_between, require_not_negative

__all__ = ["relative_strength_power", "relative_strength_ryshkewitch_duckworth"]

Floats = NDArray[np.float64]


def relative_strength_power(voids: ArrayLike, power: ArrayLike) -> Floats:
    """
    Return strength over bulk strength by the power law of the net area.

    Parameters
    ----------
    voids : (n,) float array
        Void share, 0 to 1. [1]
    power : (n,) float array
        1 for the net area alone, 1.5 to 3 with stress concentration. [1]

    Returns
    -------
    relative : (n,) float array
        (1 - φ)^n. [1]

    Raises
    ------
    InputError
        `voids` lies outside 0 to 1 or `power` is negative.

    Notes
    -----
    Standard form, from memory.
    """
    require_between("relative_strength_power", 0.0, 1.0, voids=voids)
    require_not_negative("relative_strength_power", power=power)
    return np.asarray((1.0 - np.asarray(voids, dtype=float)) ** np.asarray(power))


def relative_strength_ryshkewitch_duckworth(voids: ArrayLike, sensitivity: ArrayLike) -> Floats:
    """
    Return strength over bulk strength by the exponential law for porous solids.

    Parameters
    ----------
    voids : (n,) float array
        Void share, 0 to 1. [1]
    sensitivity : (n,) float array
        b, 4 to 7. [1]

    Returns
    -------
    relative : (n,) float array
        exp(-b φ). [1]

    Raises
    ------
    InputError
        `voids` lies outside 0 to 1 or `sensitivity` is negative.

    Notes
    -----
    Ryshkewitch, J. Am. Ceram. Soc. 36 (1953) 65; Duckworth, same volume, 68 (from memory).
    """
    require_between("relative_strength_ryshkewitch_duckworth", 0.0, 1.0, voids=voids)
    require_not_negative("relative_strength_ryshkewitch_duckworth", sensitivity=sensitivity)
    return np.asarray(np.exp(-np.asarray(sensitivity) * np.asarray(voids, dtype=float)))
