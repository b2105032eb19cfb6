"""A table of blows to impact strengths."""

from __future__ import annotations

from collections.abc import Sequence

from voidless.campaign.types import Bound, Observation, ResponseKey
from voidless.errors import InputError, QuestionError
from voidless.measure.files.columns import Column, Layout, read_table
from voidless.measure.impact.reduce import METHODS, Blow, BreakType, impact_strength
from voidless.measure.picture import mark_of, picture_of, points_of
from voidless.measure.results import Answers, Reading

__all__ = ["LAYOUT", "read_impact"]

LAYOUT = Layout(
    (
        Column("energy", "J", True),
        Column("width", "mm", True),
        Column("thickness", "mm", True),
        Column("method", ""),
        Column("break_type", ""),
        Column("loss", "J"),
        Column("pendulum", "J"),
        Column("energy_uncertainty", "J"),
        Column("notch_made", ""),
        Column("note", ""),
    ),
    frozenset({"response", "value"}),
)


def read_impact(name: str, data: bytes, answers: Answers) -> Reading:
    """
    Return impact strengths of a table of blows; width is what is left under a notch.

    Parameters
    ----------
    name : str
        Name of the file.
    data : bytes
        Its content.
    answers : Answers
        Facts `loss_j`, `pendulum_j`, `energy_uncertainty_j`, `size_uncertainty_mm`, and the method; columns come first.
        Where neither states an uncertainty, the last digits of energy and sizes alone count, and that is said.

    Returns
    -------
    reading : Reading
        `charpy_kj_m2`, `izod_kj_m2` (ISO 180) or `izod_j_m` (ASTM D256), one a blow.

    Raises
    ------
    QuestionError
        Neither a column nor a person says the method.
    InputError
        A row is wrong: nothing is taken.
    """
    table = read_table(name, data, LAYOUT, answers)
    rows = [{**row, "method": row.get("method") or answers.method} for row in table.rows]
    if not all(row["method"] for row in rows):
        raise QuestionError(
            table.where,
            "rows without a method",
            "--method NAME (" + ", ".join(METHODS) + ")",
            "Say how each bar was struck.",
        )
    observations: list[Observation] = []
    reduced: list[dict[str, object]] = []
    digits = (
        table.resolution("energy"),
        answers.facts.get(
            "size_uncertainty_mm", max(table.resolution("width"), table.resolution("thickness"))
        ),
    )
    for row, line in zip(rows, table.lines, strict=True):
        where = f"{table.where}:{line}"
        blow = _blow(row, answers, where, digits)
        try:
            found = impact_strength(blow)
        except InputError as fault:
            raise InputError(where, fault.what, fault.expected, fault.remedy) from fault
        method = METHODS[blow.method.lower()]
        label = {key: str(row.get(key) or "") for key in ("run", "build", "specimen")}
        notch = str(row.get("notch_made") or "")
        reduced.append(
            {**label, "kind": "impact", "method": method.name, "value": found.value, "uncertainty": found.uncertainty,
             "unit": found.unit, "energy_j": found.energy_j, "break_type": blow.break_type.value, "notch_made": notch,
             "flags": found.flags}
        )  # fmt: skip
        stated = {"break_type": blow.break_type.value, "notch_made": notch}
        key = ResponseKey(
            method.response, method.name, conditions=tuple((k, v) for k, v in stated.items() if v)
        )
        bound = Bound.EXACT if found.counts else Bound.LOWER
        run, build, specimen = label.values()
        observations.append(Observation(run, build, specimen, key, found.value, found.uncertainty, bound))
    kinds = {str(item["break_type"]) for item in reduced}
    notes = (
        [f"{table.where}: break types {', '.join(sorted(kinds))} are not averaged together"]
        if len(kinds) > 1
        else []
    )
    if "energy_uncertainty_j" not in answers.facts and any(
        row.get("energy_uncertainty") is None for row in rows
    ):
        notes.append(
            f"{table.where}: no uncertainty of the energy stated; the last digit alone counts, a lower limit"
        )
    notches = {str(item["notch_made"]) for item in reduced} - {""}
    if len(notches) > 1:
        notes.append(f"{table.where}: notches {', '.join(sorted(notches))} are not compared with each other")
    flags = dict.fromkeys(f"{table.where}: {flag}" for item in reduced for flag in _texts(item["flags"]))
    return Reading(tuple(observations), tuple(_with_pictures(reduced)), (*table.warnings, *notes, *flags))


def _with_pictures(blows: Sequence[dict[str, object]]) -> list[dict[str, object]]:
    """Return the blows, each with a picture of it among those of its method in the table."""
    of: dict[str, list[dict[str, object]]] = {}
    for each in blows:
        of.setdefault(str(each["method"]), []).append(each)
    found = []
    for method, same in of.items():
        values, spreads = ([_real(each[key]) for each in same] for key in ("value", "uncertainty"))
        labels = [f"{each['specimen']} ({each['break_type']})" for each in same]
        points = points_of("blows", values, spreads, labels)
        for place, (each, value) in enumerate(zip(same, values, strict=True), 1):
            taken = f"{_real(each['energy_j']):.4g} J taken: {value:.4g} {each['unit']}"
            picture = picture_of(
                f"Blows by {method}",
                ("blow [1]", f"impact strength [{each['unit']}]"),
                [],
                [mark_of("this blow", place, value)],
                says=f"{taken}, break type {each['break_type']}.",
                points=[points],
            )
            found.append({**each, "picture": picture})
    return found


def _real(value: object) -> float:
    assert isinstance(value, float)
    return value


def _texts(given: object) -> tuple[str, ...]:
    return tuple(given) if isinstance(given, tuple) else ()


def _blow(
    row: dict[str, float | str | None], answers: Answers, where: str, digits: tuple[float, float]
) -> Blow:
    def value(column: str, fact: str = "") -> float | None:
        found = row.get(column)
        return found if isinstance(found, float) else answers.facts.get(fact)

    unsure = value("energy_uncertainty", "energy_uncertainty_j")
    letter = str(row.get("break_type") or "C").upper()
    kinds = {kind.value: kind for kind in BreakType}
    if letter not in kinds:
        raise InputError(where, f"break_type {letter!r}", "C, H, P or N", "Correct it.")
    return Blow(
        value("energy") or 0.0,
        value("thickness") or 0.0,
        value("width") or 0.0,
        str(row["method"]),
        kinds[letter],
        value("loss", "loss_j") or 0.0,
        value("pendulum", "pendulum_j"),
        digits[0] if unsure is None else unsure,
        digits[1],
    )
