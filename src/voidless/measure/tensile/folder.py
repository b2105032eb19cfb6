"""What the files of one folder say of its curves: sections, machine give, and a series of lengths."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from voidless.errors import ComputationError, InputError
from voidless.measure.curves.read import Curve
from voidless.measure.files.columns import Table
from voidless.measure.results import Answers
from voidless.measure.tensile.bench import Bench
from voidless.measure.tensile.compliance import Compliance, compliance_table, constant_compliance
from voidless.measure.tensile.lengths import LengthRecord, LengthsFit, fit_lengths
from voidless.measure.tensile.sections import Section, section_of

__all__ = ["Folder", "bench_of", "compliance_of", "length_series", "sections_of"]

FEWEST_LENGTHS = 3


@dataclass(frozen=True)
class Folder:
    """
    What is known of a folder's curves.

    Attributes
    ----------
    bench : Bench
        Uncertainties, lengths and machine give, as a table or a person states them.
    sections : mapping of str to Section
        By specimen, lower case.
    series : mapping of str to LengthsFit
        Modulus and machine give by specimens of several lengths, by direction.
    words : mapping of str to tuple of str
        What a person should know of the series, by direction.
    """

    bench: Bench = field(default_factory=Bench)
    sections: Mapping[str, Section] = field(default_factory=dict)
    series: Mapping[str, LengthsFit] = field(default_factory=dict)
    words: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def with_series(self, curves: Mapping[str, Sequence[tuple[Curve, float]]]) -> Folder:
        """Return the folder with what its own curves tell of the machine, by directions of several lengths."""
        if self.bench.compliance is not None:
            return self
        found = {direction: length_series(each) for direction, each in curves.items()}
        series = {direction: fit for direction, (fit, _) in found.items() if fit is not None}
        words = {direction: fit.flags if fit else said for direction, (fit, said) in found.items()}
        return replace(self, series=series, words=words)

    def bench_for(self, direction: str) -> Bench:
        """Return the bench with the machine's give: as stated, by the direction's own series, or by the only one."""
        own = self.series.get(direction) or (
            next(iter(self.series.values())) if len(self.series) == 1 else None
        )
        if self.bench.compliance is not None or own is None:
            return self.bench
        return replace(self.bench, compliance=own.compliance)


def bench_of(answers: Answers, compliance: Compliance | None = None) -> Bench:
    """
    Return the bench that a person describes.

    Parameters
    ----------
    answers : Answers
        Facts of force cell, section, strain, lengths and machine give.
    compliance : Compliance or None
        A table of the folder; it comes before one number.

    Returns
    -------
    bench : Bench
        None where nothing is said.
    """
    said = answers.facts
    if compliance is None and "compliance_mm_n" in said:
        compliance = constant_compliance(
            said["compliance_mm_n"], said.get("compliance_uncertainty_mm_n"), "answered"
        )
    return Bench(
        said.get("force_uncertainty_pct"),
        said.get("section_uncertainty_pct"),
        said.get("strain_uncertainty_pct"),
        said.get("gauge_length_mm"),
        said.get("span_mm"),
        compliance,
    )


def sections_of(table: Table, answers: Answers) -> dict[str, Section]:
    """
    Return sections by specimen from a table of widths and thicknesses.

    Parameters
    ----------
    table : Table
        One row a reading; several rows of one specimen are averaged.
    answers : Answers
        Fact `size_uncertainty_mm`; else the last digit counts.

    Returns
    -------
    sections : dict of str to Section
        Keys in lower case.
    """
    sides: dict[str, tuple[list[float], list[float]]] = {}
    for row, width, thickness in zip(
        table.rows, table.numbers("width"), table.numbers("thickness"), strict=True
    ):
        pair = sides.setdefault(str(row["specimen"]).lower(), ([], []))
        pair[0].append(width)
        pair[1].append(thickness)
    unsure = answers.facts.get("size_uncertainty_mm", table.resolution("width"))
    return {label: section_of(*pair, unsure, f"measured ({table.where})") for label, pair in sides.items()}


def compliance_of(table: Table) -> Compliance:
    """
    Return the machine's give from a table of forces.

    Parameters
    ----------
    table : Table
        Columns force, give and perhaps give_uncertainty.

    Returns
    -------
    compliance : Compliance
        Without a column of uncertainties a modulus stays apparent.
    """
    unsure = table.numbers("give_uncertainty") if "give_uncertainty" in table.units else []
    return compliance_table(table.numbers("force"), table.numbers("give"), unsure, table.where)


def length_series(curves: Sequence[tuple[Curve, float]]) -> tuple[LengthsFit | None, tuple[str, ...]]:
    """
    Return the modulus and machine give of curves that are a series of lengths.

    Parameters
    ----------
    curves : sequence of (Curve, float)
        Curves of one folder and direction with their sections. [mm²]

    Returns
    -------
    found : (LengthsFit or None, tuple of str)
        None, and why, where fewer than three lengths stand in the headers or the fit fails.
    """
    records = [
        LengthRecord(
            curve.name,
            curve.facts["span_mm"],
            section,
            curve.channels["force_n"],
            curve.channels["travel_mm"],
        )
        for curve, section in curves
        if "span_mm" in curve.facts
        and {"force_n", "travel_mm"} <= curve.channels.keys()
        and not {"extension_mm", "strain"} & curve.channels.keys()
    ]
    if np.unique([round(record.length_mm, 3) for record in records]).size < FEWEST_LENGTHS:
        return None, ()
    try:
        return fit_lengths(records), ()
    except (InputError, ComputationError) as fault:
        return None, (f"the series of lengths gives no machine compliance: {fault.what}",)
