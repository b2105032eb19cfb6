"""One bending curve: flexural strength, modulus, strain."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.errors import ComputationError, InputError
from voidless.measure.series.noise import noise_of, step_of
from voidless.measure.series.peak import smooth_peak
from voidless.measure.tensile.bench import Bench
from voidless.measure.tensile.budget import combined, strength_budget
from voidless.measure.tensile.events import Course, course_of
from voidless.measure.tensile.modulus import chord_modulus, regression_modulus, toe_end
from voidless.measure.tensile.reduce import AT_THE_END
from voidless.measure.tensile.stiffness import straight_line, toe_doubt, toe_words

__all__ = [
    "CONVENTIONAL_STRAIN",
    "Bar",
    "FlexureResult",
    "flexural_strain",
    "flexural_stress",
    "reduce_flexure",
]

Floats = NDArray[np.float64]

CONVENTIONAL_STRAIN = 0.035
"""Strain of the conventional deflection. [1] ISO 178; the deflection is then 1.5 thicknesses (from memory)."""
R_SQUARED = 0.995
SLENDER = (15.0, 17.0)
"""Span over thickness that ISO 178 allows: 16 ± 1 (tolerance from memory). [1]"""


@dataclass(frozen=True)
class Bar:
    """
    A bar on two supports.

    Attributes
    ----------
    span_mm, width_mm, thickness_mm : float
        Distance of the supports, width and thickness. [mm]
    width_uncertainty_mm, thickness_uncertainty_mm : float
        Standard uncertainties. [mm]
    """

    span_mm: float
    width_mm: float
    thickness_mm: float
    width_uncertainty_mm: float = 0.0
    thickness_uncertainty_mm: float = 0.0

    def __post_init__(self) -> None:
        sizes = (self.span_mm, self.width_mm, self.thickness_mm)
        if not all(0 < size < np.inf for size in sizes):
            raise InputError("flexure", f"span, width, thickness {sizes}", "above 0 mm", "Correct them.")


@dataclass(frozen=True)
class FlexureResult:
    """
    What one bending curve says.

    Attributes
    ----------
    strength_mpa, strength_uncertainty_mpa : float
        Largest flexural stress. [MPa]
    stress_conventional_mpa : float or None
        At 3.5 % strain; None where the bar broke before. [MPa]
    chord_gpa, regression_gpa, modulus_uncertainty_gpa : float or None
        Between strains of 0.05 % and 0.25 % from the corrected origin; the uncertainty is the regression's. [GPa]
    strain_strength_pct, strain_break_pct : float
        [%]
    toe_strain : float
        Shift of the origin. [1]
    still_rising : bool
        Whether the record ends with its largest force and no break.
    flags : tuple of str
        What to know.
    """

    strength_mpa: float
    strength_uncertainty_mpa: float
    stress_conventional_mpa: float | None
    chord_gpa: float | None
    regression_gpa: float | None
    modulus_uncertainty_gpa: float | None
    strain_strength_pct: float
    strain_break_pct: float
    toe_strain: float
    still_rising: bool
    flags: tuple[str, ...]


def flexural_stress(force_n: Floats, bar: Bar) -> Floats:
    """
    Return the stress in the outer face at mid-span.

    Parameters
    ----------
    force_n : (n,) float array
        Force. [N]
    bar : Bar
        The bar.

    Returns
    -------
    stress : (n,) float array
        3 F L / (2 b h²), ISO 178. [MPa]
    """
    return 3.0 * np.asarray(force_n, dtype=float) * bar.span_mm / (2.0 * bar.width_mm * bar.thickness_mm**2)


def flexural_strain(deflection_mm: Floats, bar: Bar) -> Floats:
    """
    Return the strain in the outer face at mid-span.

    Parameters
    ----------
    deflection_mm : (n,) float array
        Deflection at mid-span. [mm]
    bar : Bar
        The bar.

    Returns
    -------
    strain : (n,) float array
        6 s h / L², ISO 178. [1]
    """
    return 6.0 * np.asarray(deflection_mm, dtype=float) * bar.thickness_mm / bar.span_mm**2


def reduce_flexure(
    force_n: Floats, deflection_mm: Floats, bar: Bar, bench: Bench | None = None
) -> FlexureResult:
    """
    Return what a bending curve says.

    Parameters
    ----------
    force_n, deflection_mm : (n,) float array
        The record. [N], [mm]
    bar : Bar
        The bar.
    bench : Bench or None
        Uncertainty of the force cell; give of the machine, taken out of the deflection already.

    Returns
    -------
    result : FlexureResult
        By the formulas of ISO 178 for small deflections.

    Raises
    ------
    ComputationError
        The record has no force above 0.

    Notes
    -----
    Strength is the largest reading, with the uncertainty that a tensile strength by that method has. Thickness
    enters the stress squared and the modulus cubed, and its uncertainty likewise; that of the give counts times the
    slope of the force.
    """
    force = np.asarray(force_n, dtype=float)
    travel = np.asarray(deflection_mm, dtype=float)
    travel = travel - travel[0] if travel[-1] >= travel[0] else travel[0] - travel
    course = course_of(force, travel)
    stress, strain = flexural_stress(force, bar), flexural_strain(travel, bar)
    noise, known = noise_of(stress[course.straight], step_of(stress)), bench or Bench()
    smooth = smooth_peak(stress, course.top, course.start, course.last, noise)
    read = combined(strength_budget(stress, course, smooth, "maximum", known))
    width, thickness = (
        bar.width_uncertainty_mm / bar.width_mm,
        bar.thickness_uncertainty_mm / bar.thickness_mm,
    )
    top = float(stress[course.top])
    chord, regression, unsure, toe, flags = _modulus(strain, stress, course)
    strain = strain - toe
    if not SLENDER[0] <= bar.span_mm / bar.thickness_mm <= SLENDER[1]:
        flags.append(f"span is {bar.span_mm / bar.thickness_mm:.3g} thicknesses; ISO 178 asks for 16 ± 1")
    conventional = None
    if float(strain[course.last]) >= CONVENTIONAL_STRAIN:
        conventional = float(
            np.interp(CONVENTIONAL_STRAIN, strain[: course.last + 1], stress[: course.last + 1])
        )
        flags.append("over 3.5 % strain small-deflection formulas no longer hold")
    return FlexureResult(
        top,
        top * float(np.hypot(read, np.hypot(width, 2.0 * thickness))),
        conventional,
        chord,
        regression,
        _unsure(regression, unsure, float(np.hypot(width, 3.0 * thickness)), bar, known),
        100.0 * float(strain[course.top]),
        100.0 * float(strain[course.last]),
        toe,
        course.last == force.size - 1 and not course.yields and course.top >= AT_THE_END * (force.size - 1),
        tuple(flags),
    )


def _unsure(modulus: float | None, fit: float | None, sizes: float, bar: Bar, known: Bench) -> float | None:
    """Return the standard uncertainty of a modulus by fit, sizes, force cell and the machine's give. [GPa]"""
    if modulus is None or fit is None:
        return None
    stiff = (
        4e3 * modulus * bar.width_mm * bar.thickness_mm**3 / bar.span_mm**3
    )  # N/mm, from the formulas of both
    give = known.compliance.uncertainty_between(0.0, 1.0) if known.compliance else None
    shares = (sizes, (known.force_uncertainty_pct or 0.0) / 100.0, stiff * (give or 0.0))
    return float(np.hypot(fit, modulus * np.sqrt(np.sum(np.square(shares)))))


def _modulus(
    strain: Floats, stress: Floats, course: Course
) -> tuple[float | None, float | None, float | None, float, list[str]]:
    try:
        line, straight = straight_line(strain, stress, course)
    except ComputationError as fault:
        return None, None, None, 0.0, [f"no modulus: {fault.what}"]
    if not line.r_squared >= R_SQUARED:
        return None, None, None, 0.0, [f"no modulus: no straight part (r² = {line.r_squared:.3f})"]
    part = slice(course.start, course.first + 1)
    shifted, rising = strain[part] - line.zero, stress[part]
    try:
        chord = chord_modulus(shifted, rising) / 1e3
        found = regression_modulus(shifted, rising)
    except ComputationError as fault:
        return None, None, None, line.zero, [f"no modulus: {fault.what}"]
    toe = straight == course.straight
    end = toe_end(strain[: straight.stop], stress[: straight.stop], line) if toe else 0.0
    unsure = float(np.hypot(found.slope_uncertainty, toe_doubt(end, line, found.slope)))
    return chord, found.slope / 1e3, unsure / 1e3, line.zero, list(toe_words(end))
