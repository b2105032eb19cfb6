"""Curves joined to the summary of their folder: direction, section, strength, and whether the two agree."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from voidless.campaign.types import Observation, ResponseKey
from voidless.errors import InputError, QuestionError
from voidless.measure.curves.read import Curve
from voidless.measure.curves.units import unit_option
from voidless.measure.curves.words import fact_of
from voidless.measure.files.labels import Labels, direction_of, folder_of, labels, stem_of
from voidless.measure.results import Answers
from voidless.measure.tensile.reduce import TensileResult, reduce_tensile
from voidless.measure.tensile.summary import Session, Summary

__all__ = ["CurveYield", "SummaryYield", "curve_yield", "find_session", "summary_yield"]

RESPONSES = {"xy": "strength_xy_mpa", "across": "strength_across_mpa", "z": "strength_z_mpa"}
METHOD = "maximum"
UNITS_OF_A_SECTION = {"section": "mm2", "thickness": "mm", "width": "mm"}
SECTION_TOLERANCE = 0.005
FORCE_TOLERANCE_N = 0.02
"""Largest difference between a curve's maximum and the printed one that passes without a word. [N]"""


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


@dataclass(frozen=True)
class SummaryYield:
    """What a summary gave beside its curves."""

    observations: tuple[Observation, ...]
    reduced: tuple[Mapping[str, object], ...]
    questions: tuple[QuestionError, ...]
    warnings: tuple[str, ...]


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


def _answered(said: Answers, direction: str, curve: str) -> tuple[float | None, str]:
    """Return the section that a person answered, and by which name."""
    for key, value in said.sections.items():
        if key in ("", curve) or (direction and direction_of(key) == direction):
            if not value > 0:
                raise InputError(f"--section {key}", f"{value:g} mm²", "a section above 0 mm²", "Correct it.")
            return value, f"answered (--section {key + '=' if key else ''}{value:g})"
    return None, ""


def _section(
    curve: Curve, direction: str, session: Session | None, said: Answers
) -> tuple[float | None, str]:
    """Return the section and where it is from; what a file states comes before what a person answers."""
    facts = curve.facts
    if "section_mm2" in facts:
        return facts["section_mm2"], "stated in the file's header"
    if "thickness_mm" in facts and "width_mm" in facts:
        return facts["thickness_mm"] * facts["width_mm"], "thickness times width of the file's header"
    if session is not None and session.section_mm2 is not None:
        return session.section_mm2, f"stated in the summary, line {session.line}"
    return _answered(said, direction, curve.name)


def _unused(name: str, section: float, answered: float | None) -> list[str]:
    """Return a word where a person answered another section than the one that was stated and used."""
    if answered is None or abs(answered - section) <= SECTION_TOLERANCE * section:
        return []
    return [f"{name}: its own section of {section:g} mm² is used, not the answered {answered:g} mm²"]


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


def _direction(label: Labels, said: Answers) -> tuple[str, str]:
    if label.direction:
        return label.direction, "from the file's name"
    answered = {direction_of(key) for key in said.sections} - {""}
    return (answered.pop(), "from --section") if len(answered) == 1 else ("", "not known")


def curve_yield(curve: Curve, name: str, summary: Summary | None, said: Answers) -> CurveYield:
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

    Returns
    -------
    found : CurveYield
        Strength where direction and section are known; the largest force where the direction is not.
    """
    label = labels(name)
    direction, origin = _direction(label, said)
    session = summary.last.get(direction) if summary else None
    section, section_from = _section(curve, direction, session, said)
    if section is None:
        return CurveYield(question=_ask_section(curve, name, direction), summary=summary)
    if "force_n" not in curve.channels:
        return CurveYield(summary=summary)
    found = reduce_tensile(curve, section, method=METHOD)
    specimen = (
        f"{direction}_trial_{label.trial}"
        if session and label.trial
        else label.specimen + curve.name.removeprefix(stem_of(name))
    )
    reduced = _plain(curve, found) | {
        "run": label.run, "build": label.build, "specimen": specimen, "direction": direction,
        "direction_from": origin, "section_from": section_from, "kind": "curve", "name": curve.name,
    }  # fmt: skip
    other, _ = _answered(said, direction, curve.name)
    warnings = [
        *curve.warnings,
        *_unused(curve.name, section, other),
        *_at_odds(curve),
        *(f"{curve.name}: {flag}" for flag in found.flags),
    ]
    if not direction:
        warnings.append(
            f"{curve.name}: direction not known; put xy, across or z into the file's name for a strength"
        )
    return CurveYield(
        _observations(label, specimen, direction, found, section),
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
    label: Labels, specimen: str, direction: str, found: TensileResult, section: float
) -> tuple[Observation, ...]:
    if not direction:
        key = ResponseKey("max_force_n", METHOD)
        return (Observation(label.run, label.build, specimen, key, found.max_force_n),)
    key = ResponseKey(RESPONSES[direction], METHOD, conditions=(("section_mm2", f"{section:g}"),))
    return (Observation(label.run, label.build, specimen, key, found.strength_mpa),)


def summary_yield(name: str, summary: Summary, joined: Sequence[CurveYield], said: Answers) -> SummaryYield:
    """
    Return what a summary says beside its curves: trials without one, and whether the two agree.

    Parameters
    ----------
    name : str
        Name of the summary.
    summary : Summary
        Its sessions.
    joined : sequence of CurveYield
        Curves of its folder.
    said : Answers
        What a person answered.

    Returns
    -------
    found : SummaryYield
        A question where a session states no section and none is answered.
    """
    label = labels(name)
    observations: list[Observation] = []
    reduced: list[Mapping[str, object]] = []
    questions: list[QuestionError] = []
    warnings = list(summary.warnings)
    for direction, session in summary.last.items():
        section, origin = session.section_mm2, f"stated, line {session.line}"
        if section is None:
            section, origin = _answered(said, direction, "")
        if section is None:
            questions.append(
                QuestionError(
                    f"{name}:{session.line}",
                    f"the last session of {direction} states no cross-section",
                    f"--section {direction}=MM2",
                    "Say the section in mm².",
                )
            )
            continue
        curves = {
            item.trial: item.max_force_n for item in joined if item.direction == direction and item.trial
        }
        report = _compare(session, curves, section)
        reduced.append(
            {
                "direction": direction,
                "section_from": origin,
                **report,
                "earlier": _earlier(summary, direction),
            }
        )
        warnings += [f"{name}:{session.line}: {word}" for word in report["disagreements"]]  # type: ignore[attr-defined]
        observations += [
            _printed(label, direction, trial, force / section, section)
            for trial, force in session.trials.items()
            if trial not in curves
        ]
    return SummaryYield(tuple(observations), tuple(reduced), tuple(questions), tuple(warnings))


def _printed(label: Labels, direction: str, trial: int, strength: float, section: float) -> Observation:
    key = ResponseKey(RESPONSES[direction], METHOD, conditions=(("section_mm2", f"{section:g}"),))
    extra = {"source": "maximum force as printed; no curve was read"}
    return Observation(label.run, label.build, f"{direction}_trial_{trial}", key, strength, extra=extra)


def _earlier(summary: Summary, direction: str) -> list[dict[str, object]]:
    return [
        {
            "line": item.line,
            "section_mm2": item.section_mm2,
            "trials": len(item.trials),
            "strength_mpa": item.strength_mpa,
        }
        for item in summary.earlier
        if item.direction == direction
    ]


def _compare(session: Session, curves: Mapping[int, float], section: float) -> dict[str, object]:
    """Return forces of curves beside those printed, and where they differ by more than the print allows."""
    words = []
    for trial, printed in session.trials.items():
        if trial in curves and not abs(curves[trial] - printed) <= FORCE_TOLERANCE_N:
            words.append(f"trial {trial}: {printed:.2f} N printed, {curves[trial]:.2f} N in the curve")
    words += [
        f"trial {trial}: a curve and no printed force" for trial in curves if trial not in session.trials
    ]
    forces = {**session.trials, **curves}
    mean = float(np.mean(list(forces.values())))
    half = 0.5000001 * 10.0**-session.decimals
    if session.strength_mpa is not None and not abs(mean / section - session.strength_mpa) <= half:
        words.append(
            f"strength {session.strength_mpa:g} MPa printed, {mean / section:.4f} MPa from the trials"
        )
    return {
        "kind": "summary",
        "section_mm2": section,
        "line": session.line,
        "trials": {str(trial): force for trial, force in sorted(forces.items())},
        "printed": {str(trial): force for trial, force in sorted(session.trials.items())},
        "curves": len(curves),
        "mean_force_n": mean,
        "printed_mean_force_n": session.mean_force_n,
        "strength_mpa": mean / section,
        "printed_strength_mpa": session.strength_mpa,
        "disagreements": words,
        "stated": dict(session.stated),
    }
