"""A table of repeated readings by group to repeatability and reproducibility."""

from __future__ import annotations

import dataclasses

from voidless.measure.files.columns import Column, Layout, read_table
from voidless.measure.picture import picture_of, points_of, rule_of
from voidless.measure.quality.outlier import grubbs
from voidless.measure.quality.repeat import precision_of
from voidless.measure.results import Answers, Reading

__all__ = ["LAYOUT", "read_precision"]

LAYOUT = Layout(
    (Column("group", "", True), Column("reading", "1", True), Column("note", "")), frozenset({"setting"})
)


def read_precision(name: str, data: bytes, answers: Answers) -> Reading:
    """
    Return the precision of a method from readings by day, operator or rig.

    Parameters
    ----------
    name : str
        Name of the file.
    data : bytes
        Its content.
    answers : Answers
        Not used: readings keep whatever unit they have.

    Returns
    -------
    reading : Reading
        In `reduced`.

    Raises
    ------
    InputError
        Groups are not equally large.
    """
    table = read_table(name, data, LAYOUT, answers)
    groups = table.groups("group", "reading")
    found = precision_of(groups)
    notes = [f"{table.where}: {flag}" for flag in found.flags]
    for group, values in groups.items():
        if len(values) > 2 and len(set(values)) > 1:
            outlier = grubbs(values)
            if outlier.stands_apart:
                notes.append(
                    f"{table.where}: {group}: {values[outlier.place]:g} stands apart (Grubbs); it is kept"
                )
    listed = [(group, value) for group, values in groups.items() for value in values]
    picture = picture_of(
        "Readings by group",
        ("reading, group after group [1]", "reading"),
        [],
        rules=[rule_of("mean", found.mean, "y")],
        says=f"Mean {found.mean:.4g}; within a group ± {found.s_r:.2g}, between groups too ± {found.s_R:.2g}.",
        points=[points_of("readings", [value for _, value in listed], 0.0, [group for group, _ in listed])],
    )
    reduced = {"kind": "precision", **dataclasses.asdict(found), "picture": picture}
    return Reading((), (reduced,), (*table.warnings, *notes))
