"""Readings of a feature to its signed size error."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from voidless.errors import InputError
from voidless.measure.series.trend import coverage_factor

__all__ = ["SizeError", "scale_and_offset", "size_error"]


@dataclass(frozen=True)
class SizeError:
    """
    Measured minus nominal.

    Attributes
    ----------
    value_mm, uncertainty_mm : float
        Mean of the readings less nominal, at 20 °C, with its standard uncertainty. [mm]
    readings : int
        How many. [1]
    thermal_mm : float
        What the temperature of the part had added, taken out. [mm]
    """

    value_mm: float
    uncertainty_mm: float
    readings: int
    thermal_mm: float


def size_error(
    nominal_mm: float,
    measured_mm: Sequence[float],
    instrument_uncertainty_mm: float,
    temperature_c: float = 20.0,
    expansion_1e6_k: float = 0.0,
) -> SizeError:
    """
    Return the size error of one feature.

    Parameters
    ----------
    nominal_mm : float
        As drawn. [mm]
    measured_mm : sequence of float
        Readings of one feature. [mm]
    instrument_uncertainty_mm : float
        Standard uncertainty of the instrument, common to all readings. [mm]
    temperature_c : float
        Of the part; sizes are stated at 20 °C (ISO 1). [degC]
    expansion_1e6_k : float
        Linear thermal expansion of the material; 0 leaves sizes as read. [1e-6/K]

    Returns
    -------
    error : SizeError
        Positive where the feature is too large: a bore too wide, an outside too thick.

    Raises
    ------
    InputError
        No reading, or one that is not above 0.
    """
    read = np.asarray(measured_mm, dtype=float)
    if not (read.size and np.all(read > 0) and np.all(np.isfinite(read)) and instrument_uncertainty_mm >= 0):
        raise InputError(
            "size", f"{read.size} readings", "readings above 0 mm, and an uncertainty", "Measure again."
        )
    thermal = float(read.mean()) * expansion_1e6_k * 1e-6 * (temperature_c - 20.0)
    scatter = 0.0
    if read.size > 1:
        scatter = float(read.std(ddof=1)) / read.size**0.5 * coverage_factor(read.size - 1)
    return SizeError(
        float(read.mean()) - thermal - nominal_mm,
        float(np.hypot(scatter, instrument_uncertainty_mm)),
        int(read.size),
        thermal,
    )


def scale_and_offset(
    nominal_mm: Sequence[float], error_mm: Sequence[float], uncertainty_mm: Sequence[float]
) -> tuple[float, float, float, float]:
    """
    Return what part of size errors grows with size (shrinkage) and what is the same for all (bead width).

    Parameters
    ----------
    nominal_mm, error_mm, uncertainty_mm : sequence of float
        Features of one kind: all outside, or all inside. [mm]

    Returns
    -------
    found : (float, float, float, float)
        Scale error [1], offset [mm], and their standard uncertainties.

    Raises
    ------
    InputError
        Fewer than two different sizes, or an uncertainty of 0.
    """
    size, error, unsure = (np.asarray(item, dtype=float) for item in (nominal_mm, error_mm, uncertainty_mm))
    if not (np.unique(size).size >= 2 and np.all(unsure > 0)):
        raise InputError(
            "size", f"{np.unique(size).size} different sizes", "two or more, with uncertainties", "Add."
        )
    weight = 1.0 / unsure**2
    basis = np.column_stack([size, np.ones_like(size)])
    normal = np.linalg.inv(basis.T @ (weight[:, None] * basis))
    scale, offset = normal @ (basis.T @ (weight * error))
    return float(scale), float(offset), float(normal[0, 0] ** 0.5), float(normal[1, 1] ** 0.5)
