"""Tables of readings that qualify a machine."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping

import numpy as np

from voidless.errors import InputError, QuestionError
from voidless.measure.files.columns import Column, Layout, Table, read_table
from voidless.measure.files.facts import FACTS
from voidless.measure.files.labels import labels
from voidless.measure.picture import curve_of, mark_of, picture_of, points_of, rule_of
from voidless.measure.qualification.fan import fan_curve
from voidless.measure.qualification.feed import filament_area, true_feed
from voidless.measure.qualification.gap import first_layer_gap
from voidless.measure.qualification.lag import lag_from_widths
from voidless.measure.qualification.realised import realised_line
from voidless.measure.results import Answers, Reading
from voidless.measure.size.flow import true_flow

__all__ = [
    "FAN",
    "FEED",
    "FILAMENT",
    "GAP",
    "LAG",
    "REALISED",
    "read_fan",
    "read_feed",
    "read_filament",
    "read_gap",
    "read_lag",
    "read_realised",
]

REALISED = Layout((Column("setting", "", True), Column("commanded", "1", True), Column("reading", "1", True)))
FEED = Layout(
    (Column("rate", "mm3/s"), Column("volume", "mm3", True), Column("mass", "g", True)),
    frozenset({"time", "pressure", "energy"}),
)
FILAMENT = Layout(
    (Column("place", "", True), Column("diameter", "mm", True)),
    frozenset({"bubbles", "time", "mass", "feature"}),
)
FAN = Layout((Column("duty", "%", True), Column("air", "1", True)))
GAP = Layout(
    (Column("x", "mm", True), Column("y", "mm", True), Column("thickness", "mm", True)),
    frozenset({"height", "energy"}),
)
LAG = Layout(
    (Column("distance", "mm", True), Column("width", "mm", True)), frozenset({"thickness", "energy"})
)

FEWEST_PLACES = 3
FAR_K, FAR = 100.0, 20.0
"""How far a reading may be from its command before a unit must have slipped. [K], [1] Our choices."""


def _fact(answers: Answers, name: str, table: Table) -> float:
    if name not in answers.facts:
        what = f"no {name} ({FACTS[name].words})"
        raise QuestionError(table.where, what, f"--fact {name}=NUMBER", "Say it.")
    return answers.facts[name]


def _reading(table: Table, reduced: Mapping[str, object], flags: tuple[str, ...] = ()) -> Reading:
    return Reading((), (reduced,), (*table.warnings, *(f"{table.where}: {flag}" for flag in flags)))


def read_realised(name: str, data: bytes, answers: Answers) -> Reading:
    """
    Return what commands of each setting really gave.

    Parameters
    ----------
    name : str
        Name of the file.
    data : bytes
        Columns setting, commanded, reading.
    answers : Answers
        Fact `reading_uncertainty`.

    Returns
    -------
    reading : Reading
        A line a setting; log it for builds with `log DIR realised`.

    Raises
    ------
    QuestionError
        The uncertainty of the reference instrument is not said.
    """
    table = read_table(name, data, REALISED, answers)
    unsure = _fact(answers, "reading_uncertainty", table)
    pairs: dict[str, list[tuple[float, float]]] = {}
    for row, commanded, read in zip(
        table.rows, table.numbers("commanded"), table.numbers("reading"), strict=True
    ):
        _check_realised(str(row["setting"]), commanded, read)
        pairs.setdefault(str(row["setting"]), []).append((commanded, read))
    reduced, notes = [], []
    for setting, found in pairs.items():
        x, y = zip(*found, strict=True)
        line = realised_line(setting, x, y, unsure)
        ends = [line.low, line.high]
        picture = picture_of(
            f"{setting}: commanded and read",
            ("commanded", "read"),
            [
                curve_of("as commanded", ends, ends, dashed=True),
                curve_of("fit", ends, [line.at(e)[0] for e in ends]),
            ],
            [mark_of("reading", a, b) for a, b in found[:50]],
            says=f"Readings of {setting} over commands.",
        )
        reduced.append({"kind": "realised", **dataclasses.asdict(line), "picture": picture})
        notes += [f"{table.where}: {setting}: {flag}" for flag in line.flags]
    return Reading((), tuple(reduced), (*table.warnings, *notes))


def _check_realised(setting: str, commanded: float, read: float) -> None:
    """Pass a reading that can belong to a command: a temperature within 100 K, others within a factor of 20."""
    warm = setting.endswith("_c")
    far = (
        abs(read - commanded) > FAR_K
        if warm
        else commanded > 0 < read and not 1 / FAR <= read / commanded <= FAR
    )
    if far:
        expected = f"within {FAR_K:g} K of it" if warm else f"within a factor of {FAR:g}"
        raise InputError(
            setting,
            f"{read:g} read where {commanded:g} was commanded",
            expected,
            "Check the unit of the readings.",
        )


def read_feed(name: str, data: bytes, answers: Answers) -> Reading:
    """
    Return the true flow over the volumetric rate, or without rates that of parts by mass and toolpath volume.

    Parameters
    ----------
    name : str
        Name of the file.
    data : bytes
        Columns rate, volume, mass; or run, build, volume, mass: one row a part, with its purge and strings.
    answers : Answers
        Facts `density_g_cm3`, `density_uncertainty_g_cm3`, `mass_uncertainty_g`.

    Returns
    -------
    reading : Reading
        In `reduced`.

    Raises
    ------
    QuestionError
        A fact is missing.
    """
    table = read_table(name, data, FEED, answers)
    if "rate" not in table.units:
        return _flows(table, name, answers)
    found = true_feed(
        table.numbers("rate"),
        table.numbers("volume"),
        table.numbers("mass"),
        answers.facts.get("mass_uncertainty_g", table.resolution("mass")),
        _fact(answers, "density_g_cm3", table),
        answers.facts.get("density_uncertainty_g_cm3", 0.0),
    )
    picture = picture_of(
        "True flow",
        ("rate [mm³/s]", "flow [%]"),
        [curve_of("weighed", found.rate_mm3_s, found.flow_pct)],
        says="True flow over the commanded rate.",
    )
    reduced = {"kind": "feed", **dataclasses.asdict(found), "picture": picture}
    return _reading(table, reduced, _unsaid(answers))


def _unsaid(answers: Answers) -> tuple[str, ...]:
    """Return which doubts of a true flow nobody stated."""
    found = []
    if "mass_uncertainty_g" not in answers.facts:
        found.append("no uncertainty of a weighing stated; the last digit alone counts, a lower limit")
    if "density_uncertainty_g_cm3" not in answers.facts:
        found.append("no uncertainty of the density stated; it is not in that of the flow")
    return tuple(found)


def _flows(table: Table, name: str, answers: Answers) -> Reading:
    """Return the true flow of each part, by its mass against the volume that its toolpath was to feed."""
    own, reduced = labels(name), []
    density = _fact(answers, "density_g_cm3", table)
    for row, volume, mass in zip(table.rows, table.numbers("volume"), table.numbers("mass"), strict=True):
        flow, spread = true_flow(
            mass,
            answers.facts.get("mass_uncertainty_g", table.resolution("mass")),
            volume,
            density,
            answers.facts.get("density_uncertainty_g_cm3", 0.0),
        )
        of = {key: str(row.get(key) or getattr(own, key)) for key in ("run", "build", "specimen")}
        picture = picture_of(
            "Mass against the toolpath's volume",
            ("part [1]", "flow [%]"),
            [],
            rules=[rule_of("as commanded", 100.0, "y")],
            says=f"{mass:g} g over {volume:g} mm³: {flow:.4g} ± {spread:.2g} % of what the toolpath says.",
            points=[points_of("weighed", [flow], spread)],
        )
        reduced.append(
            {"kind": "true_flow", **of, "flow_pct": flow, "uncertainty_pct": spread, "picture": picture}
        )
    notes = (f"{table.where}: {word}" for word in _unsaid(answers))
    return Reading((), tuple(reduced), (*table.warnings, *notes))


def read_filament(name: str, data: bytes, answers: Answers) -> Reading:
    """
    Return the true section of a filament.

    Parameters
    ----------
    name : str
        Name of the file.
    data : bytes
        Columns place, diameter; as many rows a place as readings around the filament there, two or more, crosswise.
    answers : Answers
        Fact `size_uncertainty_mm`.

    Returns
    -------
    reading : Reading
        In `reduced`.

    Raises
    ------
    InputError
        Places have unequal numbers of readings, or one is not above 0.
    """
    table = read_table(name, data, FILAMENT, answers)
    places = table.groups("place", "diameter")
    unsure = answers.facts.get("size_uncertainty_mm", table.resolution("diameter"))
    area, spread = filament_area(list(places.values()), unsure)
    flags = []
    if len(places) < FEWEST_PLACES:
        flags.append(f"{len(places)} place(s): how the section changes along the spool is not known")
    if min(len(read) for read in places.values()) == 1:
        flags.append("one reading a place: an oval filament is taken for a round one")
    picture = picture_of(
        "Filament diameter",
        ("place", "diameter [mm]"),
        [curve_of("mean", range(1, len(places) + 1), [float(np.mean(read)) for read in places.values()])],
        [mark_of("reading", k, d) for k, read in enumerate(places.values(), 1) for d in read][:50],
        says="Readings around the filament, place by place.",
    )
    reduced = {
        "kind": "filament", "places": len(places), "area_mm2": area, "area_uncertainty_mm2": spread,
        "diameter_mm": float(np.sqrt(4.0 * area / np.pi)), "flags": flags, "picture": picture,
    }  # fmt: skip
    return _reading(table, reduced, tuple(flags))


def read_fan(name: str, data: bytes, answers: Answers) -> Reading:
    """
    Return the curve of a fan.

    Parameters
    ----------
    name : str
        Name of the file.
    data : bytes
        Columns duty and air.
    answers : Answers
        Fact `air_uncertainty`.

    Returns
    -------
    reading : Reading
        In `reduced`.

    Raises
    ------
    QuestionError
        The uncertainty of the instrument is not said.
    """
    table = read_table(name, data, FAN, answers)
    found = fan_curve(table.numbers("duty"), table.numbers("air"), _fact(answers, "air_uncertainty", table))
    picture = picture_of(
        "Fan",
        ("duty [%]", "share of the air at the highest duty [1]"),
        [curve_of("air", found.duty_pct, found.air_share)],
        says=f"Air over duty; the fan stands still up to {found.stall_pct:g} %.",
    )
    return _reading(table, {"kind": "fan", **dataclasses.asdict(found), "picture": picture}, found.flags)


def read_gap(name: str, data: bytes, answers: Answers) -> Reading:
    """
    Return the first-layer gap.

    Parameters
    ----------
    name : str
        Name of the file.
    data : bytes
        Columns x, y, thickness.
    answers : Answers
        Facts `commanded_mm`, `size_uncertainty_mm`.

    Returns
    -------
    reading : Reading
        In `reduced`.

    Raises
    ------
    QuestionError
        The commanded thickness is not said.
    """
    table = read_table(name, data, GAP, answers)
    found = first_layer_gap(
        table.numbers("x"),
        table.numbers("y"),
        table.numbers("thickness"),
        _fact(answers, "commanded_mm", table),
        answers.facts.get("size_uncertainty_mm", table.resolution("thickness")),
    )
    picture = picture_of(
        "First-layer gap",
        ("place", "measured less commanded [mm]"),
        [curve_of("mean", [1, len(table.rows)], [found.offset_mm] * 2)],
        [
            mark_of("square", k, read - answers.facts["commanded_mm"])
            for k, read in enumerate(table.numbers("thickness"), 1)
        ][:50],
        says=f"Thickness of first-layer squares less the commanded one: {found.offset_mm:.3g} mm.",
    )
    return _reading(table, {"kind": "gap", **dataclasses.asdict(found), "picture": picture}, found.flags)


def read_lag(name: str, data: bytes, answers: Answers) -> Reading:
    """
    Return the pressure lag.

    Parameters
    ----------
    name : str
        Name of the file.
    data : bytes
        Columns distance and width.
    answers : Answers
        Fact `speed_mm_s`.

    Returns
    -------
    reading : Reading
        In `reduced`.

    Raises
    ------
    QuestionError
        The speed after the change is not said.
    """
    table = read_table(name, data, LAG, answers)
    x, y = np.array(table.numbers("distance")), np.array(table.numbers("width"))
    found = lag_from_widths(x, y, _fact(answers, "speed_mm_s", table))
    picture = picture_of(
        "Bead width behind a change of speed",
        ("distance [mm]", "width [mm]"),
        [curve_of("measured", x, y), curve_of("fit", x, found.fitted_mm, dashed=True)],
        says=f"Bead width settling: lag {found.lag_s:.3g} s.",
    )
    plain = {key: value for key, value in dataclasses.asdict(found).items() if key != "fitted_mm"}
    return _reading(table, {"kind": "lag", **plain, "picture": picture}, found.flags)
