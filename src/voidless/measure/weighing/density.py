"""Density of water, of air, and of a piece weighed in both."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, inf

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.errors import InputError

__all__ = ["Density", "Weighing", "air_density", "centre", "density_of", "tanaka", "water_density"]

Floats = NDArray[np.float64]

# Tanaka et al., Metrologia 38 (2001) 301: degrees Celsius and kg/m³, 0 to 40 °C, air-free, 101325 Pa.
_A1, _A2, _A3, _A4, _A5 = -3.983035, 301.797, 522528.9, 69.34881, 999.974950
AIR_C, PRESSURE_HPA, HUMIDITY_PCT = 23.0, 1013.25, 50.0
"""Air of a test room by ISO 291 where nothing else is said. [°C], [hPa], [%]"""


@dataclass(frozen=True)
class Weighing:
    """
    One piece weighed in air and in water.

    Attributes
    ----------
    mass_air_g, mass_water_g : float
        Readings of one balance that is calibrated with weights. [g]
    water_c : float
        Temperature of the water. [°C]
    mass_air_uncertainty_g, mass_water_uncertainty_g, water_uncertainty_c : float
        Standard uncertainties of the readings. [g], [g], [°C]
    air_c, pressure_hpa, humidity_pct : float
        Air of the room. [°C], [hPa], [%]
    bubbles_mm3 : float
        Largest volume of bubbles that may cling to the piece in water; half of it is taken off. [mm³]
    wire_mm : float
        Diameter of the wire that passes the water's surface; 0 where nothing does. [mm]
    """

    mass_air_g: float
    mass_water_g: float
    water_c: float
    mass_air_uncertainty_g: float
    mass_water_uncertainty_g: float
    water_uncertainty_c: float
    air_c: float = AIR_C
    pressure_hpa: float = PRESSURE_HPA
    humidity_pct: float = HUMIDITY_PCT
    bubbles_mm3: float = 0.0
    wire_mm: float = 0.0


@dataclass(frozen=True)
class Density:
    """A density and its standard uncertainty. [g/cm³]"""

    value_g_cm3: float
    uncertainty_g_cm3: float


def water_density(temperature_c: float) -> float:
    """
    Return the density of air-free water.

    Parameters
    ----------
    temperature_c : float
        Temperature, 0 to 40. [°C]

    Returns
    -------
    density : float
        At 101325 Pa. [kg/m³]

    Raises
    ------
    InputError
        The temperature is outside 0 to 40 °C.

    Notes
    -----
    Tanaka et al., "Recommended table for the density of water between 0 °C and 40 °C", Metrologia 38
    (2001) 301. Dissolved air lowers it by 0.0025 kg/m³ at 20 °C (from memory), left out.

    Examples
    --------
    >>> round(water_density(23.0), 4)
    997.5408
    """
    if not 0.0 <= temperature_c <= 40.0:
        raise InputError(
            "water_c", f"{temperature_c:g} °C", "0 to 40 °C", "Correct the temperature of the water."
        )
    return float(tanaka(temperature_c))


def tanaka(temperature_c: ArrayLike) -> Floats:
    """Return Tanaka's formula for the density of water at (n,) temperatures, in range or not. [kg/m³]"""
    t = np.asarray(temperature_c, dtype=float)
    return np.asarray(_A5 * (1.0 - (t + _A1) ** 2 * (t + _A2) / (_A3 * (t + _A4))))


def air_density(temperature_c: float, pressure_hpa: float, humidity_pct: float) -> float:
    """
    Return the density of moist air.

    Parameters
    ----------
    temperature_c : float
        Temperature. [°C]
    pressure_hpa : float
        Pressure. [hPa]
    humidity_pct : float
        Relative humidity. [%]

    Returns
    -------
    density : float
        About 1.2. [kg/m³]

    Notes
    -----
    The simplified formula of OIML R 111 (from memory): good to parts in ten thousand in test rooms.
    """
    vapour = 0.009 * humidity_pct * exp(0.061 * temperature_c)
    return (0.34848 * pressure_hpa - vapour) / (273.15 + temperature_c)


def density_of(
    mass_air_g: ArrayLike,
    mass_water_g: ArrayLike,
    water_g_cm3: ArrayLike,
    air_g_cm3: ArrayLike,
    bubbles_cm3: ArrayLike,
) -> Floats:
    """
    Return the density of pieces from their two readings.

    Parameters
    ----------
    mass_air_g, mass_water_g : (n,) float array
        Readings in air and in water. [g]
    water_g_cm3, air_g_cm3 : (n,) float array
        Densities of water and air. [g/cm³]
    bubbles_cm3 : (n,) float array
        Volume of bubbles that cling to the piece in water. [cm³]

    Returns
    -------
    density : (n,) float array
        air + (water - air) m_air / (m_air - m_water), the reading in water freed of the bubbles' lift. [g/cm³]
    """
    dry, water, air = (np.asarray(each, dtype=float) for each in (mass_air_g, water_g_cm3, air_g_cm3))
    lost = dry - np.asarray(mass_water_g) - water * np.asarray(bubbles_cm3)
    return np.asarray(air + (water - air) * dry / lost)


def centre(weighing: Weighing, where: str) -> float:
    """Return the density of a weighing alone; an impossible pair of masses is refused. [g/cm³]"""
    dry, wet, bubbles = weighing.mass_air_g, weighing.mass_water_g, weighing.bubbles_mm3
    if not (0 < dry < inf and wet < dry and abs(wet) < inf):
        raise InputError(
            where,
            f"{dry:g} g in air and {wet:g} g in water",
            "a mass in air above 0 and above that in water",
            "Check the two readings.",
        )
    water = water_density(weighing.water_c) * 1e-3
    if not 0 <= bubbles < 500.0 * (dry - wet) / water:
        raise InputError(
            where, f"bubbles of {bubbles:g} mm³", "less than half of the piece", "Wipe the bubbles off."
        )
    if not 0 <= weighing.wire_mm < inf:
        raise InputError(where, f"a wire of {weighing.wire_mm:g} mm", "0 mm or more", "Correct it.")
    air = air_density(weighing.air_c, weighing.pressure_hpa, weighing.humidity_pct) * 1e-3
    return float(density_of(dry, wet, water, air, 0.5e-3 * bubbles))
