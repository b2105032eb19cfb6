"""Modulus of one curve with its toe, and how sure it is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from voidless.errors import ComputationError
from voidless.measure.series.noise import noise_of, quick_noise
from voidless.measure.tensile.bench import Bench
from voidless.measure.tensile.events import Course, Happening
from voidless.measure.tensile.modulus import (
    CHORD,
    Line,
    bent_origin,
    chord_modulus,
    fit_line,
    regression_modulus,
    toe_end,
)
from voidless.measure.tensile.strain import Strain

__all__ = ["Stiffness", "stiffness_of", "straight_line", "toe_doubt", "toe_words"]

Floats = NDArray[np.float64]
Found = TypeVar("Found")

R_SQUARED = 0.995
"""Below this the straight part is not straight enough for a modulus. [1] Our choice."""
FEWEST_FOR_BEND = 8
SOFTENS = 4.0
"""Standard deviations of the noise by which the straight part, prolonged to the start of the record, lies above the
reading there when a curve has no toe but softens from its beginning. [1] Our choice."""


@dataclass(frozen=True)
class Stiffness:
    """
    Modulus of one curve, strains counted from the corrected origin.

    Attributes
    ----------
    chord_gpa, regression_gpa : float or None
        Between strains of 0.05 % and 0.25 %; None where the record does not allow it. [GPa]
    straight_gpa : float
        Slope of the straight part. [GPa]
    toe_strain, toe_uncertainty : float
        Shift of the origin. [1]
    toe_end_strain : float
        Strain up to which the toe reaches; above 0.0005 the chord lies partly in it. [1]
    r_squared : float
        Of the straight part. [1]
    apparent : bool
        True where strain is crosshead travel over a length: the machine's own give is in it.
    chord_uncertainty_gpa, regression_uncertainty_gpa : float or None
        Standard uncertainties. [GPa]
    """

    chord_gpa: float | None
    regression_gpa: float | None
    straight_gpa: float
    toe_strain: float
    toe_end_strain: float
    r_squared: float
    apparent: bool
    toe_uncertainty: float = 0.0
    chord_uncertainty_gpa: float | None = None
    regression_uncertainty_gpa: float | None = None


def stiffness_of(
    strain: Strain | None,
    force_n: Floats,
    section_mm2: float,
    course: Course,
    budget: dict[str, float],
    bench: Bench,
) -> tuple[Stiffness | None, list[str]]:
    """
    Return the modulus of a curve and what is odd about it.

    Parameters
    ----------
    strain : Strain or None
        Strain as recorded; None gives no modulus.
    force_n : (n,) float array
        Force. [N]
    section_mm2 : float
        Original cross-section. [mm²]
    course : Course
        Places in the record.
    budget : dict of str to float
        What the uncertainty of the strength is made of, as shares of it: `force zero`, and `force cell` and
        `section` where they are known. [1]
    bench : Bench
        What is known of extensometer and machine.

    Returns
    -------
    found : (Stiffness or None, list of str)
        None where no part is straight enough.
    """
    if strain is None:
        return None, []
    stress_mpa = force_n / section_mm2
    try:
        line, straight = straight_line(strain.values, stress_mpa, course)
    except ComputationError as fault:
        return None, [f"no modulus: {fault.what}"]
    stop = straight.stop
    if not line.r_squared >= R_SQUARED:
        return None, [f"no modulus: no straight part (r² = {line.r_squared:.3f}, needs {R_SQUARED})"]
    part = slice(course.start, course.first + 1)
    shifted, rising = strain.values[part] - line.zero, stress_mpa[part]
    # A curve that softens from its start has no toe.
    toe = straight == course.straight
    end = toe_end(strain.values[:stop], stress_mpa[:stop], line) if toe else 0.0
    odd = list(toe_words(end))
    if _slips_inside(course, strain.values - line.zero):
        odd.append("a slip lies inside the chord of the modulus")
    chord = _or_none(lambda: chord_modulus(shifted, rising))
    regression = _or_none(lambda: regression_modulus(shifted, rising))
    scatter = 2**0.5 * noise_of(stress_mpa[straight]).sd / (CHORD[1] - CHORD[0])
    own = _instrument_share(strain, stress_mpa, section_mm2, course, budget, bench, line)
    return (
        Stiffness(
            None if chord is None else chord / 1e3,
            None if regression is None else regression.slope / 1e3,
            line.slope / 1e3,
            line.zero,
            end,
            line.r_squared,
            strain.apparent,
            line.zero_uncertainty,
            None if chord is None else _together(scatter, own * chord, toe_doubt(end, line, chord)),
            None
            if regression is None
            else _together(
                regression.slope_uncertainty,
                own * regression.slope,
                toe_doubt(end, line, regression.slope),
            ),
        ),
        odd,
    )


def toe_doubt(end: float, line: Line, slope: float) -> float:
    """
    Return what a toe that reaches into the chord leaves of doubt in a modulus.

    Parameters
    ----------
    end : float
        Strain up to which the toe reaches, from the corrected origin. [1]
    line : Line
        The straight part.
    slope : float
        The modulus. [MPa]

    Returns
    -------
    doubt : float
        How far it is from the stiffness of the straight part, for a curve that bends over hides part of its toe; 0
        where the toe ends before the chord. [MPa]
    """
    return abs(line.slope - slope) if end > CHORD[0] else 0.0


def toe_words(end: float) -> tuple[str, ...]:
    """Return a word where a toe reaches into the chord of the modulus."""
    if end <= CHORD[0]:
        return ()
    return (f"the toe reaches {100 * end:.3g} % strain, into the chord of the modulus",)


def _together(*parts: float) -> float:
    """Return independent doubts of a modulus together, in GPa."""
    return float(np.sqrt(sum(part**2 for part in parts))) / 1e3


def straight_line(strain: Floats, stress_mpa: Floats, course: Course) -> tuple[Line, slice]:
    """
    Return the line that a curve's origin and stiffness are taken from, and its places in the record.

    Parameters
    ----------
    strain : (n,) float array
        Strain as recorded; NaN where it is not known. [1]
    stress_mpa : (n,) float array
        Stress. [MPa]
    course : Course
        Places in the record.

    Returns
    -------
    found : (Line, slice)
        The part between 25 and 50 % of the first maximum; of a curve that softens from its start, or whose strain is
        not known so far, the part between 0.05 and 0.25 %, counted from the start of the record.

    Raises
    ------
    ComputationError
        Too few readings, or a curve that softens and ends before 0.25 %.

    Notes
    -----
    The origin's uncertainty holds how much the straight part bends: the tangent at its lower end meets zero
    stress elsewhere than the line. A curve that softens from its start has its origin by a parabola there.
    """
    middle = course.straight
    known = bool(np.all(np.isfinite(strain[middle])))
    if known:
        line = fit_line(strain[middle], stress_mpa[middle])
        if not _softens(strain, stress_mpa, course, line):
            bend = _bend(strain[middle], stress_mpa[middle])
            return replace(line, zero_uncertainty=float(np.hypot(line.zero_uncertainty, bend))), middle
    part = _beginning(strain, course.start)
    line = fit_line(strain[part], stress_mpa[part])
    whole = slice(course.start, part.stop)
    zero, unsure = bent_origin(strain[whole], stress_mpa[whole])
    return replace(line, zero=zero, zero_uncertainty=unsure), part


def _bend(strain: Floats, stress: Floats) -> float:
    """Return how far apart line and lower tangent meet zero stress, as the sd of an even chance of both. [1]"""
    if strain.size < FEWEST_FOR_BEND:
        return 0.0
    x = strain - strain.mean()
    half = float(np.ptp(x)) / 2.0
    level, slope, bend = (
        np.polynomial.polynomial.polyfit(x / half, stress, 2) if half > 0 else (0.0, 0.0, 0.0)
    )
    tangent = slope - 2.0 * bend
    if not (slope > 0 and tangent > 0):
        return 0.0
    low = level - slope + bend
    line_zero, tangent_zero = -(level + bend / 3.0) / slope, -1.0 - low / tangent
    return abs(tangent_zero - line_zero) * half / 12**0.5


def _softens(strain: Floats, stress: Floats, course: Course, line: Line) -> bool:
    """Return whether a curve bends down from its start, so that its middle says nothing of its origin."""
    first = slice(course.start, course.start + 3)
    over = line.slope * (float(np.median(strain[first])) - line.zero) - float(np.median(stress[first]))
    return over > SOFTENS * quick_noise(stress[: course.first + 1])


def _beginning(strain: Floats, start: int) -> slice:
    """Return the places between the strains of the chord, counted from the start of the record."""
    rise = np.maximum.accumulate(np.nan_to_num(strain[start:], nan=-np.inf)) - strain[start]
    low, high = (start + int(np.searchsorted(rise, end)) for end in CHORD)
    if high >= strain.size:
        what = f"a curve that softens from its start, recorded to {100 * float(rise[-1]):.3g} % strain"
        raise ComputationError("modulus", what, "a record beyond 0.25 %")
    return slice(low, high)


def _slips_inside(course: Course, strain: Floats) -> bool:
    return any(
        strain[event.peak] < CHORD[1] and strain[event.again] > CHORD[0]
        for event in course.events
        if event.kind is Happening.SLIP
    )


def _instrument_share(
    strain: Strain,
    stress: Floats,
    section: float,
    course: Course,
    budget: dict[str, float],
    bench: Bench,
    line: Line,
) -> float:
    """Return what zero drift, cell, section, extensometer and machine add to a modulus, as a share of it."""
    chord = CHORD[1] - CHORD[0]
    # A zero that drifts over the whole record drifts by its part over the chord.
    way = strain.values[course.last] - line.zero
    passed = min(chord / way, 1.0) if np.isfinite(way) and way > 0 else 1.0
    parts = [
        budget["force zero"] * float(stress[course.top]) * passed / (line.slope * chord),
        budget.get("force cell", 0.0),
        budget.get("section", 0.0),
        (bench.strain_uncertainty_pct or 0.0) / 100.0,
    ]
    if bench.compliance is not None and strain.length_mm and not strain.words.startswith("strain"):
        low, high = (share * line.slope * section for share in CHORD)
        give = bench.compliance.uncertainty_between(low, high)
        parts.append((give or 0.0) / (strain.length_mm * chord))
    return float(np.sqrt(sum(part**2 for part in parts)))


def _or_none(work: Callable[[], Found]) -> Found | None:
    try:
        return work()
    except ComputationError:
        return None
