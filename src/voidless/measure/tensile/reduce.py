"""One tensile curve, all of it: strength, yield, strain, modulus, energy, and how sure each is."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.measure.curves.read import Curve
from voidless.measure.series.noise import noise_of, step_of
from voidless.measure.series.peak import smooth_peak
from voidless.measure.tensile.bench import Bench
from voidless.measure.tensile.budget import combined, strength_budget
from voidless.measure.tensile.compliance import REACH
from voidless.measure.tensile.events import Course, Happening, course_of
from voidless.measure.tensile.flags import odd_things
from voidless.measure.tensile.stiffness import Stiffness, stiffness_of
from voidless.measure.tensile.strain import (
    Strain,
    displacement_of,
    give_doubt,
    nominal_strain,
    stood_still,
    strain_of,
)
from voidless.measure.tensile.strength import METHODS

__all__ = ["AT_THE_END", "TensileResult", "reduce_tensile", "still_rising"]

Floats = NDArray[np.float64]

AT_THE_END = 0.98
"""Share of the record past which its largest force stands at its end. [1] Our choice."""


@dataclass(frozen=True)
class TensileResult:
    """
    What one tensile curve says.

    Attributes
    ----------
    method : str
        Method of `strength_mpa`.
    max_force_n : float
        Largest force. [N]
    section_mm2 : float
        Original cross-section. [mm²]
    strength_mpa : float
        By the method asked for. [MPa]
    strength_by_method : dict of str to float
        By every method. [MPa]
    strain_basis : str
        What strain is: from an extensometer, nominal from crosshead travel, or empty where there is none.
    strain_break_pct : float or None
        Strain at break from the corrected origin; past yield the nominal one where both channels allow it. [%]
    stiffness : Stiffness or None
        None where there is no strain or no straight part.
    energy_j : float or None
        Work up to the break. [J]
    flags : tuple of str
        What is odd about the record, in words.
    yield_mpa, strain_yield_pct : float or None
        At the first maximum where it is a yield point. [MPa], [%]
    broke : str
        `before yield`, `after yield` or `no break`: a weld that breaks before yield is weaker than its beads.
    strain_strength_pct : float or None
        Strain at the first maximum. [%]
    energy_mj_m3 : float or None
        Area under stress over strain up to the break. [MJ/m³]
    strain_break_basis : str
        What the strain at break is: beyond the forces that the machine's give is known for, with that give in it.
    events : tuple of str
        Slips, first cracks and yield points, with their forces.
    uncertainty : dict of str to float
        Standard uncertainty by the name of a value: `strength_mpa`, `yield_mpa`, `strain_break_pct`.
    budget : dict of str to float
        What the uncertainty of the strength is made of, as shares of it. [1]
    ends_at_top : bool
        Whether the largest force stands in the last fiftieth of the record.
    course : Course
        Places in the record.
    """

    method: str
    max_force_n: float
    section_mm2: float
    strength_mpa: float
    strength_by_method: dict[str, float]
    strain_basis: str
    strain_break_pct: float | None
    stiffness: Stiffness | None
    energy_j: float | None
    flags: tuple[str, ...]
    yield_mpa: float | None
    strain_yield_pct: float | None
    broke: str
    strain_strength_pct: float | None
    energy_mj_m3: float | None
    strain_break_basis: str
    events: tuple[str, ...]
    uncertainty: dict[str, float]
    budget: dict[str, float]
    ends_at_top: bool
    course: Course = field(repr=False)


def reduce_tensile(
    curve: Curve,
    section_mm2: float,
    gauge_length_mm: float | None = None,
    method: str = "maximum",
    bench: Bench | None = None,
) -> TensileResult:
    """
    Return what a tensile curve says.

    Parameters
    ----------
    curve : Curve
        A curve with a force channel.
    section_mm2 : float
        Original cross-section. [mm²]
    gauge_length_mm : float or None
        Length that the extension belongs to; None takes what the file or the bench states. [mm]
    method : str
        Name of the strength's method, a key of `METHODS`.
    bench : Bench or None
        What is known of the bench.

    Returns
    -------
    result : TensileResult
        Strengths always; strain, modulus and energy where the channels allow them.

    Raises
    ------
    InputError
        The section is not positive, the method unknown, or no force is above 0.

    Notes
    -----
    `maximum` is the largest reading; noise lifts it, and what it seems to lift is in its uncertainty.
    `iso527_2012` and yield are the top of a parabola through a stretch around the first maximum, less what
    noise adds.
    """
    known = bench or Bench()
    force = _checked(curve, section_mm2, method)
    steady = displacement_of(curve)[0]
    course = course_of(force, curve.channels.get("time_s") if steady is None else steady)
    noise = noise_of(force[course.straight], step_of(force))
    first = smooth_peak(force, course.first, course.start, _end(force, course, course.first), noise)
    top = first
    if course.top != course.first:
        top = smooth_peak(force, course.top, course.start, _end(force, course, course.top), noise)
    strengths = {"maximum": float(force[course.top]) / section_mm2, "iso527_2012": first[0] / section_mm2}
    budget = strength_budget(force, course, first if method == "iso527_2012" else top, method, known)
    length, still = gauge_length_mm or known.gauge_length_mm, stood_still(curve, course.start)
    strain = _up_to(strain_of(curve, length, known.span_mm, known.compliance), still)
    stress = force / section_mm2
    stiffness, odd = stiffness_of(strain, force, section_mm2, course, budget, known)
    whole = _up_to(strain_of(curve, length, known.span_mm, None), still)
    measured = _strains(curve, strain, whole, stiffness, course, known, still)
    yields = course.yields
    unsure = {"strength_mpa": combined(budget) * strengths[method]}
    if yields:
        own = strength_budget(force, course, first, "iso527_2012", known)
        unsure["yield_mpa"] = combined(own) * strengths["iso527_2012"]
    if measured.break_uncertainty is not None:
        unsure["strain_break_pct"] = 100.0 * measured.break_uncertainty
    return TensileResult(
        method,
        float(force[course.top]),
        section_mm2,
        strengths[method],
        strengths,
        measured.words,
        _percent(measured.at_break),
        stiffness,
        _energy(curve, course.last),
        (*odd_things(curve, course), *odd, *measured.flags),
        strengths["iso527_2012"] if yields else None,
        _percent(measured.at_first) if yields else None,
        _broke(force, course),
        _percent(measured.at_first),
        measured.area(stress),
        measured.break_words,
        _told(force, course),
        unsure,
        budget,
        course.top >= AT_THE_END * (force.size - 1),
        course,
    )


def still_rising(found: TensileResult) -> bool:
    """Return whether a record ends with its largest force and no break: what the bar held is a lower limit."""
    return found.broke == "no break" and not found.course.yields and found.ends_at_top


def _checked(curve: Curve, section_mm2: float, method: str) -> Floats:
    if not section_mm2 > 0:
        raise InputError(curve.name, f"section {section_mm2:g} mm²", "above 0 mm²", "Correct --section.")
    if method not in METHODS:
        raise InputError(
            curve.name, f"method {method!r}", f"one of {', '.join(METHODS)}", "Name one of them."
        )
    if "force_n" not in curve.channels:
        raise InputError(curve.name, "no force channel with a known unit", "a force", "Answer its unit.")
    force = curve.channels["force_n"]
    if force.size < 3 or not np.all(np.isfinite(force)) or not force.max() > 0:
        raise InputError(curve.name, "no force above 0 N", "a test in tension", "Check what was exported.")
    return force


def _end(force: Floats, course: Course, peak: int) -> int:
    """Return the last place up to which the course around a peak is smooth: before it falls by a tenth."""
    fallen = np.flatnonzero(force[peak : course.last + 1] < 0.9 * force[peak])
    return peak + int(fallen[0]) - 1 if fallen.size else course.last


@dataclass(frozen=True)
class _Measured:
    words: str = ""
    at_first: float | None = None
    at_break: float | None = None
    break_uncertainty: float | None = None
    strain: Floats | None = None
    last: int = 0
    break_words: str = ""
    flags: tuple[str, ...] = ()

    def area(self, stress: Floats) -> float | None:
        if self.strain is None or not np.all(np.isfinite(self.strain[: self.last + 1])):
            return None
        return float(np.trapezoid(stress[: self.last + 1], self.strain[: self.last + 1]))


def _up_to(strain: Strain | None, place: int | None) -> Strain | None:
    """Return a strain without what an extensometer that stood still shows."""
    if strain is None or place is None:
        return strain
    return replace(strain, values=np.where(np.arange(strain.values.size) < place, strain.values, np.nan))


def _strains(
    curve: Curve,
    strain: Strain | None,
    whole: Strain | None,
    stiffness: Stiffness | None,
    course: Course,
    known: Bench,
    still: int | None,
) -> _Measured:
    """Return strains from the corrected origin; at a break beyond the known give of the machine, with it."""
    if strain is None or whole is None:
        return _Measured()
    zero_strain = stiffness.toe_strain if stiffness else 0.0
    values, words, flags = strain.values - zero_strain, strain.words, list(_prolonged(curve, course, known))
    switch, beside = course.first if still is None else min(still - 1, course.first), 0.0
    if still is not None or (course.yields and "extension" in words and not strain.apparent):
        nominal = nominal_strain(curve, values, known.span_mm, switch)
        at = f"past {100.0 * values[switch]:.3g} %" if switch < course.first else "past yield"
        if nominal is not None:
            beside = give_doubt(curve, values, known.span_mm, course.straight, switch, course.last)
            values = nominal
            words += f"; {at} nominal, by crosshead travel (method B)"
        if still is not None:
            rest = "no strain is known" if nominal is None else "strain is nominal, by crosshead travel"
            flags.append(f"the extensometer stood still while the test went on; {at} {rest}")
    ending = slice(max(course.last - 10, 0), course.last + 1)
    beyond = not np.all(np.isfinite(values[ending])) and bool(np.all(np.isfinite(whole.values[ending])))
    if beyond and known.compliance is not None:
        flags.append(
            f"the machine's give is known up to {known.compliance.end_n:.4g} N; the strain at break holds it"
        )
    shown = whole.values - zero_strain if beyond else values
    return _Measured(
        words,
        _finite(float(values[course.first])),
        _finite(float(shown[course.last])),
        float(
            np.hypot(
                beside,
                _break_uncertainty(curve, strain, values, shown[ending], stiffness, course, known, beyond),
            )
        ),
        values,
        course.last,
        whole.words if beyond else words,
        tuple(flags),
    )


def _break_uncertainty(
    curve: Curve,
    strain: Strain,
    values: Floats,
    ending: Floats,
    stiffness: Stiffness | None,
    course: Course,
    known: Bench,
    beyond: bool,
) -> float:
    """Return what origin, reading interval, noise and the machine's give leave of a strain at break. [1]"""
    steps = np.abs(np.diff(ending))
    part = values[course.straight]
    part = part[np.isfinite(part)]
    own = noise_of(part).sd if part.size else 0.0
    zero = stiffness.toe_uncertainty if stiffness else 0.0
    step = float(np.median(steps)) / 3**0.5 if steps.size else 0.0
    give = 0.0
    if known.compliance is not None and strain.length_mm and "give" in strain.words and not beyond:
        unsure = known.compliance.uncertainty_at(float(curve.channels["force_n"][course.last]))
        give = (unsure or 0.0) / strain.length_mm
    return float(np.sqrt(zero**2 + step**2 + own**2 + give**2))


def _prolonged(curve: Curve, course: Course, known: Bench) -> tuple[str, ...]:
    """Return that the machine's give is prolonged to the forces of this curve, where it is."""
    top = float(curve.channels["force_n"][course.top])
    give = known.compliance
    if give is None or not give.end_n < top <= REACH * give.end_n:
        return ()
    if {"strain", "extension_mm"} & curve.channels.keys():
        return ()
    return (f"the machine's give is known up to {give.end_n:.4g} N and prolonged to {top:.4g} N",)


def _finite(value: float) -> float | None:
    return value if np.isfinite(value) else None


def _percent(value: float | None) -> float | None:
    return None if value is None else 100.0 * value


def _broke(force: Floats, course: Course) -> str:
    if course.last == force.size - 1:
        return "no break"
    return "after yield" if course.yields else "before yield"


def _told(force: Floats, course: Course) -> tuple[str, ...]:
    words = {
        Happening.SLIP: "slip (loaded again as stiffly as before)",
        Happening.CRACK: "first crack (loaded again more softly)",
        Happening.YIELD: "yield",
    }
    told = [f"{words[event.kind]} at {force[event.peak]:.4g} N" for event in course.events]
    if course.yields and course.first == course.top:
        told.append(f"yield at {force[course.top]:.4g} N")
    return tuple(told)


def _energy(curve: Curve, last: int) -> float | None:
    displacement, _ = displacement_of(curve)
    if displacement is None:
        return None
    part = slice(0, last + 1)
    return float(np.trapezoid(curve.channels["force_n"][part], displacement[part])) * 1e-3
