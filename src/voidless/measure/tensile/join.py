"""Curves joined to the summary of their folder: direction, section, strength, and whether the two agree."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass, field

from voidless.campaign.types import Bound, Observation, ResponseKey
from voidless.errors import InputError, QuestionError
from voidless.measure.curves.read import Curve
from voidless.measure.curves.units import unit_option
from voidless.measure.curves.words import fact_of
from voidless.measure.files.labels import Labels, direction_of, folder_of, labels, stem_of
from voidless.measure.results import Answers
from voidless.measure.tensile.explain import explain_tensile
from voidless.measure.tensile.folder import Folder
from voidless.measure.tensile.reduce import TensileResult, reduce_tensile, still_rising
from voidless.measure.tensile.sections import Section, stated_section
from voidless.measure.tensile.spikes import without_spikes
from voidless.measure.tensile.summary import Session, Summary

__all__ = ["CurveYield", "answered_section", "curve_yield", "find_session", "section_known"]

RESPONSES = {"xy": "strength_xy_mpa", "across": "strength_across_mpa", "z": "strength_z_mpa"}
METHOD = "maximum"
"""Method of the forces that a summary prints."""
UNITS_OF_A_SECTION = {"section": "mm2", "thickness": "mm", "width": "mm"}
SECTION_TOLERANCE = 0.005


@dataclass(frozen=True)
class CurveYield:
    """What one curve gave; `trial`, `direction` and `summary` tell which printed value it stands behind."""

    observations: tuple[Observation, ...] = ()
    reduced: Mapping[str, object] = field(default_factory=dict)
    question: QuestionError | None = None
    warnings: tuple[str, ...] = ()
    summary: Summary | None = None
    direction: str = ""
    trial: int | None = None
    max_force_n: float = float("nan")


def find_session(name: str, summaries: Mapping[str, Summary]) -> Summary | None:
    """
    Return the summary that stands in a file's folder.

    Parameters
    ----------
    name : str
        Name of a curve's file; an archive around it counts as no folder.
    summaries : mapping of str to Summary
        Summaries by folder.

    Returns
    -------
    summary : Summary or None
        None where there is none.
    """
    folder = folder_of(name)
    while folder not in summaries and folder.lower().endswith(".zip"):
        folder = folder_of(folder)
    return summaries.get(folder)


def answered_section(said: Answers, direction: str, curve: str) -> tuple[float | None, str]:
    """
    Return the section that a person answered, and by which name.

    Parameters
    ----------
    said : Answers
        What a person answered.
    direction : str
        `xy`, `across`, `z` or empty.
    curve : str
        Name of the curve, empty for a summary.

    Returns
    -------
    answered : (float or None, str)
        Section [mm²] and words.

    Raises
    ------
    InputError
        It is not above 0.
    """
    for key, value in said.sections.items():
        if key in ("", curve) or (direction and direction_of(key) == direction):
            if not value > 0:
                raise InputError(f"--section {key}", f"{value:g} mm²", "a section above 0 mm²", "Correct it.")
            return value, f"answered (--section {key + '=' if key else ''}{value:g})"
    return None, ""


def _section(
    curve: Curve, name: str, direction: str, session: Session | None, said: Answers, folder: Folder
) -> Section | None:
    """Return the section; what is measured or stated in a file comes before what a person answers."""
    for label in (curve.name, curve.caption or curve.name, stem_of(name), labels(name).specimen):
        if label.lower() in folder.sections:
            return folder.sections[label.lower()]
    if stated := stated_section(curve, said.facts):
        return stated
    if session is not None and session.section_mm2 is not None:
        return Section(session.section_mm2, None, f"stated in the summary, line {session.line}")
    value, words = answered_section(said, direction, curve.name)
    return None if value is None else Section(value, None, words)


def section_known(
    curve: Curve, name: str, summary: Summary | None, said: Answers, folder: Folder
) -> tuple[str, float] | None:
    """
    Return direction and section of a curve, None where no section is known.

    Parameters
    ----------
    curve : Curve
        A curve.
    name : str
        Name of its file.
    summary : Summary or None
        Summary of its folder.
    said : Answers
        What a person answered.
    folder : Folder
        What the folder says.

    Returns
    -------
    known : (str, float) or None
        Direction, empty where it is not known, and section. [mm²]
    """
    direction, _ = _direction(_labels(curve, name), said)
    session = summary.last.get(direction) if summary else None
    section = _section(curve, name, direction, session, said, folder)
    return None if section is None else (direction, section.value_mm2)


def _unused(name: str, section: float, answered: float | None) -> list[str]:
    """Return a word where a person answered another section than the one that was stated and used."""
    if answered is None or abs(answered - section) <= SECTION_TOLERANCE * section:
        return []
    return [f"{name}: its own section of {section:g} mm² is used, not the answered {answered:g} mm²"]


def _by_last_digit(name: str, section: Section) -> list[str]:
    """Return a word where the last digits of a header are all that is known of a section's uncertainty."""
    if section.stated:
        return []
    options = "--fact size_uncertainty_mm=, or section_uncertainty_pct="
    return [
        f"{name}: no uncertainty of the section stated ({options}); its last digit alone counts, a lower limit"
    ]


def _at_odds(curve: Curve) -> list[str]:
    """Return a word where a header's section is not its thickness times its width."""
    facts = curve.facts
    if not {"section_mm2", "thickness_mm", "width_mm"} <= facts.keys():
        return []
    product = facts["thickness_mm"] * facts["width_mm"]
    if abs(product - facts["section_mm2"]) <= SECTION_TOLERANCE * product:
        return []
    words = f"section {facts['section_mm2']:g} mm², but thickness times width is {product:g} mm²"
    return [f"{curve.name}: the header states {words}; the section is used"]


def _labels(curve: Curve, name: str) -> Labels:
    """Return what file and caption say of a curve; a direction on which they differ is none."""
    whole, own = labels(name), labels(curve.caption)
    if not curve.caption:
        return whole
    told = {whole.direction, own.direction} - {""}
    return dataclasses.replace(
        whole,
        run=own.run or whole.run,
        build=own.build or whole.build,
        direction=told.pop() if len(told) == 1 else "",
        trial=own.trial,
    )


def _direction(label: Labels, said: Answers) -> tuple[str, str]:
    if label.direction:
        return label.direction, "from the file's name"
    answered = {direction_of(key) for key in said.sections} - {""}
    return (answered.pop(), "from --section") if len(answered) == 1 else ("", "not known")


def curve_yield(
    curve: Curve, name: str, summary: Summary | None, said: Answers, folder: Folder | None = None
) -> CurveYield:
    """
    Return the strength of one curve, or the question that stands before it.

    Parameters
    ----------
    curve : Curve
        A curve; without a force channel it gives nothing, for its unit is asked already.
    name : str
        Name of its file, folders included.
    summary : Summary or None
        Summary of its folder.
    said : Answers
        What a person answered.
    folder : Folder or None
        What other files of its folder say: sections, machine give.

    Returns
    -------
    found : CurveYield
        Strength where direction and section are known; the largest force where the direction is not.
    """
    label, place = _labels(curve, name), folder or Folder()
    direction, origin = _direction(label, said)
    session = summary.last.get(direction) if summary else None
    section = _section(curve, name, direction, session, said, place)
    if section is None:
        return CurveYield(question=_ask_section(curve, name, direction), summary=summary)
    if "force_n" not in curve.channels:
        return CurveYield(summary=summary)
    bench = place.bench_for(direction)
    if section.share is not None:
        bench = dataclasses.replace(bench, section_uncertainty_pct=100.0 * section.share)
    curve = without_spikes(curve)
    found = reduce_tensile(curve, section.value_mm2, method=said.strength_method, bench=bench)
    open_end = still_rising(found) and session is None and not said.facts.get("stops_at_break")
    specimen = (
        f"{direction}_trial_{label.trial}"
        if session and label.trial
        else label.specimen + curve.name.removeprefix(stem_of(name))
    )
    reduced = _plain(curve, found) | {
        "run": label.run, "build": label.build, "specimen": specimen, "direction": direction,
        "direction_from": origin, "section_from": section.source, "kind": "curve", "name": curve.name,
        "picture": explain_tensile(curve, found, bench),
    }  # fmt: skip
    if series := place.series.get(direction):
        reduced |= {
            "modulus_by_lengths_gpa": series.modulus_gpa,
            "modulus_by_lengths_uncertainty_gpa": series.uncertainty_gpa,
        }
    other, _ = answered_section(said, direction, curve.name)
    warnings = [
        *curve.warnings,
        *_unused(curve.name, section.value_mm2, other),
        *_at_odds(curve),
        *_by_last_digit(curve.name, section),
        *(f"{curve.name}: {flag}" for flag in (*found.flags, *place.words.get(direction, ()))),
    ]
    if open_end:
        warnings.append(
            f"{curve.name}: the force still rises where the record ends: a lower limit of the strength "
            "(--fact stops_at_break=1 where the machine stops at the break)"
        )
    if found.stiffness is not None and found.stiffness.apparent:
        warnings.append(
            f"{curve.name}: modulus apparent, the machine's own give is in it; no result is stored for it"
        )
    if curve.caption and labels(name).direction not in ("", direction):
        warnings.append(
            f"{curve.name}: the file's name says {labels(name).direction}, the caption {curve.caption!r} does not"
        )
    if not direction:
        warnings.append(
            f"{curve.name}: direction not known; put xy, across or z into the file's name for a strength"
        )
    return CurveYield(
        _observations(label, specimen, direction, found, said.strength_method, open_end),
        reduced,
        warnings=tuple(warnings),
        summary=summary,
        direction=direction,
        trial=label.trial,
        max_force_n=found.max_force_n,
    )


def _ask_section(curve: Curve, name: str, direction: str) -> QuestionError:
    key = f"{direction}=" if direction else ""
    needed = [label for label in curve.unitless if fact_of(label) in UNITS_OF_A_SECTION]
    if needed:
        units = " ".join(unit_option(label, UNITS_OF_A_SECTION[fact_of(label)]) for label in needed)
        return QuestionError(
            name,
            f"{curve.name}: {', '.join(needed)} stand in the header without a unit",
            f"--section {key}MM2 or {units}",
            "Say the section in mm², or the units.",
        )
    return QuestionError(
        name,
        f"{curve.name}: the file states no cross-section",
        f"--section {key}MM2",
        "Say the section in mm².",
    )


def _plain(curve: Curve, found: TensileResult) -> dict[str, object]:
    """Return a reduction as plain numbers and words."""
    fields = dataclasses.asdict(found)
    del fields["course"]
    stiffness = fields.pop("stiffness") or {}
    stated = {f"stated_{key}": value for key, value in curve.facts.items()}
    return {
        **fields,
        **stiffness,
        **stated,
        "points": int(curve.channels["force_n"].size),
        "units_from": dict(curve.units_from),
    }


def _observations(
    label: Labels, specimen: str, direction: str, found: TensileResult, method: str, open_end: bool
) -> tuple[Observation, ...]:
    """Return what a curve gives; values of which each direction has its own carry it as their feature."""
    where = (label.run, label.build, specimen)
    bound = Bound.LOWER if open_end else Bound.EXACT
    if not direction:
        return (Observation(*where, ResponseKey("max_force_n", METHOD), found.max_force_n, bound=bound),)
    section = (("section_mm2", f"{found.section_mm2:g}"),)
    unsure = found.uncertainty
    key = ResponseKey(RESPONSES[direction], method, conditions=section)
    given = [Observation(*where, key, found.strength_mpa, unsure["strength_mpa"], bound)]
    if not found.strain_basis:
        return tuple(given)
    basis = (("strain", found.strain_basis),)
    if found.yield_mpa is not None:
        key = ResponseKey("yield_mpa", "iso527_2012", direction, section)
        given.append(Observation(*where, key, found.yield_mpa, unsure["yield_mpa"]))
    if found.strain_break_pct is not None and found.strain_break_pct >= 0 and found.broke != "no break":
        key = ResponseKey(
            "strain_break_pct", "iso527_2012", direction, (("strain", found.strain_break_basis),)
        )
        given.append(Observation(*where, key, found.strain_break_pct, unsure.get("strain_break_pct")))
    stiff = found.stiffness
    if stiff is not None and stiff.regression_gpa is not None and not stiff.apparent:
        key = ResponseKey("modulus_gpa", "regression", direction, basis)
        given.append(Observation(*where, key, stiff.regression_gpa, stiff.regression_uncertainty_gpa))
    return tuple(given)
