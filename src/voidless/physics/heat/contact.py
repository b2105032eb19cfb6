"""Temperature of the interface when two bodies touch."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_positive

__all__ = ["contact_temperature", "effusivity"]

Floats = NDArray[np.float64]


def effusivity(conductivity: ArrayLike, density: ArrayLike, heat_capacity: ArrayLike) -> Floats:
    """
    Return the thermal effusivity of a material.

    Parameters
    ----------
    conductivity : (n,) float array
        Thermal conductivity. [W/(m K)]
    density : (n,) float array
        Density. [kg/m³]
    heat_capacity : (n,) float array
        Specific heat capacity. [J/(kg K)]

    Returns
    -------
    effusivity : (n,) float array
        sqrt(k ρ c). [J/(m² K s^0.5)]

    Raises
    ------
    InputError
        An argument is not positive.
    """
    require_positive("effusivity", conductivity=conductivity, density=density, heat_capacity=heat_capacity)
    product = np.asarray(conductivity, dtype=float) * np.asarray(density) * np.asarray(heat_capacity)
    return np.asarray(np.sqrt(product))


def contact_temperature(
    first: ArrayLike, second: ArrayLike, effusivity_first: ArrayLike, effusivity_second: ArrayLike
) -> Floats:
    """
    Return the temperature that two half-spaces take at once where they touch.

    Parameters
    ----------
    first, second : (n,) float array
        Temperatures before contact. [K]
    effusivity_first, effusivity_second : (n,) float array
        From `effusivity`. [J/(m² K s^0.5)]

    Returns
    -------
    temperature : (n,) float array
        Mean weighted by effusivity; constant until a finite body's other face is felt. [K]

    Raises
    ------
    InputError
        An effusivity is not positive.

    Notes
    -----
    Carslaw and Jaeger, "Conduction of Heat in Solids", 2nd edition, 1959, section 2.15 (from memory).
    """
    require_positive(
        "contact_temperature", effusivity_first=effusivity_first, effusivity_second=effusivity_second
    )
    e1 = np.asarray(effusivity_first, dtype=float)
    e2 = np.asarray(effusivity_second, dtype=float)
    return np.asarray((e1 * np.asarray(first) + e2 * np.asarray(second)) / (e1 + e2))
