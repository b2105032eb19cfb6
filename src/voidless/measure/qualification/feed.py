"""Filament diameter and true mass flow."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from voidless.errors import InputError
from voidless.measure.series.trend import coverage_factor
from voidless.measure.size.flow import check_flow

__all__ = ["Feed", "filament_area", "true_feed"]


def filament_area(
    diameter_mm: Sequence[Sequence[float]], instrument_uncertainty_mm: float
) -> tuple[float, float]:
    """
    Return the cross-section of a filament.

    Parameters
    ----------
    diameter_mm : (n, m) nested sequence of float
        m readings around the filament, at each of n places. [mm]
    instrument_uncertainty_mm : float
        Standard uncertainty common to all readings. [mm]

    Returns
    -------
    area : (float, float)
        Mean over the places, and its standard uncertainty. [mm²]

    Raises
    ------
    InputError
        No reading, or one that is not above 0.

    Notes
    -----
    The section of an oval is pi / 4 times the product of its axes; two readings across each other give it, and the mean
    of products of neighbouring readings stands for more.
    """
    try:
        read = np.asarray(diameter_mm, dtype=float)
    except ValueError as fault:
        raise InputError(
            "filament", "places with unequal numbers of readings", "as many at each", "Complete."
        ) from fault
    if read.ndim != 2 or not read.size or not np.all(read > 0) or not np.all(np.isfinite(read)):
        raise InputError(
            "filament", f"readings of shape {read.shape}", "diameters above 0 mm", "Measure again."
        )
    areas = math.pi / 4.0 * np.mean(read * np.roll(read, 1, axis=1), axis=1)
    area = float(areas.mean())
    scatter = 0.0
    if areas.size > 1:
        scatter = float(areas.std(ddof=1)) / areas.size**0.5 * coverage_factor(areas.size - 1)
    return area, math.hypot(scatter, 2.0 * area * instrument_uncertainty_mm / float(read.mean()))


@dataclass(frozen=True)
class Feed:
    """
    True flow over the volumetric rate.

    Attributes
    ----------
    rate_mm3_s : tuple of float
        As commanded. [mm³/s]
    flow_pct, uncertainty_pct : tuple of float
        Mass that came over mass that was to come. [%]
    rate_limit_mm3_s : float or None
        Largest rate read before the flow falls short of the slowest's by over 3 % and twice its uncertainty; None
        where it never does. [mm³/s]
    """

    rate_mm3_s: tuple[float, ...]
    flow_pct: tuple[float, ...]
    uncertainty_pct: tuple[float, ...]
    rate_limit_mm3_s: float | None


SHORT_PCT = 3.0


def true_feed(
    rate_mm3_s: Sequence[float],
    volume_mm3: Sequence[float],
    mass_g: Sequence[float],
    mass_uncertainty_g: float,
    density_g_cm3: float,
    density_uncertainty_g_cm3: float,
) -> Feed:
    """
    Return the true flow from extrusions into the air that were weighed.

    Parameters
    ----------
    rate_mm3_s, volume_mm3, mass_g : sequence of float
        Commanded rate, commanded volume and weighed mass of each. [mm³/s], [mm³], [g]
    mass_uncertainty_g : float
        Standard uncertainty of a weighing. [g]
    density_g_cm3, density_uncertainty_g_cm3 : float
        Of the solid filament. [g/cm³]

    Returns
    -------
    feed : Feed
        Sorted by rate.

    Raises
    ------
    InputError
        Unequal numbers, or a value that is not positive.
    """
    rate, volume, mass = (np.asarray(item, dtype=float) for item in (rate_mm3_s, volume_mm3, mass_g))
    good = rate.size == volume.size == mass.size > 0 and density_g_cm3 > 0
    if not good or not (np.all(rate > 0) and np.all(volume > 0) and np.all(mass > 0)):
        raise InputError(
            "true flow", f"{rate.size} extrusions", "rate, volume and mass of each, above 0", "Complete."
        )
    order = np.argsort(rate, kind="stable")
    rate, volume, mass = rate[order], volume[order], mass[order]
    flow = 100.0 * mass / (volume * 1e-3 * density_g_cm3)
    check_flow(float(flow.min()))
    check_flow(float(flow.max()))
    own = flow * mass_uncertainty_g / mass
    unsure = np.hypot(own, flow * density_uncertainty_g_cm3 / density_g_cm3)
    # Density is common to all rates: only the weighings blur the comparison.
    short = (flow[0] - flow) > np.maximum(SHORT_PCT, 2.0 * np.hypot(own, own[0]))
    limit = None
    if short.any():
        first = int(np.argmax(short))
        limit = float(rate[max(first - 1, 0)])
    return Feed(tuple(rate.tolist()), tuple(flow.tolist()), tuple(unsure.tolist()), limit)
