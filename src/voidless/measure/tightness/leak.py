"""Leak rates: units, gases, capillaries and permeation."""

from __future__ import annotations

import math

from voidless.errors import InputError

__all__ = [
    "ATM_CM3_S",
    "HELIUM_TO_AIR_MOLECULAR",
    "HELIUM_TO_AIR_VISCOUS",
    "MBAR_L_S",
    "capillary_leak",
    "permeation",
    "sccm",
    "throughput_at",
]

ATM_CM3_S = 101325.0 * 1e-6
"""One atm cm³/s. [Pa m³/s] Standard atmosphere, exact."""
MBAR_L_S = 0.1
"""One mbar l/s. [Pa m³/s] Exact."""
HELIUM_TO_AIR_VISCOUS = 19.6 / 18.2
"""Air over helium through one leak in viscous flow: ratio of viscosities. [1] Leak-test manual prints 1.08."""
HELIUM_TO_AIR_MOLECULAR = math.sqrt(4.0026 / 28.9647)
"""Air over helium in molecular flow: root of the ratio of molar masses. [1] Leak-test manual prints 0.374."""
BARRER = 7.5006157584566e-18
"""One Barrer: 1e-10 cm³(STP) cm / (cm² s cmHg). [m³(STP) m / (m² s Pa)]"""


def sccm(throughput: float, reference: float = 273.15) -> float:
    """
    Return a throughput as standard cubic centimetres a minute.

    Parameters
    ----------
    throughput : float
        Leak rate of gas at the reference temperature. [Pa m³/s]
    reference : float
        Temperature of the gas whose pressure times volume it counts. [K]

    Returns
    -------
    flow : float
        At 0 °C and 101325 Pa. [cm³/min]
    """
    return throughput_at(throughput, reference, 273.15) / ATM_CM3_S * 60.0


def throughput_at(throughput: float, known: float, wanted: float) -> float:
    """
    Return the same flow of gas as a throughput at another reference temperature.

    Parameters
    ----------
    throughput : float
        Leak rate. [Pa m³/s]
    known, wanted : float
        Temperature that it refers to, and the one wanted. [K]

    Returns
    -------
    throughput : float
        Pressure times volume grows with temperature. [Pa m³/s]

    Raises
    ------
    InputError
        A temperature is not above 0 K.
    """
    if not (known > 0 and wanted > 0):
        raise InputError(
            "leak rate", f"{known:g} and {wanted:g} K", "temperatures above 0 K", "Correct them."
        )
    return throughput * wanted / known


def capillary_leak(
    diameter: float, length: float, pressure_in: float, pressure_out: float, viscosity: float
) -> float:
    """
    Return the leak rate of a round channel in viscous flow.

    Parameters
    ----------
    diameter, length : float
        [m]
    pressure_in, pressure_out : float
        Absolute. [Pa]
    viscosity : float
        Of the gas. [Pa s]

    Returns
    -------
    throughput : float
        pi d⁴ (p1² - p2²) / (256 viscosity length), compressible Poiseuille flow. [Pa m³/s]
    """
    return math.pi * diameter**4 * (pressure_in**2 - pressure_out**2) / (256.0 * viscosity * length)


def permeation(
    permeability_barrer: float,
    area: float,
    thickness: float,
    pressure_difference: float,
    reference: float = 273.15,
) -> float:
    """
    Return what passes through a sound wall, which a leak test cannot tell from a leak by its rate.

    Parameters
    ----------
    permeability_barrer : float
        Of the polymer for the gas. [Barrer]
    area, thickness : float
        Of the wall. [m²], [m]
    pressure_difference : float
        Of the gas's own partial pressure. [Pa]
    reference : float
        Temperature that the throughput refers to. [K]

    Returns
    -------
    throughput : float
        Permeability times area times difference over thickness. [Pa m³/s]

    Notes
    -----
    It starts after the time lag thickness² / (6 diffusivity), and grows with the pressure difference; a leak starts at
    once and in viscous flow grows with the difference of the squares of the pressures.
    """
    stp = permeability_barrer * BARRER * area * pressure_difference / thickness
    return throughput_at(stp * 101325.0, 273.15, reference)
