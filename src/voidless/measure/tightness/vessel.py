"""A printed vessel under pressure: what it stores, what its wall carries, and what must be said first."""

from __future__ import annotations

from voidless.errors import InputError

__all__ = ["CAUTION", "stored_gas", "stored_water", "wall_axial", "wall_hoop"]

CAUTION = (
    "Proof-test with water first, behind a shield: gas stores hundreds of times the energy of water and more. "
    "Never put gas into a printed vessel that water has not proven. Eye protection, remote valve, relief valve, "
    "pressure limiter; fill dead volume with water or solids; polymer creeps and breaks later at a pressure that "
    "it held at first. "
    "Local codes and licensed practice decide; this program does not."
)


def stored_gas(pressure: float, volume: float, ambient: float = 101325.0, ratio: float = 1.4) -> float:
    """
    Return the energy that expanding gas sets free.

    Parameters
    ----------
    pressure, ambient : float
        Absolute. [Pa]
    volume : float
        [m³]
    ratio : float
        Of the heat capacities; 1.4 for air. [1]

    Returns
    -------
    energy : float
        p V / (k - 1) [1 - (ambient / p)^((k - 1) / k)], isentropic. [J]

    Raises
    ------
    InputError
        The vessel is not above ambient pressure.
    """
    if not pressure > ambient > 0:
        raise InputError("vessel", f"{pressure:g} Pa", "an absolute pressure above ambient", "Correct it.")
    return pressure * volume / (ratio - 1.0) * float(1.0 - (ambient / pressure) ** ((ratio - 1.0) / ratio))


def stored_water(overpressure: float, volume: float, bulk_modulus: float = 2.2e9) -> float:
    """
    Return the energy of compressed water; the wall stores some ten times as much in a stiff polymer vessel.

    Parameters
    ----------
    overpressure : float
        [Pa]
    volume : float
        [m³]
    bulk_modulus : float
        Of water, from memory. [Pa]

    Returns
    -------
    energy : float
        p² V / (2 K). [J]
    """
    return overpressure**2 * volume / (2.0 * bulk_modulus)


def wall_hoop(overpressure: float, inner: float, outer: float) -> float:
    """
    Return the hoop stress at the inner face of a thick tube (Lamé).

    Parameters
    ----------
    overpressure : float
        [Pa]
    inner, outer : float
        Radii. [m]

    Returns
    -------
    stress : float
        [Pa]
    """
    return overpressure * (outer**2 + inner**2) / (outer**2 - inner**2)


def wall_axial(overpressure: float, inner: float, outer: float) -> float:
    """
    Return the axial stress of a closed thick tube: what the welds between layers carry when it is printed upright.

    Parameters
    ----------
    overpressure : float
        [Pa]
    inner, outer : float
        Radii. [m]

    Returns
    -------
    stress : float
        [Pa]
    """
    return overpressure * inner**2 / (outer**2 - inner**2)
