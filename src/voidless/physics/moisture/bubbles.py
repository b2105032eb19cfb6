"""Steam bubbles: the bound when all water flashes, and the pressure that drives a bubble's growth."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_not_negative, require_positive
from voidless.physics.melt.viscosity import GAS_CONSTANT
from voidless.physics.moisture.steam import saturation_pressure

__all__ = [
    "ATMOSPHERE",
    "WATER_MOLAR_MASS",
    "critical_radius",
    "enclosed_gas_share",
    "flash_share",
    "hydrolysed_molar_mass",
    "hydrolysed_viscosity",
    "water_pressure",
]

Floats = NDArray[np.float64]

ATMOSPHERE = 101325.0
"""Standard atmosphere. [Pa] Exact by definition (CGPM 1954)."""
WATER_MOLAR_MASS = 0.018015
"""Molar mass of water. [kg/mol] Rounded, as the reference check values use it."""


def flash_share(water: ArrayLike, temperature: ArrayLike, density: ArrayLike, pressure: ArrayLike) -> Floats:
    """
    Return the volume share of steam if all water left the melt at once: an upper bound.

    Parameters
    ----------
    water : (n,) float array
        Water as mass share. [1]
    temperature : (n,) float array
        Temperature of the melt. [K]
    density : (n,) float array
        Density of the melt. [kg/m³]
    pressure : (n,) float array
        Absolute pressure around the melt. [Pa]

    Returns
    -------
    share : (n,) float array
        Steam volume over total volume. [1]

    Raises
    ------
    InputError
        `water` is negative or another value is not positive.

    Notes
    -----
    Ideal gas. Real bubbles are far fewer: diffusion to them is limited by time.

    Examples
    --------
    >>> round(100 * float(flash_share(1e-4, 513.15, 1150.0, ATMOSPHERE)), 3)
    21.185
    """
    require_not_negative("flash_share", water=water)
    require_positive("flash_share", temperature=temperature, density=density, pressure=pressure)
    moles = np.asarray(water, dtype=float) * np.asarray(density) / WATER_MOLAR_MASS
    steam = moles * GAS_CONSTANT * np.asarray(temperature) / np.asarray(pressure)
    return np.asarray(steam / (1.0 + steam))


def water_pressure(water: ArrayLike, saturation: ArrayLike, temperature: ArrayLike) -> Floats:
    """
    Return the pressure of steam in equilibrium with water dissolved in a melt.

    Parameters
    ----------
    water : (n,) float array
        Water as mass share. [1]
    saturation : (n,) float array
        Water in equilibrium with saturated steam at this temperature, as mass share. [1]
    temperature : (n,) float array
        Temperature of the melt. [K]

    Returns
    -------
    pressure : (n,) float array
        Henry's law; a bubble grows where this exceeds melt pressure plus 2Γ/r. [Pa]

    Raises
    ------
    InputError
        `water` is negative or `saturation` is not positive.
    """
    require_not_negative("water_pressure", water=water)
    require_positive("water_pressure", saturation=saturation)
    return np.asarray(
        saturation_pressure(temperature) * np.asarray(water, dtype=float) / np.asarray(saturation)
    )


def hydrolysed_molar_mass(molar_mass: ArrayLike, water: ArrayLike) -> Floats:
    """
    Return the number-average molar mass after all water has cut chains: a lower bound.

    Parameters
    ----------
    molar_mass : (n,) float array
        Number average before. [kg/mol]
    water : (n,) float array
        Water as mass share. [1]

    Returns
    -------
    molar_mass : (n,) float array
        1/(1/M + w/18.015 g/mol). [kg/mol]

    Raises
    ------
    InputError
        `molar_mass` is not positive or `water` is negative.
    """
    require_positive("hydrolysed_molar_mass", molar_mass=molar_mass)
    require_not_negative("hydrolysed_molar_mass", water=water)
    return np.asarray(
        1.0 / (1.0 / np.asarray(molar_mass, dtype=float) + np.asarray(water) / WATER_MOLAR_MASS)
    )


def hydrolysed_viscosity(before: ArrayLike, after: ArrayLike) -> Floats:
    """
    Return the viscosity at rest over that before, once chains have been cut.

    Parameters
    ----------
    before, after : (n,) float array
        Molar mass, from `hydrolysed_molar_mass`. [kg/mol]

    Returns
    -------
    ratio : (n,) float array
        (after/before)^3.4. [1]

    Raises
    ------
    InputError
        A molar mass is not positive.

    Notes
    -----
    The power law of entangled melts; the exponent is that of the textbooks (from memory).
    """
    require_positive("hydrolysed_viscosity", before=before, after=after)
    return np.asarray((np.asarray(after, dtype=float) / np.asarray(before)) ** 3.4)


def critical_radius(surface_tension: ArrayLike, overpressure: ArrayLike) -> Floats:
    """
    Return the radius below which surface tension closes a bubble again.

    Parameters
    ----------
    surface_tension : (n,) float array
        Of the melt. [N/m]
    overpressure : (n,) float array
        Of the gas over the melt around it. [Pa]

    Returns
    -------
    radius : (n,) float array
        2 Γ/Δp. [m]

    Raises
    ------
    InputError
        A value is not positive.
    """
    require_positive("critical_radius", surface_tension=surface_tension, overpressure=overpressure)
    return np.asarray(2.0 * np.asarray(surface_tension, dtype=float) / np.asarray(overpressure))


def enclosed_gas_share(
    share: ArrayLike, closing: ArrayLike, firm: ArrayLike, pressure: ArrayLike = ATMOSPHERE
) -> Floats:
    """
    Return the void share that air leaves which was shut in when a void closed.

    Parameters
    ----------
    share : (n,) float array
        Void share when it was shut. [1]
    closing : (n,) float array
        Temperature then. [K]
    firm : (n,) float array
        Temperature at which the melt is firm. [K]
    pressure : (n,) float array
        On the melt while it becomes firm; the air was shut in at one atmosphere. [Pa]

    Returns
    -------
    share : (n,) float array
        share × (atmosphere/pressure) × (firm/closing). [1]

    Raises
    ------
    InputError
        `share` is negative or another value is not positive.

    Notes
    -----
    Ideal gas that neither dissolves nor escapes: a lower bound for what an enclosed void shrinks to, unless
    air goes out along the bead.
    """
    require_not_negative("enclosed_gas_share", share=share)
    require_positive("enclosed_gas_share", closing=closing, firm=firm, pressure=pressure)
    squeezed = ATMOSPHERE / np.asarray(pressure, dtype=float) * np.asarray(firm) / np.asarray(closing)
    return np.asarray(np.asarray(share, dtype=float) * squeezed)
