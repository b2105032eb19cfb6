"""Size error of an outside dimension, coarse."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_not_negative, require_positive

__all__ = ["overfill_growth", "shrinkage", "soft_sway", "softness"]

Floats = NDArray[np.float64]


def overfill_growth(pitch: ArrayLike, balance: ArrayLike, excess: ArrayLike, spread: ArrayLike) -> Floats:
    """
    Return how much an outside dimension grows by volume that is too much or too little, both sides together.

    Parameters
    ----------
    pitch : (n,) float array
        Pitch, which is the outer bead's share of the layer. [m]
    balance : (n,) float array
        Deposited volume over exact fill, less one. [1]
    excess : (n,) float array
        Volume share that finds no room inside and is pressed outwards. [1]
    spread : (n,) float array
        How many beads' excess reaches each side. [1]

    Returns
    -------
    growth : (n,) float array
        pitch × (balance + 2 × spread × excess): the outer bead's own half width on each side, and what the
        inside presses out. [m]

    Raises
    ------
    InputError
        `pitch` is not positive, or `excess` or `spread` is negative.

    Notes
    -----
    Coarse, this project's own; no source found that measures it.
    """
    require_positive("overfill_growth", pitch=pitch)
    require_not_negative("overfill_growth", excess=excess, spread=spread)
    pushed = 2.0 * np.asarray(spread, dtype=float) * np.asarray(excess)
    return np.asarray(np.asarray(pitch) * (np.asarray(balance) + pushed))


def shrinkage(length: ArrayLike, expansion: ArrayLike, drop: ArrayLike) -> Floats:
    """
    Return how much a dimension shrinks from the temperature at which it became stiff.

    Parameters
    ----------
    length : (n,) float array
        Dimension. [m]
    expansion : (n,) float array
        Linear thermal expansion of the solid. [1/K]
    drop : (n,) float array
        From the temperature of stiffening to room temperature. [K]

    Returns
    -------
    shrinkage : (n,) float array
        Positive when smaller. [m]

    Raises
    ------
    InputError
        `length` is not positive or `expansion` is negative.
    """
    require_positive("shrinkage", length=length)
    require_not_negative("shrinkage", expansion=expansion)
    return np.asarray(np.asarray(length, dtype=float) * np.asarray(expansion) * np.asarray(drop))


def softness(temperature: ArrayLike, stiff: ArrayLike, width: float) -> Floats:
    """
    Return how soft the top of a section stays, as a smooth step.

    Parameters
    ----------
    temperature : (n,) float array
        Temperature of the top between layers. [K]
    stiff : (n,) float array
        Temperature at which it is half soft. [K]
    width : float
        Width of the step. [K]

    Returns
    -------
    softness : (n,) float array
        0 when cold, 1 when it no longer carries itself. [1]

    Raises
    ------
    InputError
        `width` is not positive.

    Notes
    -----
    Logistic, coarse: a section that stays near its glass transition sags, rounds and tears. This, not better
    healing, is taken to explain that a little fan helps small upright bars.
    """
    require_positive("softness", width=width)
    scaled = (np.asarray(temperature, dtype=float) - np.asarray(stiff)) / width
    return np.asarray(0.5 * (1.0 + np.tanh(0.5 * scaled)))


def soft_sway(
    width: ArrayLike,
    conductivity: ArrayLike,
    coefficient: ArrayLike,
    modulus: ArrayLike,
    force: ArrayLike,
) -> Floats:
    """
    Return how far the soft top of a square column is pushed aside.

    Parameters
    ----------
    width : (n,) float array
        Side of the square; four areas over the perimeter for other sections. [m]
    conductivity : (n,) float array
        Thermal conductivity. [W/(m K)]
    coefficient : (n,) float array
        Heat-transfer coefficient to the air. [W/(m² K)]
    modulus : (n,) float array
        Young's modulus of the soft polymer. [Pa]
    force : (n,) float array
        Sideways, on the top. [N]

    Returns
    -------
    sway : (n,) float array
        4 F/(E w^2.5) × (k/4h)^1.5. [m]

    Raises
    ------
    InputError
        A value is not positive.

    Notes
    -----
    A cantilever, F L³/(3 E w⁴/12), as long as a fin of that width stays warm, L = √(k w/4h): derived here. So a
    section twice as wide is pushed aside by less than a fifth, and a fan that doubles h cuts sway by three. Coarse:
    soft and stiff pass into each other, and a column that is hotter than its rubbery plateau sags as well.
    """
    require_positive(
        "soft_sway",
        width=width,
        conductivity=conductivity,
        coefficient=coefficient,
        modulus=modulus,
        force=force,
    )
    reach = np.asarray(conductivity, dtype=float) / (4.0 * np.asarray(coefficient))
    return np.asarray(4.0 * np.asarray(force) * reach**1.5 / (np.asarray(modulus) * np.asarray(width) ** 2.5))
