"""A bending record of a machine to flexural strength and modulus."""

from __future__ import annotations

import dataclasses

import numpy as np

from voidless.campaign.types import Bound, Observation, ResponseKey
from voidless.errors import QuestionError
from voidless.measure.curves.read import Curve, read_curves
from voidless.measure.files.labels import Labels, labels
from voidless.measure.flexure.reduce import (
    Bar,
    FlexureResult,
    flexural_strain,
    flexural_stress,
    reduce_flexure,
)
from voidless.measure.picture import curve_of, mark_of, picture_of
from voidless.measure.results import Answers, Reading
from voidless.measure.tensile.folder import bench_of
from voidless.measure.tensile.sections import side_doubt
from voidless.measure.tensile.spikes import without_spikes

__all__ = ["read_flexure"]

UNSAID = (
    "no uncertainty of width and thickness stated (--fact size_uncertainty_mm=); the last digit of a header's sizes "
    "alone counts, a lower limit"
)


def read_flexure(name: str, data: bytes, answers: Answers) -> Reading:
    """
    Return flexural strength and modulus of the bending curves of a file.

    Parameters
    ----------
    name : str
        Name of the file; run, build and specimen are taken from it.
    data : bytes
        Its content.
    answers : Answers
        Units, and facts `span_mm`, `width_mm`, `thickness_mm`, `size_uncertainty_mm` where the header is silent.

    Returns
    -------
    reading : Reading
        `flexural_strength_mpa` and, where the curve has a straight part, `flexural_modulus_gpa` of each curve
        (not where deflection is crosshead travel: that modulus is apparent).

    Raises
    ------
    QuestionError
        A unit or a size is not known, or the file has no deflection.
    """
    label, observations, reduced, notes = labels(name), [], [], []
    for curve in map(without_spikes, read_curves(data, name, answers.units)):
        bar = _bar(curve, name, answers)
        travel = curve.channels.get("extension_mm", curve.channels.get("travel_mm"))
        if travel is None:
            raise QuestionError(name, "no deflection", "a column of travel in the file", "Export it as well.")
        force, measured = curve.channels["force_n"], "extension_mm" in curve.channels
        bench = dataclasses.replace(
            bench_of(answers), section_uncertainty_pct=None
        )  # sizes count by themselves
        if not measured and bench.compliance is not None:
            travel = travel - bench.compliance.at(force)
            measured = bool(bench.compliance.uncertainty_mm)
        found = reduce_flexure(force, travel, bar, bench)
        strain, stress = 100.0 * flexural_strain(travel - travel[0], bar), flexural_stress(force, bar)
        top = int(np.argmax(stress))
        picture = picture_of(
            f"{curve.name}, bending",
            ("strain of the outer face [%]", "stress [MPa]"),
            [curve_of("stress", strain, stress)],
            [mark_of("strength", float(strain[top]), float(stress[top]))],
            says=f"Bending curve: strength {found.strength_mpa:.3g} MPa.",
        )
        reduced.append(
            {"kind": "flexure", "name": curve.name, "run": label.run, "build": label.build, "specimen": label.specimen,
             **dataclasses.asdict(found), **dataclasses.asdict(bar), "picture": picture}
        )  # fmt: skip
        if "size_uncertainty_mm" not in answers.facts:
            notes.append(f"{curve.name}: {UNSAID}")
        open_end = found.still_rising and not answers.facts.get("stops_at_break")
        observations += _observations(label, found, measured, open_end)
        if open_end:
            notes.append(
                f"{curve.name}: the force still rises where the record ends: a lower limit of the strength "
                "(--fact stops_at_break=1 where the machine stops at the break)"
            )
        if not measured:
            notes.append(
                f"{curve.name}: modulus apparent, by crosshead travel; no result is stored for it "
                f"(a channel named deflectometer, or the give of the machine, makes it one)"
            )
        notes += [*curve.warnings, *(f"{curve.name}: {flag}" for flag in found.flags)]
    return Reading(tuple(observations), tuple(reduced), tuple(dict.fromkeys(notes)))


def _observations(label: Labels, found: FlexureResult, measured: bool, open_end: bool) -> list[Observation]:
    """Return what a curve gives; a modulus by crosshead travel holds the machine's own give and is none."""
    values = [
        ("flexural_strength_mpa", "iso178", found.strength_mpa, found.strength_uncertainty_mpa),
        ("flexural_modulus_gpa", "iso178_regression", found.regression_gpa, found.modulus_uncertainty_gpa),
    ]
    return [
        Observation(
            label.run,
            label.build,
            label.specimen,
            ResponseKey(name, method, label.direction),
            value,
            uncertainty=uncertainty,
            bound=Bound.LOWER if open_end and name == "flexural_strength_mpa" else Bound.EXACT,
        )
        for name, method, value, uncertainty in (values if measured else values[:1])
        if value is not None
    ]


def _bar(curve: Curve, name: str, answers: Answers) -> Bar:
    sizes = {
        key: curve.facts.get(key, answers.facts.get(key)) for key in ("span_mm", "width_mm", "thickness_mm")
    }
    missing = [key for key, value in sizes.items() if value is None]
    if missing:
        options = " ".join(f"--fact {key}=MM" for key in missing)
        raise QuestionError(name, f"{curve.name}: no {', '.join(missing)}", options, "Say the sizes in mm.")
    span, width, thickness = (float(value) for value in sizes.values() if value is not None)
    unsure = [side_doubt(curve, side, answers.facts) for side in ("width_mm", "thickness_mm")]
    return Bar(span, width, thickness, *unsure)
