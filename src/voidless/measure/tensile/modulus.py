"""Stiffness of a stress-strain curve: chord, regression, toe, and the compliance of the machine."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.errors import ComputationError
from voidless.measure.tensile.strength import force_noise

__all__ = ["Line", "chord_modulus", "correct_compliance", "fit_line", "regression_modulus", "toe_end"]

Floats = NDArray[np.float64]

CHORD = (0.0005, 0.0025)
"""Strains of the chord. [1] ISO 527-1: 0.05 % and 0.25 %."""


@dataclass(frozen=True)
class Line:
    """
    The straight part of a stress-strain curve.

    Attributes
    ----------
    slope : float
        Modulus. [MPa]
    zero : float
        Strain where the line meets zero stress: the corrected origin. [1]
    r_squared : float
        Share of variance that the line explains. [1]
    """

    slope: float
    zero: float
    r_squared: float


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
        Strain. [1]
    stress_mpa : (n,) float array
        Stress. [MPa]

    Returns
    -------
    line : Line
        Slope, corrected origin and fit.

    Raises
    ------
    ComputationError
        Fewer than 3 points, or no slope.

    Notes
    -----
    The origin is the toe compensation of ASTM D638, annex A1: the straight part prolonged to zero stress.
    """
    strain, stress = np.asarray(strain, dtype=float), np.asarray(stress_mpa, dtype=float)
    spread = strain - strain.mean() if strain.size else strain
    variance = float(spread @ spread)
    if strain.size < 3 or not variance > 0:
        raise ComputationError("modulus", f"{strain.size} points in the straight part", "at least 3 strains")
    slope = float(spread @ stress) / variance
    if not slope > 0:
        raise ComputationError("modulus", f"slope {slope:g} MPa", "a slope above 0")
    residual = stress - stress.mean() - slope * spread
    total = float(np.sum((stress - stress.mean()) ** 2))
    zero = float(strain.mean() - stress.mean() / slope)
    return Line(slope, zero, 1.0 - float(residual @ residual) / total)


def regression_modulus(strain: Floats, stress_mpa: Floats, chord: tuple[float, float] = CHORD) -> Line:
    """
    Return the least-squares line between two strains.

    Parameters
    ----------
    strain : (n,) float array
        Strain from the origin that is meant. [1]
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
        Fewer than 3 points lie between the strains.
    """
    inside = (strain >= chord[0]) & (strain <= chord[1])
    return fit_line(strain[inside], stress_mpa[inside])


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
    least = max(share * float(np.max(stress_mpa)), 4.0 * force_noise(stress_mpa))
    off = np.abs(stress_mpa - line.slope * (strain - line.zero)) > least
    last = np.flatnonzero(off)
    return max(float(strain[last[-1]] - line.zero), 0.0) if last.size else 0.0


def correct_compliance(
    modulus_mpa: float, section_mm2: float, length_mm: float, compliance_mm_n: float
) -> float:
    """
    Return a modulus from crosshead travel with the machine's own give taken out.

    Parameters
    ----------
    modulus_mpa : float
        Apparent modulus. [MPa]
    section_mm2 : float
        Cross-section. [mm²]
    length_mm : float
        Free length between the grips. [mm]
    compliance_mm_n : float
        Travel of machine and grips per force. [mm/N]

    Returns
    -------
    modulus : float
        Of the specimen alone. [MPa]

    Raises
    ------
    ComputationError
        The machine would have to give more than was measured.

    Notes
    -----
    travel / force = length / (modulus section) + compliance.
    """
    rest = 1.0 / modulus_mpa - section_mm2 * compliance_mm_n / length_mm
    if not rest > 0:
        raise ComputationError(
            "compliance",
            f"{compliance_mm_n:g} mm/N is more than the whole travel per force",
            f"below {length_mm / (section_mm2 * modulus_mpa):g} mm/N",
            "Check the compliance; it is found from specimens of several lengths.",
        )
    return 1.0 / rest
