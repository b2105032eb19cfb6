"""Picture of how a tensile curve was reduced."""

from __future__ import annotations

import numpy as np

from voidless.measure.curves.read import Curve
from voidless.measure.picture import curve_of, mark_of, picture_of
from voidless.measure.tensile.bench import Bench
from voidless.measure.tensile.modulus import CHORD
from voidless.measure.tensile.reduce import TensileResult
from voidless.measure.tensile.strain import (
    Strain,
    displacement_of,
    nominal_strain,
    stood_still,
    strain_of,
)

__all__ = ["explain_tensile"]


def explain_tensile(curve: Curve, found: TensileResult, bench: Bench | None = None) -> dict[str, object]:
    """
    Return the curve with its straight line, chord, toe, yield point and break.

    Parameters
    ----------
    curve : Curve
        What was reduced.
    found : TensileResult
        What came of it.
    bench : Bench or None
        As it was reduced with.

    Returns
    -------
    picture : dict
        Stress over strain where there is strain, else force over displacement, time or reading.
    """
    force, course = curve.channels["force_n"], found.course
    known = bench or Bench()
    strain = strain_of(curve, known.gauge_length_mm, known.span_mm, known.compliance)
    if strain is None:
        steady, words = displacement_of(curve)
        if steady is None:
            steady = curve.channels.get("time_s", np.arange(force.size, dtype=float))
            words = "time [s]" if "time_s" in curve.channels else "reading [1]"
        else:
            words += " [mm]"
        marks = _marks(steady, force, found)
        return picture_of(
            curve.name, (words, "force [N]"), [curve_of("force", steady, force)], marks, says=_says(found)
        )
    percent, beyond = _drawn(curve, strain, known, course.start)
    stress = force / found.section_mm2
    lines = [curve_of("stress", percent, stress)]
    if found.stiffness is not None:
        zero = 100.0 * found.stiffness.toe_strain
        slope = 10.0 * found.stiffness.straight_gpa
        top = float(stress[course.first])
        lines.append(
            curve_of(
                "straight part, prolonged to the corrected zero", [zero, zero + top / slope], [0.0, top], True
            )
        )
        if found.stiffness.chord_gpa is not None:
            ends = [zero + 100.0 * share for share in CHORD]
            rising = slice(course.start, course.first + 1)
            at = np.interp(ends, percent[rising], stress[rising])
            lines.append(curve_of("chord of the modulus", ends, at.tolist(), True))
    return picture_of(
        curve.name,
        ("strain [%]", "stress [MPa]"),
        lines,
        _marks(percent, stress, found),
        says=f"{_says(found)} Strain: {found.strain_basis}{beyond}.",
    )


def _drawn(curve: Curve, strain: Strain, known: Bench, start: int) -> tuple[np.ndarray, str]:
    """Return strain in percent for the eye, past the known give of the machine less its last, and a word on that."""
    percent = 100.0 * strain.values
    place = stood_still(curve, start)
    if place is not None:
        nominal = nominal_strain(curve, strain.values, known.span_mm, place - 1)
        rest = np.full(percent.size, np.nan) if nominal is None else 100.0 * nominal
        return np.where(np.arange(percent.size) < place, percent, rest), ""
    whole = strain_of(curve, known.gauge_length_mm, known.span_mm, None)
    gone = ~np.isfinite(percent)
    if known.compliance is None or whole is None or not strain.length_mm or not gone.any():
        return percent, ""
    end = known.compliance.end_n
    last = float(known.compliance.at(np.array([end]))[0])
    drawn = np.where(gone, 100.0 * (whole.values - last / strain.length_mm), percent)
    return drawn, f"; over {end:.4g} N, where that give is not known, drawn less what it is there"


def _marks(x: np.ndarray, y: np.ndarray, found: TensileResult) -> list[dict[str, object]]:
    course = found.course
    marks = [mark_of("largest force", x[course.top], y[course.top])]
    if course.first != course.top or course.yields:
        marks.append(mark_of("yield" if course.yields else "first maximum", x[course.first], y[course.first]))
    marks += [mark_of(event.kind.value, x[event.peak], y[event.peak]) for event in course.events]
    marks.append(mark_of("last point before the break", x[course.last], y[course.last]))
    return [mark for mark in marks if np.isfinite(mark["x"]) and np.isfinite(mark["y"])]  # type: ignore[call-overload]


def _says(found: TensileResult) -> str:
    return f"Tensile curve: strength {found.strength_mpa:.3g} MPa, broke {found.broke}."
