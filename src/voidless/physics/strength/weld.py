"""Strength across welds, and of a bar whose layers lie at angles to the pull."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_between, require_not_negative, require_positive

__all__ = ["off_axis_strength", "weld_efficiency", "weld_strength"]

Floats = NDArray[np.float64]

_LEAST = 1e-7  # [Pa] no strength at all, so that 0 and 90° keep their limits without 0 times infinity
_MOST = 2.0  # times the stronger direction; beads half as strong as what joins them are a foam, where the form fails


def weld_efficiency(healing: ArrayLike, saturation: ArrayLike) -> Floats:
    """
    Return the share of tensile strength that a degree of healing gives: full before healing is full.

    Parameters
    ----------
    healing : (n,) float array
        Degree of healing, 0 to 1. [1]
    saturation : (n,) float array
        Degree of healing at which the bar yields before the weld breaks, above 0. [1]

    Returns
    -------
    efficiency : (n,) float array
        r/(1 + r⁸)^⅛ with r = healing/saturation: r when small, 1 when large, corner rounded. [1]

    Raises
    ------
    InputError
        `healing` lies outside 0 to 1 or `saturation` is not positive.

    Notes
    -----
    Simulated welds reach bulk strength before chains have diffused their own size (Ge et al., arXiv
    1211.6796, abstract); where a weld saturates for printed polymers was not found. Strength then says
    nothing more about healing: strain at break, tear or impact do.
    """
    require_between("weld_efficiency", 0.0, 1.0, healing=healing)
    require_positive("weld_efficiency", saturation=saturation)
    r = np.asarray(healing, dtype=float) / np.asarray(saturation)
    return np.asarray(r / (1.0 + r**8) ** 0.125)


def weld_strength(bulk: ArrayLike, contact: ArrayLike, efficiency: ArrayLike, notch: ArrayLike) -> Floats:
    """
    Return the strength across a weld, over the gross area.

    Parameters
    ----------
    bulk : (n,) float array
        Strength of the bulk polymer. [Pa]
    contact : (n,) float array
        Share of the weld that touches, 0 to 1. [1]
    efficiency : (n,) float array
        Share of strength that healing gives: `weld_efficiency`, or the degree of healing itself. [1]
    notch : (n,) float array
        Share of strength that layer lines and orientation leave, 0 to 1. [1]

    Returns
    -------
    strength : (n,) float array
        Product of the four. [Pa]

    Raises
    ------
    InputError
        A share lies outside 0 to 1.

    Notes
    -----
    Form of Coogan and Kazmer, Rapid Prototyp. J. 23 (2017) 551 (from memory; their diffusion model reached
    R² = 0.795 on hollow ABS boxes).
    """
    require_between("weld_strength", 0.0, 1.0, contact=contact, efficiency=efficiency, notch=notch)
    carried = np.asarray(contact, dtype=float) * np.asarray(efficiency) * np.asarray(notch)
    return np.asarray(np.asarray(bulk) * carried)


def off_axis_strength(along: ArrayLike, across: ArrayLike, shear: ArrayLike, angle: ArrayLike) -> Floats:
    """
    Return the strength of a layer pulled at an angle to its beads.

    Parameters
    ----------
    along : (n,) float array
        Strength along the beads, not negative. [Pa]
    across : (n,) float array
        Strength across the beads, 0 where they do not touch. [Pa]
    shear : (n,) float array
        Shear strength in the plane, not negative. [Pa]
    angle : (n,) float array
        Between pull and beads. [rad]

    Returns
    -------
    strength : (n,) float array
        Tsai-Hill: 1/σ² = c⁴/X² + (1/S² - 1/X²) c² s² + s⁴/Y², at most twice the larger of X and Y. [Pa]

    Raises
    ------
    InputError
        A strength is negative or not finite.

    Notes
    -----
    Azzi and Tsai, Exp. Mech. 5 (1965) 283 (from memory). Equals `along` at 0 and `across` at 90°. Meant for beads
    stronger than what joins them (X above S): in a foam, where they are not, the form passes infinity, hence the
    bound. Where X = Y, S = X/√3 makes a body that is equally strong at all angles; a larger S makes it stronger
    between them, 15 % at 45° for S = 0.7 X.
    """
    require_not_negative("off_axis_strength", along=along, across=across, shear=shear)
    x, y, s = (np.maximum(np.asarray(value, dtype=float), _LEAST) for value in (along, across, shear))
    cosine, sine = np.cos(angle) ** 2, np.sin(angle) ** 2
    inverse = cosine**2 / x**2 + (1.0 / s**2 - 1.0 / x**2) * cosine * sine + sine**2 / y**2
    return np.asarray(1.0 / np.sqrt(np.maximum(inverse, 1.0 / (_MOST * np.maximum(x, y)) ** 2)))
