"""Strain of a tensile curve: what it is, over which length, and nominal strain past yield."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.measure.curves.read import Curve
from voidless.measure.tensile.compliance import Compliance

__all__ = ["Strain", "displacement_of", "give_doubt", "nominal_strain", "stood_still", "strain_of"]

Floats = NDArray[np.float64]

FEWEST = 8
"""Fewest readings that tell the machine's give beside an extensometer. [1]"""

HELD = 0.5
"""Share of the largest force above which a bar still carries: what a gauge reads past its break does not count. [1]"""
STILL = 0.02
"""Share of its range within which an extensometer stands still. [1] Our choice."""
STILL_FOR = 0.1
"""Share of the test for which it must stand still to count as taken off, or at its end. [1] Our choice."""


@dataclass(frozen=True)
class Strain:
    """
    Strain of one curve.

    Attributes
    ----------
    values : (n,) float array
        Strain, not yet counted from the corrected origin. [1]
    words : str
        What it is.
    apparent : bool
        True where the machine's own give is in it, or was taken out without a known uncertainty.
    length_mm : float or None
        Length that it is over. [mm]
    """

    values: Floats
    words: str
    apparent: bool
    length_mm: float | None


def displacement_of(curve: Curve) -> tuple[Floats | None, str]:
    """
    Return the displacement of a curve, extension before crosshead travel, and its name.

    Parameters
    ----------
    curve : Curve
        A curve.

    Returns
    -------
    displacement : ((n,) float array or None, str)
        Travel is counted from its start and upwards. [mm]
    """
    if "extension_mm" in curve.channels:
        return curve.channels["extension_mm"], "extension"
    if "travel_mm" in curve.channels:
        return _travel(curve), "crosshead travel"
    return None, ""


def _travel(curve: Curve) -> Floats:
    travel = curve.channels["travel_mm"]
    return travel - float(np.median(travel[:3]))


def strain_of(
    curve: Curve, gauge_length_mm: float | None, span_mm: float | None, compliance: Compliance | None
) -> Strain | None:
    """
    Return the strain of a curve; None without a length that its displacement belongs to.

    Parameters
    ----------
    curve : Curve
        A curve with force.
    gauge_length_mm, span_mm : float or None
        Gauge length and free length between the grips; None takes what the file states. [mm]
    compliance : Compliance or None
        Give of the machine, taken out of crosshead travel alone.

    Returns
    -------
    strain : Strain or None
        Strain as the machine gives it; else extension over gauge length; else nominal.
    """
    if "strain" in curve.channels:
        return Strain(curve.channels["strain"], "strain as the machine gives it", False, None)
    displacement, words = displacement_of(curve)
    gauge = gauge_length_mm or curve.facts.get("gauge_length_mm")
    span = span_mm or curve.facts.get("span_mm")
    length = gauge or span if words == "extension" else span or gauge
    if displacement is None or not length:
        return None
    kind = "nominal, " if words != "extension" or not gauge else ""
    text = f"{kind}{words} over {length:g} mm"
    if words == "extension":
        # An extension over the grips' distance holds what the grips give.
        return Strain(displacement / length, text, not gauge, length)
    if compliance is None:
        return Strain(displacement / length, text, True, length)
    freed = displacement - compliance.at(curve.channels["force_n"])
    text += f", less the give of the machine ({compliance.source})"
    return Strain(freed / length, text, not compliance.uncertainty_mm, length)


def stood_still(curve: Curve, start: int) -> int | None:
    """
    Return the place from which an extensometer stood still while the test went on: taken off, or at its end.

    Parameters
    ----------
    curve : Curve
        A curve with force.
    start : int
        First place of the test. [1]

    Returns
    -------
    place : int or None
        None where the strain goes on to the end, or is read from the crosshead.
    """
    measured = curve.channels.get("strain", curve.channels.get("extension_mm"))
    if measured is None:
        return None
    force = curve.channels["force_n"]
    last = int(np.flatnonzero(force >= HELD * float(force.max()))[-1])
    way = curve.channels.get("travel_mm", curve.channels.get("time_s"))
    way = np.arange(force.size, dtype=float) if way is None else np.abs(way - way[start])
    part = measured[start : last + 1]
    end = float(np.median(part[-3:]))
    moved = np.flatnonzero(np.abs(part - end) > STILL * float(np.ptp(part)))
    if not moved.size:
        return None
    place = start + int(moved[-1]) + 1
    still = way[last] - way[place] if place <= last else 0.0
    return place if still > STILL_FOR * (way[last] - way[start]) else None


def nominal_strain(curve: Curve, strain: Floats, span_mm: float | None, at_yield: int) -> Floats | None:
    """
    Return nominal strain by method B: the extensometer up to yield, crosshead travel from there on.

    Parameters
    ----------
    curve : Curve
        A curve with extension and travel.
    strain : (n,) float array
        Strain from the extensometer, from the corrected origin. [1]
    span_mm : float or None
        Free length between the grips; None takes what the file states. [mm]
    at_yield : int
        Place of the yield point. [1]

    Returns
    -------
    nominal : (n,) float array or None
        None without travel or without the length between the grips. [1]

    Notes
    -----
    ISO 527-1:2012, nominal strain, method B (the formula from memory): strain at yield plus travel since
    yield over the distance between the grips. Method A is travel over that distance throughout.
    """
    span = span_mm or curve.facts.get("span_mm")
    if "travel_mm" not in curve.channels or not span:
        return None
    travel = _travel(curve)
    sign = 1.0 if travel[-1] >= travel[0] else -1.0
    after = strain[at_yield] + sign * (travel - travel[at_yield]) / span
    return np.where(np.arange(strain.size) <= at_yield, strain, after)


def give_doubt(
    curve: Curve, strain: Floats, span_mm: float | None, straight: slice, switch: int, last: int
) -> float:
    """
    Return what the machine's give adds to a nominal strain after the extensometer no longer counts.

    Parameters
    ----------
    curve : Curve
        A curve with travel.
    strain : (n,) float array
        Strain from the extensometer. [1]
    span_mm : float or None
        Free length between the grips; None takes what the file states. [mm]
    straight : slice
        Straight part of the rise.
    switch, last : int
        Last place of the extensometer, and of the test. [1]

    Returns
    -------
    doubt : float
        Travel beyond the bar's own stretch per newton of the straight part, times how far the force has changed
        since, over the span. [1]
    """
    span = span_mm or curve.facts.get("span_mm")
    if "travel_mm" not in curve.channels or not span:
        return 0.0
    travel, force = _travel(curve), curve.channels["force_n"]
    sign = 1.0 if travel[-1] >= travel[0] else -1.0
    beyond, rise = (sign * travel - strain * span)[straight], force[straight]
    known = np.isfinite(beyond)
    if known.sum() < FEWEST or not np.ptp(rise[known]) > 0:
        return 0.0
    give = float(np.polyfit(rise[known], beyond[known], 1)[0])
    return abs(give * float(force[last] - force[switch])) / span
