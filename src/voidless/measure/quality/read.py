"""A table of repeated readings by group to repeatability and reproducibility."""

from __future__ import annotations

import dataclasses

from voidless.errors import InputError
from voidless.measure.files.columns import Column, Layout, Table, read_table
from voidless.measure.picture import picture_of, points_of, rule_of
from voidless.measure.quality.gauge import gauge_share
from voidless.measure.quality.outlier import grubbs
from voidless.measure.quality.repeat import precision_of
from voidless.measure.results import Answers, Reading

__all__ = ["LAYOUT", "read_precision"]

LAYOUT = Layout(
    (Column("group", "", True), Column("reading", "1", True), Column("part", ""), Column("note", "")),
    frozenset({"setting"}),
)


def read_precision(name: str, data: bytes, answers: Answers) -> Reading:
    """
    Return the precision of a method from readings by day, operator or rig; with parts, the gauge's share.

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
        Groups are not equally large, or not every group read every part equally often.
    """
    table = read_table(name, data, LAYOUT, answers)
    if any(row.get("part") for row in table.rows):
        return _gauge(table)
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


def _gauge(table: Table) -> Reading:
    """Return what of the variance of readings is the gauge's: each group (an operator, a rig) read each part."""
    cells: dict[str, dict[str, list[float]]] = {}
    for row, line, reading in zip(table.rows, table.lines, table.numbers("reading"), strict=True):
        if not row.get("part"):
            raise InputError(f"{table.where}:{line}", "no part", "the part that was read", "Fill the cell.")
        cells.setdefault(str(row["part"]), {}).setdefault(str(row["group"]), []).append(reading)
    groups = list(dict.fromkeys(str(row["group"]) for row in table.rows))
    found = gauge_share([[cells[part].get(group, []) for group in groups] for part in cells])
    listed = [(f"{part}, {group}", values) for part, by in cells.items() for group, values in by.items()]
    picture = picture_of(
        "Readings of each part by group",
        ("reading, part after part [1]", "reading"),
        [],
        says=f"{found.gauge_pct:.3g} % of the variance is the gauge's; it tells {found.distinct} classes apart.",
        points=[
            points_of(
                "readings",
                [value for _, values in listed for value in values],
                0.0,
                [label for label, values in listed for _ in values],
            )
        ],
    )
    return Reading((), ({"kind": "gauge", **dataclasses.asdict(found), "picture": picture},), table.warnings)
