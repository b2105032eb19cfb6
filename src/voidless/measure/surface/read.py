"""A table of positions and heights to roughness."""

from __future__ import annotations

import dataclasses

import numpy as np

from voidless.measure.files.columns import Column, Layout, Table, read_table
from voidless.measure.files.labels import Labels, labels
from voidless.measure.picture import curve_of, picture_of
from voidless.measure.results import Answers, Reading
from voidless.measure.surface.profile import gaussian_mean_line, roughness

__all__ = ["LAYOUT", "read_profile"]

LAYOUT = Layout(
    (Column("position", "mm", True), Column("height", "um", True)), frozenset({"x", "y", "force"})
)


def read_profile(name: str, data: bytes, answers: Answers) -> Reading:
    """
    Return the roughness of a profile; no response carries it, so it stays in `reduced`.

    Parameters
    ----------
    name : str
        Name of the file; run, build and specimen are taken from it where no column says them.
    data : bytes
        Its content.
    answers : Answers
        Fact `cutoff_mm`; without it the cutoff follows the roughness.

    Returns
    -------
    reading : Reading
        Ra, Rq, Rz, Rt and slope.

    Raises
    ------
    InputError
        The profile is too short or uneven.
    """
    table, cutoff = read_table(name, data, LAYOUT, answers), answers.facts.get("cutoff_mm")
    return Reading.joined([_profile(part, label, cutoff) for label, part in table.by_specimen(labels(name))])


def _profile(table: Table, label: Labels, cutoff: float | None) -> Reading:
    x, z = np.array(table.numbers("position")), np.array(table.numbers("height"))
    found = roughness(x, z, cutoff)
    level = z - np.polynomial.Polynomial.fit(x, z, 1)(x)
    mean = gaussian_mean_line(level, float(np.ptp(x)) / (x.size - 1), found.cutoff_mm)
    picture = picture_of(
        "Profile and its mean line",
        ("position [mm]", "height [µm]"),
        [
            curve_of("profile", x, level),
            curve_of(f"waviness, cutoff {found.cutoff_mm:g} mm", x, mean, dashed=True),
        ],
        says=f"Profile with waviness: Ra {found.ra_um:.3g} µm.",
    )
    reduced = {
        "kind": "roughness", "run": label.run, "build": label.build, "specimen": label.specimen,
        **dataclasses.asdict(found), "picture": picture,
    }  # fmt: skip
    return Reading((), (reduced,), (*table.warnings, *(f"{table.where}: {flag}" for flag in found.flags)))
