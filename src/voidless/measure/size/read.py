"""Tables of calliper readings and of heights to size errors and warp."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.types import Observation, ResponseKey
from voidless.errors import InputError
from voidless.measure.files.columns import Column, Layout, Table, read_table
from voidless.measure.files.labels import Labels, labels
from voidless.measure.picture import curve_of, mark_of, picture_of, points_of, rule_of
from voidless.measure.results import Answers, Reading
from voidless.measure.size.features import scale_and_offset, size_error
from voidless.measure.size.warp import Warp, warp_of

__all__ = ["HEIGHTS", "SIZES", "read_heights", "read_sizes"]

Floats = NDArray[np.float64]

SIZES = Layout(
    (
        Column("feature", "", True),
        Column("nominal", "mm", True),
        Column("measured", "mm", True),
        Column("side", ""),
        Column("note", ""),
    ),
    frozenset({"response", "value"}),
)
HEIGHTS = Layout((Column("x", "mm", True), Column("y", "mm", True), Column("height", "mm", True)))
LAST_DIGIT = "no uncertainty of the instrument stated; the last digit alone counts, a lower limit"


def read_sizes(name: str, data: bytes, answers: Answers) -> Reading:
    """
    Return size errors of a calliper table, repeated readings of a feature averaged.

    Parameters
    ----------
    name : str
        Name of the file.
    data : bytes
        Its content.
    answers : Answers
        Fact `size_uncertainty_mm`; without it the last digit alone counts.

    Returns
    -------
    reading : Reading
        `size_error_mm` by feature, measured minus nominal; where a column says which features are outside and which
        inside, what of the errors of a side grows with size.

    Raises
    ------
    InputError
        A row is wrong, or one feature has two nominals: nothing is taken.
    """
    table = read_table(name, data, SIZES, answers)
    own = labels(name)
    told = answers.facts.get("size_uncertainty_mm")
    unsure = table.resolution("measured") if told is None else told
    groups: dict[tuple[str, str, str, str], list[tuple[float, float]]] = {}
    sides: dict[tuple[str, str, str], list[tuple[float, float, float]]] = {}
    for row, nominal, measured in zip(
        table.rows, table.numbers("nominal"), table.numbers("measured"), strict=True
    ):
        specimen = str(row.get("specimen") or own.specimen)
        key = (
            str(row.get("run") or own.run),
            str(row.get("build") or own.build),
            specimen,
            str(row["feature"]),
        )
        groups.setdefault(key, []).append((nominal, measured))
        if row.get("side"):
            sides.setdefault((*key[:2], str(row["side"])), []).append((nominal, measured - nominal, unsure))
    observations, reduced = [], []
    for (run, build, specimen, feature), pairs in groups.items():
        nominals = {nominal for nominal, _ in pairs}
        if len(nominals) > 1:
            raise InputError(
                table.where, f"feature {feature!r} has nominals {sorted(nominals)}", "one", "Correct it."
            )
        nominal = nominals.pop()
        found = size_error(nominal, [measured for _, measured in pairs], unsure)
        picture = picture_of(
            f"{feature}: readings less nominal",
            ("reading [1]", "measured minus nominal [mm]"),
            [],
            rules=[rule_of("nominal", 0.0, "y"), rule_of("mean", found.value_mm, "y")],
            says=f"{feature}: {found.value_mm:+.3g} ± {found.uncertainty_mm:.2g} mm from {nominal:g} mm.",
            points=[points_of("readings", [measured - nominal for _, measured in pairs], unsure)],
        )
        response = ResponseKey("size_error_mm", "callipers", feature)
        observations.append(Observation(run, build, specimen, response, found.value_mm, found.uncertainty_mm))
        reduced.append(
            {"kind": "size", "run": run, "build": build, "specimen": specimen, "feature": feature,
             "size_error_mm": found.value_mm, "uncertainty_mm": found.uncertainty_mm, "readings": found.readings,
             "picture": picture}
        )  # fmt: skip
    reduced += [
        _trend(*of, errors) for of, errors in sides.items() if len({size for size, _, _ in errors}) > 2
    ]
    note = f"{table.where}: {LAST_DIGIT}"
    return Reading(tuple(observations), tuple(reduced), (*table.warnings, *([note] if told is None else [])))


def _trend(run: str, build: str, side: str, errors: list[tuple[float, float, float]]) -> dict[str, object]:
    """Return what of the errors of one side grows with size (shrinkage) and what is the same for all (bead width)."""
    nominal, error, unsure = zip(*errors, strict=True)
    scale, offset, scale_u, offset_u = scale_and_offset(nominal, error, unsure)
    left = np.array(error) - offset - scale * np.array(nominal)
    wide = max(1.0, float(np.sqrt(left @ left / (len(errors) - 2) / np.mean(np.square(unsure)))))
    ends = np.array([min(nominal), max(nominal)])
    picture = picture_of(
        f"{side}: size errors by size",
        ("nominal [mm]", "measured minus nominal [mm]"),
        [curve_of("line", ends, offset + scale * ends, dashed=True)],
        [mark_of("reading", x, y) for x, y in zip(nominal, error, strict=True)][:40],
        says=f"{side}: {1e3 * scale:+.3g} mm a metre and {offset:+.3g} mm for all.",
    )
    return {
        "kind": "size_trend", "run": run, "build": build, "side": side, "scale_pct": 100.0 * scale,
        "scale_uncertainty_pct": 100.0 * scale_u * wide, "offset_mm": offset, "offset_uncertainty_mm": offset_u * wide,
        "picture": picture,
    }  # fmt: skip


def read_heights(name: str, data: bytes, answers: Answers) -> Reading:
    """
    Return the warp of a face.

    Parameters
    ----------
    name : str
        Name of the file; run, build and specimen are taken from it where no column says them.
    data : bytes
        Its content.
    answers : Answers
        Units, and the fact `size_uncertainty_mm` of the gauge; else the last digit of the heights alone counts.

    Returns
    -------
    reading : Reading
        Of each specimen the bow as `size_error_mm` of the feature `warp`.

    Raises
    ------
    InputError
        Too few places, or all on one line.
    """
    table = read_table(name, data, HEIGHTS, answers)
    unsure = answers.facts.get("size_uncertainty_mm", table.resolution("height"))
    return Reading.joined(
        [_heights(part, label, unsure, answers) for label, part in table.by_specimen(labels(name))]
    )


def _heights(table: Table, label: Labels, unsure: float, answers: Answers) -> Reading:
    x, y, z = (np.array(table.numbers(column)) for column in ("x", "y", "height"))
    found = warp_of(x, y, z, unsure)
    key = ResponseKey("size_error_mm", "heights", "warp")
    picture = _profile(x, y, z, found)
    reduced = {
        "kind": "warp", "run": label.run, "build": label.build, "specimen": label.specimen, "bow_mm": found.bow_mm,
        "bow_uncertainty_mm": found.bow_uncertainty_mm, "flatness_mm": found.flatness_mm, "tilt_mm": found.tilt_mm,
        "direction_deg": found.direction_deg, "bow_across_mm": found.bow_across_mm, "picture": picture,
    }  # fmt: skip
    unsaid = () if "size_uncertainty_mm" in answers.facts else (f"{table.where}: {LAST_DIGIT}",)
    return Reading(
        (Observation(label.run, label.build, label.specimen, key, found.bow_mm, found.bow_uncertainty_mm),),
        (reduced,),
        (*table.warnings, *unsaid),
    )


def _profile(x: Floats, y: Floats, z: Floats, found: Warp) -> dict[str, object]:
    """Return heights as seen across the direction in which a face bows, or over the distance from its middle."""
    if found.direction_deg is None:
        place, name = np.hypot(x - x.mean(), y - y.mean()), "distance from the middle [mm]"
    else:
        turn = np.radians(found.direction_deg)
        place = (x - x.mean()) * np.cos(turn) + (y - y.mean()) * np.sin(turn)
        name = f"place along {found.direction_deg:.0f}° from x to y [mm]"
    order = np.argsort(place, kind="stable")
    return picture_of(
        "Heights of a face",
        (name, "height [mm]"),
        [curve_of("heights", place[order], z[order])],
        says=f"Heights of a face: bow {found.bow_mm:.3g} mm.",
    )
