"""Rows of a table of weighings as pieces: what each is, its readings, its kin."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from voidless.errors import InputError
from voidless.measure.files.rows import Rows
from voidless.measure.results import Answers
from voidless.measure.tables.cells import Row
from voidless.measure.weighing.columns import COLUMNS, KINSHIP, MASSES, NOTES
from voidless.measure.weighing.density import Density, Weighing

__all__ = ["RESOLUTION", "Piece", "last_digits", "read_piece"]

RESOLUTION = 12**-0.5
"""Standard uncertainty of a rounded reading as a share of its last digit: uniform within half a digit. [1]"""
FINEST = {"g": 1e-5, "c": 1e-2}
"""Finest last digit that is believed: more digits come from arithmetic in a spreadsheet. [g], [°C]"""
REFERENCE, PRINTED = "reference", "piece"
_READINGS = ("mass_air_g", "mass_water_g", "water_c")
_ROOM = ("air_c", "pressure_hpa", "humidity_pct", "bubbles_mm3", "wire_mm")


@dataclass(frozen=True)
class Piece:
    """
    One row: a printed piece, or a void-free piece of reference.

    Attributes
    ----------
    where : str
        File and line.
    run, build, specimen : str
        Labels; a reference needs none.
    reference : bool
        Whether it is void-free material.
    spool, bath, history : str
        Its kin: spool, water it was weighed in, thermal history; empty where not said.
    mass_g : float or None
        Mass alone. [g]
    mass_step_g : float
        Its last digit. [g]
    weighing : Weighing or None
        In air and in water.
    gain_g : float or None
        What it weighs more after the bath, wiped dry: water in open pores, and dissolved. [g]
    stated : Density or None
        Reference density that the row or a person states.
    uncertainty_from : str
        `stated`, or `resolution` where last digits alone are counted.
    order : int or None
        Order of printing.
    session : str
        Day of work.
    extra : mapping of str to str
        Notes as stated.
    """

    where: str
    run: str
    build: str
    specimen: str
    reference: bool
    spool: str
    bath: str
    history: str
    mass_g: float | None
    mass_step_g: float
    weighing: Weighing | None
    gain_g: float | None
    stated: Density | None
    uncertainty_from: str
    order: int | None
    session: str
    extra: Mapping[str, str] = field(default_factory=dict)


def last_digits(rows: Rows) -> dict[str, float]:
    """
    Return the last digit of each column: its finest cell, for spreadsheets drop zeros at the end.

    Parameters
    ----------
    rows : Rows
        A table of weighings.

    Returns
    -------
    steps : dict of str to float
        By column; one balance reads both masses. [g], [°C]
    """
    found = {}
    for column in (*MASSES, "water_c"):
        decimals = [len(cell.replace(",", ".").partition(".")[2]) for cell in rows.column(column)]
        found[column] = max(10.0 ** -max(decimals), FINEST[column[-1]])
    pair = min(found["mass_air_g"], found["mass_water_g"])
    return {**found, "mass_air_g": pair, "mass_water_g": pair}


def read_piece(row: Row, said: Answers, steps: Mapping[str, float], where: str) -> Piece:
    """
    Return the piece of a row; what is wrong is added to the row's faults.

    Parameters
    ----------
    row : Row
        Cells by column.
    said : Answers
        May hold the reference density; a column of the table comes first.
    steps : mapping of str to float
        Last digits by column. [g], [°C]
    where : str
        File and line.

    Returns
    -------
    piece : Piece
        To be used only where the row has no faults.

    Raises
    ------
    InputError
        The reference density has no uncertainty.
    """
    role = row.text("role").lower() or PRINTED
    if role not in (REFERENCE, PRINTED):
        row.faults.append(f"role {role[:20]!r}; expected {PRINTED} or {REFERENCE}")
    weighing, source = _weighing(row, steps)
    mass, after = row.real("mass_g"), row.real("mass_after_g")
    if mass is not None and not mass > 0:
        row.faults.append(f"mass_g {mass:g}; expected a mass above 0 g")
    if mass is None and weighing is None and not row.faults:
        row.faults.append("no mass; expected mass_air_g and mass_water_g, or mass_g")
    if role == REFERENCE and weighing is None and not row.faults:
        row.faults.append("a reference without mass_air_g and mass_water_g")
    known = {*NOTES, *KINSHIP} - {"role"}
    extra = {key: value for key, value in row.cells.items() if value and (key in known or key not in COLUMNS)}
    return Piece(
        where,
        *row.place(needed=role == PRINTED),
        role == REFERENCE,
        row.text("spool"),
        row.text("bath"),
        row.text("history"),
        mass,
        steps["mass_g"],
        weighing,
        None if after is None or weighing is None else after - weighing.mass_air_g,
        _stated(row, said),
        source,
        row.order(),
        row.text("session"),
        extra if role == REFERENCE else extra | row.by_code(),
    )


def _weighing(row: Row, steps: Mapping[str, float]) -> tuple[Weighing | None, str]:
    values = [row.real(name) for name in _READINGS]
    if all(value is None for value in values):
        return None, ""
    missing = [name for name, value in zip(_READINGS, values, strict=True) if value is None]
    if missing:
        row.faults += [f"no {name}" for name in missing if not row.text(name)]
        return None, ""
    stated = [row.real(f"{name[:-2]}_uncertainty_{name[-1]}") for name in _READINGS]
    if any(value is not None and not value > 0 for value in stated):
        row.faults.append(
            "an uncertainty that is not above 0; expected a standard uncertainty or an empty cell"
        )
    own = [
        steps[name] * RESOLUTION if value is None else value
        for name, value in zip(_READINGS, stated, strict=True)
    ]
    room = {key: value for key in _ROOM if (value := row.real(key)) is not None}
    source = "stated" if None not in stated else "resolution"
    return Weighing(*[value for value in values if value is not None], *own, **room), source


def _stated(row: Row, said: Answers) -> Density | None:
    value, uncertainty = row.real("reference_density_g_cm3"), row.real("reference_uncertainty_g_cm3")
    if value is None:
        value, uncertainty = (
            said.facts.get(f"reference_{name}_g_cm3") for name in ("density", "uncertainty")
        )
    if value is None:
        return None
    if uncertainty is None or not uncertainty > 0:
        raise InputError(
            "", "a reference density without its uncertainty", "reference_uncertainty_g_cm3 above 0", ""
        )
    return Density(value, uncertainty)
