"""A table of weighings to densities, void shares and masses; all of it or nothing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from voidless.campaign.types import Observation, ResponseKey
from voidless.errors import InputError, QuestionError
from voidless.measure.files.rows import Rows, has_decimal_comma, read_rows
from voidless.measure.results import Answers
from voidless.measure.tables.cells import Row
from voidless.measure.weighing.columns import COLUMNS, MASSES, NOTES, is_weighings, near_column
from voidless.measure.weighing.density import Density, Weighing, immersion_density, void_share

__all__ = ["Weighings", "read_weighings"]

EXPECTED = "columns run, build, specimen, mass_air_g, mass_water_g, water_c, or mass_g alone"
RESOLUTION = 12**-0.5
"""Standard uncertainty of a rounded reading as a share of its last digit: uniform within half a digit. [1]"""
FINEST = {"g": 1e-5, "c": 1e-2}
"""Finest last digit that is believed: more digits come from arithmetic in a spreadsheet. [g], [°C]"""
MAX_FAULTS = 20
METHOD = "immersion"


@dataclass(frozen=True)
class Weighings:
    """
    What a table of weighings says.

    Attributes
    ----------
    observations : tuple of Observation
        `density_g_cm3` and `void_pct` by the method `immersion`, and `mass_g`.
    reduced : tuple of mapping
        Numbers of each row, plain.
    questions : tuple of QuestionError
        What only a person can answer.
    warnings : tuple of str
        What a person should know.
    """

    observations: tuple[Observation, ...]
    reduced: tuple[Mapping[str, object], ...]
    questions: tuple[QuestionError, ...] = ()
    warnings: tuple[str, ...] = ()


def read_weighings(name: str, data: bytes, answers: Answers | None = None) -> Weighings:
    """
    Return densities, void shares and masses of a table of weighings.

    Parameters
    ----------
    name : str
        Name of the file.
    data : bytes
        Text with any common delimiter and decimal mark, or xlsx.
    answers : Answers or None
        May hold the reference density; a column of the table comes first.

    Returns
    -------
    weighings : Weighings
        Void shares only where a reference density is given.

    Raises
    ------
    InputError
        A column is missing or any cell is wrong: nothing is taken, up to 20 faults are listed.
    """
    rows = read_rows(name, data, is_weighings, EXPECTED)
    warnings = [*rows.warnings, *_check_columns(rows)]
    said = answers or Answers()
    measured = [column for column in rows.header if column.endswith(("_g", "_c", "_hpa", "_pct", "_cm3"))]
    comma = has_decimal_comma(cell for column in measured for cell in rows.column(column))
    steps = _steps(rows)
    found: list[Observation] = []
    reduced: list[Mapping[str, object]] = []
    faults: list[str] = []
    for line, cells in rows.rows:
        row = Row({key: cell.strip() for key, cell in zip(rows.header, cells, strict=True)}, comma)
        try:
            numbers, observations = _reduce(row, said, steps, f"{rows.where}:{line}")
        except InputError as fault:
            row.faults.append(fault.what + (f"; expected {fault.expected}" if fault.expected else ""))
        else:
            found += observations
            reduced.append(numbers)
        faults += [f"line {line}: {fault}" for fault in row.faults]
    if faults:
        more = f"\n  and {len(faults) - MAX_FAULTS} more" if len(faults) > MAX_FAULTS else ""
        listed = "\n  ".join(faults[:MAX_FAULTS])
        raise InputError(
            rows.where,
            f"{len(faults)} fault(s):\n  {listed}{more}\n",
            "",
            "Nothing was taken; correct the rows.",
        )
    return Weighings(tuple(found), tuple(reduced), (), (*warnings, *_cautions(rows, reduced)))


def _check_columns(rows: Rows) -> list[str]:
    unknown = [column for column in rows.header if column not in COLUMNS]
    for column in unknown:
        if near := near_column(column):
            raise InputError(rows.where, f"column {column!r} is not known", EXPECTED, f"Did you mean {near}?")
    pair = {"mass_air_g", "mass_water_g"} & set(rows.header)
    missing = {"mass_air_g", "mass_water_g", "water_c"} - set(rows.header) if pair else set()
    missing |= {"run", "build"} - set(rows.header)
    if missing:
        raise InputError(rows.where, f"no column {', '.join(sorted(missing))}", EXPECTED, "Add it.")
    return [
        f"{rows.where}: column {column!r} is not known; its cells are kept as written" for column in unknown
    ]


def _cautions(rows: Rows, reduced: list[Mapping[str, object]]) -> list[str]:
    if not any("density_g_cm3" in numbers for numbers in reduced):
        return []
    words = []
    if any(numbers.get("uncertainty_from") == "resolution" for numbers in reduced):
        words.append(
            f"{rows.where}: no uncertainties stated; only the last digits are counted, a lower limit"
        )
    if not any("void_pct" in numbers for numbers in reduced):
        words.append(
            f"{rows.where}: no reference density, so no void share; weigh filament of the same spool"
        )
    if any(isinstance(share := numbers.get("void_pct"), float) and share < 1.0 for numbers in reduced):
        words.append(
            f"{rows.where}: void shares under 1 % from weighing alone need another test (ASTM D2734)"
        )
    return words


def _steps(rows: Rows) -> dict[str, float]:
    """Return the last digit of each column: its finest cell, for spreadsheets drop zeros at the end."""
    found = {}
    for column in (*MASSES, "water_c"):
        decimals = [len(cell.replace(",", ".").partition(".")[2]) for cell in rows.column(column)]
        found[column] = max(10.0 ** -max(decimals), FINEST[column[-1]])
    # One balance reads both masses.
    pair = min(found["mass_air_g"], found["mass_water_g"])
    return {**found, "mass_air_g": pair, "mass_water_g": pair}


def _reduce(
    row: Row, said: Answers, steps: Mapping[str, float], where: str
) -> tuple[dict[str, object], list[Observation]]:
    run, build = row.label("run", needed=True), row.label("build", needed=True)
    specimen = row.label("specimen", needed=False)
    when = (row.order(), row.text("session"))
    numbers: dict[str, object] = {"run": run, "build": build, "specimen": specimen, "kind": "weighing"}
    extra = {key: value for key, value in row.cells.items() if value and (key in NOTES or key not in COLUMNS)}

    def observe(quantity: str, method: str, value: float, uncertainty: float | None) -> Observation:
        numbers[quantity] = value
        key = ResponseKey(quantity, method)
        return Observation(
            run, build, specimen, key, value, uncertainty, order=when[0], session=when[1], extra=extra
        )

    found = []
    mass = row.real("mass_g")
    if mass is not None:
        found.append(observe("mass_g", "weighed", _positive(mass, "mass_g"), steps["mass_g"] * RESOLUTION))
    weighing = _weighing(row, steps, numbers)
    if weighing is not None and not row.faults:
        density = immersion_density(weighing, where)
        found.append(observe("density_g_cm3", METHOD, density.value_g_cm3, density.uncertainty_g_cm3))
        numbers["density_uncertainty_g_cm3"] = density.uncertainty_g_cm3
        reference = _reference(row, said)
        if reference is not None:
            share, uncertainty = void_share(density, reference, where)
            numbers["void_uncertainty_pct"] = uncertainty
            numbers["reference_density_g_cm3"] = reference.value_g_cm3
            found.append(observe("void_pct", METHOD, share, uncertainty))
    if not found and not row.faults:
        row.faults.append("no mass; expected mass_air_g and mass_water_g, or mass_g")
    return numbers, found


def _positive(value: float, column: str) -> float:
    if not value > 0:
        raise InputError("", f"{column} {value:g}", "a mass above 0 g", "")
    return value


def _weighing(row: Row, steps: Mapping[str, float], numbers: dict[str, object]) -> Weighing | None:
    names = ("mass_air_g", "mass_water_g", "water_c")
    values = [row.real(name) for name in names]
    if all(value is None for value in values):
        return None
    missing = [name for name, value in zip(names, values, strict=True) if value is None]
    if missing:
        row.faults += [f"no {name}" for name in missing if not row.text(name)]
        return None
    stated = [row.real(f"{name[:-2]}_uncertainty_{name[-1]}") for name in names]
    if any(value is not None and not value > 0 for value in stated):
        row.faults.append(
            "an uncertainty that is not above 0; expected a standard uncertainty or an empty cell"
        )
    numbers["uncertainty_from"] = "stated" if None not in stated else "resolution"
    own = [value or steps[name] * RESOLUTION for name, value in zip(names, stated, strict=True)]
    air = {
        key: value
        for key in ("air_c", "pressure_hpa", "humidity_pct")
        if (value := row.real(key)) is not None
    }
    return Weighing(*[value for value in values if value is not None], *own, **air)


def _reference(row: Row, said: Answers) -> Density | None:
    value, uncertainty = row.real("reference_density_g_cm3"), row.real("reference_uncertainty_g_cm3")
    if value is None:
        value, uncertainty = said.reference_density_g_cm3, said.reference_uncertainty_g_cm3
    if value is None:
        return None
    if uncertainty is None or not uncertainty > 0:
        raise InputError(
            "", "a reference density without its uncertainty", "reference_uncertainty_g_cm3 above 0", ""
        )
    return Density(value, uncertainty)
