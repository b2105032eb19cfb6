"""Density by weighing in air and in water, void share against a reference, with their uncertainty."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

from voidless.errors import InputError

__all__ = ["Density", "Weighing", "air_density", "immersion_density", "void_share", "water_density"]

# Tanaka et al., Metrologia 38 (2001) 301: degrees Celsius and kg/m³, 0 to 40 °C, air-free, 101325 Pa.
_A1, _A2, _A3, _A4, _A5 = -3.983035, 301.797, 522528.9, 69.34881, 999.974950
AIR_C, PRESSURE_HPA, HUMIDITY_PCT = 23.0, 1013.25, 50.0
"""Air of a test room by ISO 291 where nothing else is said. [°C], [hPa], [%]"""
AIR_UNCERTAINTY_G_CM3 = 1e-5
"""Standard uncertainty of the density of air. [g/cm³] Common practice, no source."""


@dataclass(frozen=True)
class Weighing:
    """
    One specimen weighed in air and in water.

    Attributes
    ----------
    mass_air_g, mass_water_g : float
        Readings of a balance that is calibrated with weights. [g]
    water_c : float
        Temperature of the water. [°C]
    mass_air_uncertainty_g, mass_water_uncertainty_g, water_uncertainty_c : float
        Standard uncertainties; of the reading in water with wire and bubbles. [g], [g], [°C]
    air_c, pressure_hpa, humidity_pct : float
        Air of the room. [°C], [hPa], [%]
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
    t = temperature_c
    return _A5 * (1.0 - (t + _A1) ** 2 * (t + _A2) / (_A3 * (t + _A4)))


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


def immersion_density(weighing: Weighing, where: str = "weighing") -> Density:
    """
    Return the density of a specimen with its uncertainty, buoyancy of the air included.

    Parameters
    ----------
    weighing : Weighing
        Readings and their uncertainties.
    where : str
        File and line, for errors.

    Returns
    -------
    density : Density
        Closed voids are in it; water that enters open pores hides them.

    Raises
    ------
    InputError
        The masses are impossible.

    Notes
    -----
    density = air + (water - air) m_air / (m_air - m_water), both readings on one balance. First-order
    propagation of independent uncertainties of both readings, of the water's temperature and of the air.
    """
    dry, wet = weighing.mass_air_g, weighing.mass_water_g
    if not (dry > 0 and wet < dry and abs(wet) < float("inf")):
        raise InputError(
            where,
            f"{dry:g} g in air and {wet:g} g in water",
            "a mass in air above 0 and above that in water",
            "Check the two readings.",
        )
    water = water_density(weighing.water_c) * 1e-3
    air = air_density(weighing.air_c, weighing.pressure_hpa, weighing.humidity_pct) * 1e-3
    lost = dry - wet
    value = air + (water - air) * dry / lost
    near = min(weighing.water_c + 0.05, 40.0)
    slope = (water_density(near) - water_density(near - 0.1)) * 1e-3 / 0.1 if near > 0.1 else 0.0
    parts = (
        -(water - air) * wet / lost**2 * weighing.mass_air_uncertainty_g,
        (water - air) * dry / lost**2 * weighing.mass_water_uncertainty_g,
        dry / lost * slope * weighing.water_uncertainty_c,
        (1.0 - dry / lost) * AIR_UNCERTAINTY_G_CM3,
    )
    return Density(value, sum(part**2 for part in parts) ** 0.5)


def void_share(measured: Density, reference: Density, where: str = "void share") -> tuple[float, float]:
    """
    Return the share of voids against the density of the void-free material.

    Parameters
    ----------
    measured : Density
        Of the printed specimen.
    reference : Density
        Of the void-free material, best from the same spool in the same bath.
    where : str
        File and line, for errors.

    Returns
    -------
    share : (float, float)
        Void share and its standard uncertainty. [%]

    Raises
    ------
    InputError
        The reference is not positive.

    Notes
    -----
    ASTM D2734: 100 (reference - measured) / reference. It warns that values under 1 % need other tests
    beside them; a negative share says that the reference is too low.
    """
    if not reference.value_g_cm3 > 0:
        raise InputError(
            where, f"reference density {reference.value_g_cm3:g} g/cm³", "above 0", "Correct it."
        )
    ratio = measured.value_g_cm3 / reference.value_g_cm3
    own = measured.uncertainty_g_cm3 / reference.value_g_cm3
    other = ratio * reference.uncertainty_g_cm3 / reference.value_g_cm3
    return 100.0 * (1.0 - ratio), 100.0 * (own**2 + other**2) ** 0.5
