"""One tensile curve, all of it: strength, strain, modulus, energy and what is odd about it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.errors import ComputationError, InputError
from voidless.measure.curves.read import Curve
from voidless.measure.tensile.flags import odd_things
from voidless.measure.tensile.modulus import CHORD, chord_modulus, fit_line, regression_modulus, toe_end
from voidless.measure.tensile.strength import METHODS

__all__ = ["Stiffness", "TensileResult", "reduce_tensile"]

Floats = NDArray[np.float64]

STRAIGHT = (0.25, 0.5)
"""Shares of the strength between which the straight part is sought. [1] Common practice, no source."""
R_SQUARED = 0.995
"""Below this the straight part is not straight enough for a modulus. [1] Our choice."""
BREAK_SHARE = 0.1
"""Break: the last point before the force falls to this share of the strength. [1] ISO 527-1, from memory."""


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
    toe_strain : float
        Shift of the origin. [1]
    toe_end_strain : float
        Strain up to which the toe reaches; above 0.0005 the chord lies partly in it. [1]
    r_squared : float
        Of the straight part. [1]
    apparent : bool
        True where strain is crosshead travel over a length: the machine's own give is in it.
    """

    chord_gpa: float | None
    regression_gpa: float | None
    straight_gpa: float
    toe_strain: float
    toe_end_strain: float
    r_squared: float
    apparent: bool


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
        Strain at break from the corrected origin. [%]
    stiffness : Stiffness or None
        None where there is no strain or no straight part.
    energy_j : float or None
        Work up to the break. [J]
    flags : tuple of str
        What is odd about the record, in words.
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


def reduce_tensile(
    curve: Curve, section_mm2: float, gauge_length_mm: float | None = None, method: str = "maximum"
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
        Length that the extension belongs to; None takes what the file states. [mm]
    method : str
        Name of the strength's method, a key of `METHODS`.

    Returns
    -------
    result : TensileResult
        Strengths always; strain, modulus and energy where the channels allow them.

    Raises
    ------
    InputError
        The section is not positive, the method unknown, or no force is above 0.
    """
    if not section_mm2 > 0:
        raise InputError(curve.name, f"section {section_mm2:g} mm²", "above 0 mm²", "Correct --section.")
    if method not in METHODS:
        raise InputError(
            curve.name, f"method {method!r}", f"one of {', '.join(METHODS)}", "Name one of them."
        )
    if "force_n" not in curve.channels:
        raise InputError(curve.name, "no force channel with a known unit", "a force", "Answer its unit.")
    force = curve.channels["force_n"]
    if not force.max() > 0:
        raise InputError(curve.name, "no force above 0 N", "a test in tension", "Check what was exported.")
    peaks = {name: find(force) for name, find in METHODS.items()}
    strengths = {name: float(force[peak]) / section_mm2 for name, peak in peaks.items()}
    strain, basis = _strain(curve, gauge_length_mm)
    last = _break(force, peaks["maximum"])
    flags = odd_things(curve, peaks["iso527_2012"], last)
    stiffness, odd = _stiffness(strain, force / section_mm2, peaks["iso527_2012"], "crosshead" in basis)
    broken = None
    if strain is not None:
        broken = 100.0 * float(strain[last] - (stiffness.toe_strain if stiffness else 0.0))
    return TensileResult(
        method,
        float(force[peaks["maximum"]]),
        section_mm2,
        strengths[method],
        strengths,
        basis,
        broken,
        stiffness,
        _energy(curve, last),
        (*flags, *odd),
    )


def _displacement(curve: Curve) -> tuple[Floats | None, str]:
    if "extension_mm" in curve.channels:
        return curve.channels["extension_mm"], "extension"
    if "travel_mm" in curve.channels:
        travel = curve.channels["travel_mm"]
        return travel - float(np.median(travel[:3])), "crosshead travel"
    return None, ""


def _strain(curve: Curve, gauge_length_mm: float | None) -> tuple[Floats | None, str]:
    """Return strain and what it is; None without a length that the displacement belongs to."""
    if "strain" in curve.channels:
        return curve.channels["strain"], "strain as the machine gives it"
    displacement, words = _displacement(curve)
    gauge = gauge_length_mm or curve.facts.get("gauge_length_mm")
    span = curve.facts.get("span_mm")
    length = gauge or span if words == "extension" else span or gauge
    if displacement is None or not length:
        return None, ""
    kind = "nominal, " if words != "extension" or not gauge else ""
    return displacement / length, f"{kind}{words} over {length:g} mm"


def _break(force: Floats, peak: int) -> int:
    """Return the last place before the force falls to a tenth of its maximum for the first time."""
    fallen = np.flatnonzero(force[peak:] <= BREAK_SHARE * force[peak])
    return peak + int(fallen[0]) - 1 if fallen.size else force.size - 1


def _stiffness(
    strain: Floats | None, stress: Floats, peak: int, apparent: bool
) -> tuple[Stiffness | None, list[str]]:
    if strain is None:
        return None, []
    before = slice(0, peak + 1)
    low, high = (share * stress[peak] for share in STRAIGHT)
    rising = stress[before]
    start, stop = int(np.argmax(rising >= low)), int(np.argmax(rising >= high)) + 1
    try:
        line = fit_line(strain[start:stop], stress[start:stop])
    except ComputationError as fault:
        return None, [f"no modulus: {fault.what}"]
    if not line.r_squared >= R_SQUARED:
        return None, [f"no modulus: no straight part (r² = {line.r_squared:.3f}, needs {R_SQUARED})"]
    shifted = strain[before] - line.zero
    end = toe_end(strain[:stop], stress[:stop], line)
    chord = _or_none(lambda: chord_modulus(shifted, rising) / 1e3)
    regression = _or_none(lambda: regression_modulus(shifted, rising).slope / 1e3)
    odd = []
    if end > CHORD[0]:
        odd.append(f"the toe reaches {100 * end:.3g} % strain, into the chord of the modulus")
    found = Stiffness(chord, regression, line.slope / 1e3, line.zero, end, line.r_squared, apparent)
    return found, odd


def _or_none(work: object) -> float | None:
    try:
        return float(work())  # type: ignore[operator]
    except ComputationError:
        return None


def _energy(curve: Curve, last: int) -> float | None:
    displacement, _ = _displacement(curve)
    if displacement is None:
        return None
    part = slice(0, last + 1)
    return float(np.trapezoid(curve.channels["force_n"][part], displacement[part])) * 1e-3
