"""A table of weighings to densities, void shares and masses; all of it or nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from voidless.campaign.types import Observation
from voidless.errors import InputError, QuestionError
from voidless.measure.files.faults import rows_refused
from voidless.measure.files.rows import Rows, has_decimal_comma, read_rows
from voidless.measure.results import Answers
from voidless.measure.tables.cells import Row
from voidless.measure.weighing.columns import COLUMNS, is_weighings, near_column
from voidless.measure.weighing.pieces import Piece, last_digits, read_piece
from voidless.measure.weighing.reduce import reduce_piece

__all__ = ["Weighings", "read_weighings"]

EXPECTED = "columns run, build, specimen, mass_air_g, mass_water_g, water_c, or mass_g alone"
_NUMBERS = ("_g", "_c", "_hpa", "_pct", "_cm3", "_mm3", "_mm")


@dataclass(frozen=True)
class Weighings:
    """
    What a table of weighings says.

    Attributes
    ----------
    observations : tuple of Observation
        `density_g_cm3` and `void_pct` by the method `immersion`, and `mass_g`.
    reduced : tuple of mapping
        Numbers of each row, plain, with the budget of its uncertainty.
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
        May hold the reference density; a reference piece of the same spool or a column comes first.

    Returns
    -------
    weighings : Weighings
        Void shares only where there is a reference.

    Raises
    ------
    InputError
        A column is missing or any cell is wrong: nothing is taken, up to 20 faults are listed.
    """
    rows = read_rows(name, data, is_weighings, EXPECTED)
    warnings = [*rows.warnings, *_check_columns(rows)]
    pieces, faults = _pieces(rows, answers or Answers())
    references = [piece for piece in pieces if piece.reference]
    found: list[Observation] = []
    reduced: list[Mapping[str, object]] = []
    for piece in pieces:
        try:
            numbers, observations, words = reduce_piece(piece, references)
        except InputError as fault:
            faults.append(_fault(piece.where, fault))
        else:
            found += observations
            reduced.append(numbers)
            warnings += words
    if faults:
        raise rows_refused(
            rows.where, faults, "plain cells that can be true", "Nothing was taken; correct the rows."
        )
    return Weighings(
        tuple(found), tuple(reduced), (), tuple(dict.fromkeys([*warnings, *_cautions(rows, reduced)]))
    )


def _pieces(rows: Rows, said: Answers) -> tuple[list[Piece], list[str]]:
    measured = [column for column in rows.header if column.endswith(_NUMBERS)]
    comma = has_decimal_comma(cell for column in measured for cell in rows.column(column))
    steps = last_digits(rows)
    pieces: list[Piece] = []
    faults: list[str] = []
    for line, cells in rows.rows:
        row = Row({key: cell.strip() for key, cell in zip(rows.header, cells, strict=True)}, comma)
        where = f"{rows.where}:{line}"
        try:
            pieces.append(read_piece(row, said, steps, where))
        except InputError as fault:
            faults.append(_fault(where, fault))
        faults += [f"line {line}: {fault}" for fault in row.faults]
    return ([] if faults else pieces), faults


def _fault(where: str, fault: InputError) -> str:
    line = where.rsplit(":", 1)[-1]
    return f"line {line}: {fault.what}" + (f"; expected {fault.expected}" if fault.expected else "")


def _check_columns(rows: Rows) -> list[str]:
    unknown = [column for column in rows.header if column not in COLUMNS]
    for column in unknown:
        if near := near_column(column):
            raise InputError(rows.where, f"column {column!r} is not known", EXPECTED, f"Did you mean {near}?")
    pair = {"mass_air_g", "mass_water_g"} & set(rows.header)
    missing = {"mass_air_g", "mass_water_g", "water_c"} - set(rows.header) if pair else set()
    # blind codes of specimens stand for run and build; a row without one is refused for lack of them
    lacking = {"run", "build"} - set(rows.header)
    missing |= set() if "specimen" in rows.header and len(lacking) == 2 else lacking
    if missing:
        raise InputError(rows.where, f"no column {', '.join(sorted(missing))}", EXPECTED, "Add it.")
    return [
        f"{rows.where}: column {column!r} is not known; its cells are kept as written" for column in unknown
    ]


def _cautions(rows: Rows, reduced: Sequence[Mapping[str, object]]) -> list[str]:
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
