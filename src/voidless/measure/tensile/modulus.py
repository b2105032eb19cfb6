"""Stiffness of a stress-strain curve: chord, regression and toe."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.errors import ComputationError
from voidless.measure.series.noise import GROUPS, quick_noise
from voidless.measure.series.trend import coverage_factor, fit_trend

__all__ = ["CHORD", "Line", "bent_origin", "chord_modulus", "fit_line", "regression_modulus", "toe_end"]

Floats = NDArray[np.float64]

CHORD = (0.0005, 0.0025)
"""Strains of the chord. [1] ISO 527-1: 0.05 % and 0.25 %."""

FEWEST_BENT = 5
"""Fewest points of a parabola with a judgement of its scatter. [1]"""


@dataclass(frozen=True)
class Line:
    """
    The straight part of a stress-strain curve.

    Attributes
    ----------
    slope, slope_uncertainty : float
        Modulus, and its standard uncertainty by the scatter of the readings. [MPa]
    zero, zero_uncertainty : float
        Strain where the line meets zero stress: the corrected origin. [1]
    r_squared : float
        Share of variance that the line explains. [1]
    """

    slope: float
    zero: float
    r_squared: float
    slope_uncertainty: float = 0.0
    zero_uncertainty: float = 0.0


def _stress_at(strain: Floats, stress: Floats, wanted: float) -> float:
    at = int(np.argmax(strain >= wanted))
    if not strain[at] >= wanted or at == 0:
        raise ComputationError(
            "modulus",
            f"the strains do not pass {wanted:g}",
            "a record from below it to above it",
            "Check the zero.",
        )
    share = (wanted - strain[at - 1]) / (strain[at] - strain[at - 1])
    return float(stress[at - 1] + share * (stress[at] - stress[at - 1]))


def chord_modulus(strain: Floats, stress_mpa: Floats, chord: tuple[float, float] = CHORD) -> float:
    """
    Return the modulus between two strains.

    Parameters
    ----------
    strain : (n,) float array
        Strain from the origin that is meant. [1]
    stress_mpa : (n,) float array
        Stress. [MPa]
    chord : (float, float)
        The two strains; by ISO 527-1 0.0005 and 0.0025. [1]

    Returns
    -------
    modulus : float
        Difference of stress over difference of strain. [MPa]

    Raises
    ------
    ComputationError
        The record does not pass both strains.
    """
    low, high = chord
    rise = _stress_at(strain, stress_mpa, high) - _stress_at(strain, stress_mpa, low)
    return rise / (high - low)


def fit_line(strain: Floats, stress_mpa: Floats) -> Line:
    """
    Return the least-squares line through points of a stress-strain curve.

    Parameters
    ----------
    strain : (n,) float array
        Strain, in the order of the record. [1]
    stress_mpa : (n,) float array
        Stress. [MPa]

    Returns
    -------
    line : Line
        Slope, corrected origin and fit; from 32 points on through means of 16 groups of neighbours.

    Raises
    ------
    ComputationError
        Fewer than 3 points, or no slope.

    Notes
    -----
    The origin is the toe compensation of ASTM D638, annex A1: the straight part prolonged to zero stress.
    Means of groups keep the scatter of strain readings from flattening the line.
    """
    strain = np.asarray(strain, dtype=float)
    if strain.size < 3 or not np.ptp(strain) > 0:
        raise ComputationError("modulus", f"{strain.size} points in the straight part", "at least 3 strains")
    found = fit_trend(strain, np.asarray(stress_mpa, dtype=float), bent=True)
    if not found.slope > 0:
        raise ComputationError("modulus", f"slope {found.slope:g} MPa", "a slope above 0")
    return Line(found.slope, found.zero, found.r_squared, found.slope_uncertainty, found.zero_uncertainty)


def bent_origin(strain: Floats, stress_mpa: Floats) -> tuple[float, float]:
    """
    Return the strain at zero stress of a curve that bends from its start, and its standard uncertainty.

    Parameters
    ----------
    strain : (n,) float array
        Strain, in the order of the record, near its start. [1]
    stress_mpa : (n,) float array
        Stress. [MPa]

    Returns
    -------
    origin : (float, float)
        By a parabola of strain over stress through means of up to 16 groups of neighbours. [1]

    Raises
    ------
    ComputationError
        Fewer than 5 points, or stresses that stand at one place.
    """
    groups = min(GROUPS, strain.size)
    if groups < FEWEST_BENT:
        raise ComputationError("modulus", f"{groups} points near the start", f"at least {FEWEST_BENT}")
    edges = np.linspace(0, strain.size, groups + 1).astype(int)
    x, y = (np.add.reduceat(item, edges[:-1]) / np.diff(edges) for item in (stress_mpa, strain))
    basis = np.vander(x, 3, increasing=True)
    if np.linalg.matrix_rank(basis / np.abs(basis).max(axis=0)) < 3:
        raise ComputationError("modulus", "stresses that stand at one place", "a force that rises")
    inverse = np.linalg.pinv(basis)
    weights = inverse @ y
    freedom = groups - 3
    scatter = float(np.linalg.norm(y - basis @ weights)) / freedom**0.5 * coverage_factor(freedom)
    return float(weights[0]), scatter * float(np.linalg.norm(inverse[0]))


def regression_modulus(strain: Floats, stress_mpa: Floats, chord: tuple[float, float] = CHORD) -> Line:
    """
    Return the least-squares line between two strains.

    Parameters
    ----------
    strain : (n,) float array
        Strain from the origin that is meant, rising. [1]
    stress_mpa : (n,) float array
        Stress. [MPa]
    chord : (float, float)
        The two strains. [1]

    Returns
    -------
    line : Line
        ISO 527-1 allows its slope in place of the chord.

    Raises
    ------
    ComputationError
        Fewer than 3 points lie between the strains, or the record does not pass both.
    """
    strain = np.asarray(strain, dtype=float)
    above = strain >= chord[1]
    if not above.any() or not strain[0] <= chord[0]:
        raise ComputationError(
            "modulus", f"the strains do not pass {chord[0]:g} and {chord[1]:g}", "a record across both"
        )
    # One stretch of the record: picking single points by their strain would pick their noise.
    start, stop = int(np.argmax(strain >= chord[0])), int(np.argmax(above))
    return fit_line(strain[start:stop], np.asarray(stress_mpa)[start:stop])


def toe_end(strain: Floats, stress_mpa: Floats, line: Line, share: float = 0.005) -> float:
    """
    Return the strain, from the corrected origin, up to which a curve lies off its straight part.

    Parameters
    ----------
    strain : (n,) float array
        Strain as recorded, up to the straight part's end. [1]
    stress_mpa : (n,) float array
        Stress. [MPa]
    line : Line
        The straight part.
    share : float
        Distance from the line that counts as off, as a share of the largest stress given; 4 standard
        deviations of the noise where that is more. [1]

    Returns
    -------
    end : float
        0 where the curve is straight from its origin. [1]
    """
    least = max(share * float(np.max(stress_mpa)), 4.0 * quick_noise(stress_mpa))
    off = np.abs(stress_mpa - line.slope * (strain - line.zero)) > least
    last = np.flatnonzero(off)
    return max(float(strain[last[-1]] - line.zero), 0.0) if last.size else 0.0
