"""Where a piece has been: humidity in steps, on a clock that temperature speeds up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError

__all__ = ["GAS_CONSTANT", "REFERENCE_C", "Climate", "climate", "rate_factor"]

Floats = NDArray[np.float64]

GAS_CONSTANT = 8.314462618
"""[J/(mol K)] CODATA 2018, exact by definition of the SI."""
REFERENCE_C = 23.0
"""Temperature that diffusivities refer to. [°C]"""
_ZERO = 273.15


@dataclass(frozen=True)
class Climate:
    """
    Where a piece has been.

    Attributes
    ----------
    time : (n,) float array
        Time of each weighing, the first at the start. [s]
    temperature_c : (n - 1,) float array
        Between one weighing and the next. [°C]
    humidity : (n - 1,) float array
        Relative humidity between one weighing and the next. [1]
    """

    time: Floats
    temperature_c: Floats
    humidity: Floats


def climate(
    time_h: Sequence[float], temperature_c: Sequence[float], humidity_pct: Sequence[float], where: str
) -> Climate:
    """
    Return where a piece has been, from its weighings in order.

    Parameters
    ----------
    time_h : sequence of float
        Time of each weighing, growing. [h]
    temperature_c, humidity_pct : sequence of float
        Air since the weighing before; the first entry is not used. [°C], [%]
    where : str
        File and piece, for errors.

    Returns
    -------
    climate : Climate
        Steps between weighings.

    Raises
    ------
    InputError
        Times do not grow, or a temperature or humidity is impossible.
    """
    time = np.asarray(time_h, dtype=float)
    if not np.all(np.diff(time) > 0):
        raise InputError(
            where, "times do not grow", "one weighing after the other", "Sort or correct time_h."
        )
    celsius, humidity = np.asarray(temperature_c, dtype=float)[1:], np.asarray(humidity_pct, dtype=float)[1:]
    if not np.all((celsius > -60) & (celsius < 250)):
        raise InputError(where, "a temperature that no filament survives", "-60 to 250 °C", "Correct it.")
    if not np.all((humidity >= 0) & (humidity <= 100)):
        raise InputError(where, "a humidity outside 0 to 100 %", "a relative humidity", "Correct it.")
    return Climate(3600.0 * (time - time[0]), celsius, humidity / 100.0)


def rate_factor(temperature_c: Floats, activation: float) -> Floats:
    """
    Return how much faster diffusion is than at 23 °C.

    Parameters
    ----------
    temperature_c : (n,) float array
        Temperature. [°C]
    activation : float
        Activation energy. [J/mol]

    Returns
    -------
    factor : (n,) float array
        exp(-E/R (1/T - 1/T_ref)). [1]
    """
    kelvin = np.asarray(temperature_c, dtype=float) + _ZERO
    return np.asarray(np.exp(-activation / GAS_CONSTANT * (1.0 / kelvin - 1.0 / (REFERENCE_C + _ZERO))))
