"""Pressure over time to a leak rate, what temperature did to it taken out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.measure.series.noise import step_of
from voidless.measure.series.trend import fit_trend

__all__ = ["Decay", "leak_from_decay", "leak_from_two"]

Floats = NDArray[np.float64]

FEWEST = 12
THERMAL_SHARE = 0.2


@dataclass(frozen=True)
class Decay:
    """
    A leak rate.

    Attributes
    ----------
    rate, uncertainty : float
        Positive where gas leaves, at `reference`; 1.96 standard uncertainties are a 95 % interval. [Pa m³/s]
    uncorrected : float
        As if the temperature had stood still. [Pa m³/s]
    reference : float
        Temperature that pressure times volume refers to. [K]
    detection : float
        Smallest rate that would stand out from 0. [Pa m³/s]
    budget : dict of str to float
        Standard uncertainties by source. [Pa m³/s]
    fitted, corrected : (n,) float array
        Pressure at the reference temperature, and the line through it. [Pa]
    flags : tuple of str
        What to know.
    """

    rate: float
    uncertainty: float
    uncorrected: float
    reference: float
    detection: float
    budget: dict[str, float]
    fitted: Floats
    corrected: Floats
    flags: tuple[str, ...]


def leak_from_two(
    volume: float, duration: float, first: tuple[float, float], second: tuple[float, float]
) -> float:
    """
    Return the leak rate between two readings.

    Parameters
    ----------
    volume : float
        [m³]
    duration : float
        [s]
    first, second : (float, float)
        Absolute pressure and gas temperature at begin and end. [Pa], [K]

    Returns
    -------
    rate : float
        V / t (p1 - p2 T1 / T2), at the temperature of the first reading. [Pa m³/s]

    Raises
    ------
    InputError
        Volume, time or a temperature is not positive.
    """
    if not (volume > 0 and duration > 0 and first[1] > 0 and second[1] > 0):
        raise InputError("leak rate", f"{volume:g} m³ in {duration:g} s", "above 0", "Correct it.")
    return volume / duration * (first[0] - second[0] * first[1] / second[1])


def leak_from_decay(
    time: Floats,
    pressure: Floats,
    temperature: Floats | None,
    volume: float,
    volume_uncertainty: float = 0.0,
    reference: float = 296.15,
    temperature_drift: float = 0.0,
) -> Decay:
    """
    Return the leak rate of a vessel whose pressure was read over time.

    Parameters
    ----------
    time : (n,) float array
        Rising. [s]
    pressure : (n,) float array
        Absolute pressure; a rise gives a negative rate, which is a leak inwards. [Pa]
    temperature : (n,) float array or None
        Of the gas. [K]
    volume, volume_uncertainty : float
        Of the gas, and its standard uncertainty. [m³]
    reference : float
        Temperature that the rate refers to; 23 °C by default. [K]
    temperature_drift : float
        Standard uncertainty of the change of temperature over the whole record: the thermometer is not the gas. [K]

    Returns
    -------
    decay : Decay
        Slope of volume times pressure at the reference temperature.

    Raises
    ------
    InputError
        Fewer than 12 readings, time that does not rise, pressures that are no absolute ones, no volume.

    Notes
    -----
    The amount of gas, p V / (R T), at every reading (the mass-point method), and a straight line through it. Its
    uncertainty holds for readings that hang together (see `fit_trend`). Without a temperature every kelvin of drift
    passes for a leak: the rate is then called not corrected.
    """
    time, pressure = np.asarray(time, dtype=float), np.asarray(pressure, dtype=float)
    heat = np.full(time.size, reference) if temperature is None else np.asarray(temperature, dtype=float)
    _check(time, pressure, heat, volume)
    corrected = pressure * reference / heat
    line = fit_trend(time, corrected)
    plain = fit_trend(time, pressure * reference / float(heat.mean()))
    length = float(time[-1] - time[0])
    rounding = step_of(corrected if temperature is None else pressure)
    seen = rounding if rounding > 0 and np.ptp(pressure) < 4 * rounding else 0.0
    budget = {
        "readings": volume * line.slope_uncertainty,
        "last digit": volume * seen / 6**0.5 / length,
        "volume": abs(line.slope) * volume_uncertainty,
        "thermometer": volume * float(pressure.mean()) / float(heat.mean()) * temperature_drift / length,
    }
    unsure = float(np.sqrt(sum(part**2 for part in budget.values())))
    rate, raw = -volume * line.slope, -volume * plain.slope
    return Decay(
        rate,
        unsure,
        raw,
        reference,
        (1.645 + 1.645) * float(np.sqrt(unsure**2 - budget["volume"] ** 2)),
        budget,
        line.y_mean + line.slope * (time - line.x_mean),
        corrected,
        tuple(_flags(rate, unsure, raw, temperature, line.correlation)),
    )


def _check(time: Floats, pressure: Floats, heat: Floats, volume: float) -> None:
    good = time.size == pressure.size == heat.size >= FEWEST and bool(np.all(np.diff(time) > 0))
    if not good:
        raise InputError(
            "pressure over time", f"{time.size} readings", f"at least {FEWEST} whose time rises", "Check."
        )
    if not (
        np.all(pressure > 0)
        and np.all(heat > 0)
        and np.all(np.isfinite(pressure))
        and np.all(np.isfinite(heat))
    ):
        raise InputError(
            "pressure over time",
            "a pressure or temperature that is not above 0",
            "absolute ones",
            "Add the air pressure.",
        )
    if not 0 < volume < np.inf:
        raise InputError(
            "pressure over time", f"volume {volume:g} m³", "above 0", "Measure it by an expansion."
        )


def _flags(
    rate: float, unsure: float, raw: float, temperature: Floats | None, correlation: float
) -> list[str]:
    found = []
    if temperature is None:
        found.append(
            "no temperature read: a drift of 1 K would pass for a leak; the rate is not corrected for it"
        )
    elif abs(raw - rate) > max(THERMAL_SHARE * abs(rate), 2.0 * unsure):
        found.append("most of the change of pressure was thermal; wait until temperatures are even")
    if not abs(rate) > 1.96 * unsure:
        found.append("no leak stands out from the scatter; the rate is an interval that holds 0")
    if correlation > 0.4:
        found.append("slow wandering is left in the readings; the interval is wider for it")
    if rate < -1.96 * unsure:
        found.append("the pressure rose: gas came in, or the walls give off gas (a rise that slows down)")
    return found
