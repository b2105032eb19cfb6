"""A summary beside the curves of its folder: trials without a curve, and whether the two agree."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from voidless.campaign.types import Observation, ResponseKey
from voidless.errors import QuestionError
from voidless.measure.files.labels import Labels, labels
from voidless.measure.picture import picture_of, points_of, rule_of
from voidless.measure.results import Answers
from voidless.measure.tensile.join import METHOD, RESPONSES, CurveYield, answered_section
from voidless.measure.tensile.summary import Session, Summary

__all__ = ["SummaryYield", "summary_yield"]

FORCE_TOLERANCE_N = 0.02
"""Largest difference between a curve's maximum and the printed one that passes without a word. [N]"""


@dataclass(frozen=True)
class SummaryYield:
    """What a summary gave beside its curves."""

    observations: tuple[Observation, ...]
    reduced: tuple[Mapping[str, object], ...]
    questions: tuple[QuestionError, ...]
    warnings: tuple[str, ...]


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
            section, origin = answered_section(said, direction, "")
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
    shown = sorted(forces.items())
    picture = picture_of(
        "Strength by trial",
        ("trial, in their order [1]", "strength [MPa]"),
        [],
        rules=[rule_of("mean", mean / section, "y")],
        says=f"{len(shown)} trials, {len(curves)} of them with a curve; mean {mean / section:.4g} MPa.",
        points=[
            points_of(
                "trials",
                [force / section for _, force in shown],
                0.0,
                [f"trial {trial}" for trial, _ in shown],
            )
        ],
    )
    return {
        "kind": "summary",
        "picture": picture,
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
