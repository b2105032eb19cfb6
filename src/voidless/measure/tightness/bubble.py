"""What a bubble test under water can see."""

from __future__ import annotations

import math
from dataclasses import dataclass

from voidless.errors import InputError

__all__ = ["SURFACE_TENSION_WATER", "Bubbles", "bubble_interval", "bubble_leak", "smallest_channel"]

SURFACE_TENSION_WATER = 0.073
"""Of clean water. [N/m] ASNT Nondestructive Testing Handbook, vol. 1, 3rd edition, 1998."""
ATMOSPHERE = 101325.0


@dataclass(frozen=True)
class Bubbles:
    """
    Leak rate from bubbles.

    Attributes
    ----------
    rate, low, high : float
        Leak rate with its 95 % interval from the count and the diameter's uncertainty; `high` alone is a statement
        where no bubble rose. [Pa m³/s]
    """

    rate: float
    low: float
    high: float


def bubble_interval(rate: float, diameter: float, pressure: float = ATMOSPHERE) -> float:
    """
    Return the time between two bubbles.

    Parameters
    ----------
    rate : float
        Leak rate. [Pa m³/s]
    diameter : float
        Of a bubble. [m]
    pressure : float
        In the bubble. [Pa]

    Returns
    -------
    interval : float
        [s]
    """
    return math.pi / 6.0 * diameter**3 * pressure / rate


def bubble_leak(
    count: int, duration: float, diameter: float, diameter_share: float = 0.15, pressure: float = ATMOSPHERE
) -> Bubbles:
    """
    Return the leak rate that counted bubbles show.

    Parameters
    ----------
    count : int
        Bubbles. [1]
    duration : float
        Time that they were counted in. [s]
    diameter : float
        Of one bubble. [m]
    diameter_share : float
        Standard uncertainty of the diameter as a share of it. [1]
    pressure : float
        In the bubbles. [Pa]

    Returns
    -------
    leak : Bubbles
        The exact Poisson interval of the count, widened by three times the uncertainty of the diameter.

    Raises
    ------
    InputError
        The count is negative, or time or diameter are not positive.
    """
    if not (count >= 0 and duration > 0 and diameter > 0):
        raise InputError(
            "bubbles", f"{count} bubbles of {diameter:g} m in {duration:g} s", "a count, a time, a size"
        )
    from scipy.special import gammaincinv

    each = math.pi / 6.0 * diameter**3 * pressure / duration
    low = float(gammaincinv(count, 0.025)) if count else 0.0
    high = float(gammaincinv(count + 1, 0.975))
    wide = 1.96 * 3.0 * diameter_share
    middle = each * count
    spread = middle * wide
    return Bubbles(
        middle,
        max(middle - math.hypot(middle - each * low, spread), 0.0),
        middle + math.hypot(each * high - middle, spread),
    )


def smallest_channel(overpressure: float, surface_tension: float = SURFACE_TENSION_WATER) -> float:
    """
    Return the diameter of the finest wetted channel that a pressure can blow bubbles through.

    Parameters
    ----------
    overpressure : float
        [Pa]
    surface_tension : float
        [N/m]

    Returns
    -------
    diameter : float
        4 surface tension / overpressure, for perfect wetting; finer channels show no bubble however long. [m]

    Raises
    ------
    InputError
        The pressure is not positive.
    """
    if not overpressure > 0:
        raise InputError("bubbles", f"{overpressure:g} Pa", "an overpressure above 0 Pa", "Correct it.")
    return 4.0 * surface_tension / overpressure
