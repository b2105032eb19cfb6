"""A result table to observations, facts of builds and settings of runs; all of it or nothing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from voidless.campaign.types import BuildOutcome, Observation, ResponseKey
from voidless.errors import InputError
from voidless.measure.files.faults import MAX_FAULTS, rows_refused
from voidless.measure.files.rows import Rows, column_name, has_decimal_comma, read_rows
from voidless.measure.results import BuildFacts
from voidless.measure.tables.cells import FACTS, Row
from voidless.measure.tables.columns import (
    BUILD_COLUMNS,
    CONDITION_COLUMNS,
    EXTRA_COLUMNS,
    KNOWN,
    LONG_FORM,
    SETTING_COLUMNS,
    check_columns,
    is_result_table,
)
from voidless.quantities import QUANTITIES, Quantity

__all__ = ["ResultTable", "read_result_table"]

_NUMBERS = ("value", "uncertainty", "exposure_h", "humidity_pct", "order", *SETTING_COLUMNS)


@dataclass(frozen=True)
class ResultTable:
    """
    What a result table holds.

    Attributes
    ----------
    observations : tuple of Observation
        One a row; several with the same key are repeats.
    builds : tuple of BuildFacts
        One per run and build of the table.
    settings : mapping of str to mapping
        Settings by run, where the table has columns for them. [unit in the name]
    warnings : tuple of str
        What a person should know.
    """

    observations: tuple[Observation, ...]
    builds: tuple[BuildFacts, ...]
    settings: Mapping[str, Mapping[str, float]]
    warnings: tuple[str, ...] = ()


@dataclass
class _Gathered:
    """What the rows gave so far, with the line that said it first."""

    observations: list[Observation] = field(default_factory=list)
    facts: dict[tuple[str, str], dict[str, tuple[object, int]]] = field(default_factory=dict)
    settings: dict[str, dict[str, tuple[float, int]]] = field(default_factory=dict)
    orders: dict[tuple[str, str], set[tuple[int | None, str]]] = field(default_factory=dict)
    lowered: list[int] = field(default_factory=list)


def read_result_table(name: str, data: bytes, units: Mapping[str, str] | None = None) -> ResultTable:
    """
    Return the results that a table holds, one row a value.

    Parameters
    ----------
    name : str
        Name of the file.
    data : bytes
        Text with any common delimiter, decimal mark and encoding, or xlsx.
    units : mapping of str to str or None
        Units that a person answers for responses, or for the column `unit`, where the table states none.

    Returns
    -------
    table : ResultTable
        Whether its runs exist is for the campaign to say.

    Raises
    ------
    InputError
        Anything in any row is wrong: nothing of the table is taken, and up to 20 faults are listed by line.
    """
    rows = read_rows(name, data, is_result_table, LONG_FORM)
    warnings = [*rows.warnings, *check_columns(rows.header, rows.where)]
    answered = {column_name(key): value for key, value in (units or {}).items()}
    comma = has_decimal_comma(cell for column in _NUMBERS for cell in rows.column(column))
    gathered = _Gathered()
    faults: list[tuple[int, str]] = []
    for line, cells in rows.rows:
        row = Row({key: cell.strip() for key, cell in zip(rows.header, cells, strict=True)}, comma)
        _take_row(row, line, answered, rows.header, gathered)
        faults += [(line, fault) for fault in row.faults]
    _refuse(rows, faults)
    if gathered.lowered:
        lines = ", ".join(map(str, gathered.lowered[:MAX_FAULTS]))
        warnings.append(f"{rows.where}: broken outside the gauge, taken as lower bounds: line {lines}")
    settings = {
        run: {key: value for key, (value, _) in found.items()} for run, found in gathered.settings.items()
    }
    return ResultTable(tuple(gathered.observations), _builds(gathered), settings, tuple(warnings))


def _refuse(rows: Rows, faults: list[tuple[int, str]]) -> None:
    if not faults:
        return
    if len(faults) == 1:
        line, fault = faults[0]
        what, _, expected = fault.partition("; expected ")
        raise InputError(
            f"{rows.where}:{line}", what, expected, "Nothing was taken; correct the row and read again."
        )
    raise rows_refused(
        f"{rows.where}:{faults[0][0]}",
        [f"line {line}: {fault}" for line, fault in faults],
        "every row complete and possible",
        "Nothing was taken; correct the rows and read again.",
    )


def _take_row(
    row: Row, line: int, answered: Mapping[str, str], header: tuple[str, ...], gathered: _Gathered
) -> None:
    (run, build, specimen), outcome = row.place(), row.outcome()
    order, session = row.order(), row.label("session", needed=False)
    gathered.orders.setdefault((run, build), set()).add((order, session))
    facts = {fact: row.bounded(fact, QUANTITIES[fact]) for fact in FACTS}
    _merge(
        row,
        line,
        f"build {build}",
        gathered.facts.setdefault((run, build), {}),
        {**facts, "outcome": outcome},
    )
    settings = {key: row.bounded(key, QUANTITIES[key]) for key in SETTING_COLUMNS if key in header}
    if any(value is not None for value in settings.values()):
        _merge(row, line, f"run {run}", gathered.settings.setdefault(run, {}), settings)  # type: ignore[arg-type]
    if row.by_code():
        _refuse_facts(row, header)
    failed = outcome not in (None, BuildOutcome.OK)
    if failed and not row.text("value"):
        return
    quantity = row.response()
    if quantity is None:
        return
    answer = answered.get(quantity.name, answered.get("unit"))
    row.check_unit(quantity, answer)
    value = row.value(quantity)
    if value is None or row.faults:
        return
    if quantity.name in FACTS:
        _merge(row, line, f"build {build}", gathered.facts[(run, build)], {quantity.name: value})
        return
    found = _observation(row, quantity, value, (run, build, specimen), (order, session), header)
    if "bound_assumed" in found.extra:
        gathered.lowered.append(line)
    gathered.observations.append(found)


def _observation(
    row: Row,
    quantity: Quantity,
    value: float,
    place: tuple[str, str, str],
    when: tuple[int | None, str],
    header: tuple[str, ...],
) -> Observation:
    broke_at, mode = row.breaking()
    bound, why = row.bound(quantity, broke_at)
    conditions = tuple(sorted((key, row.text(key)) for key in CONDITION_COLUMNS if row.text(key)))
    kept = [key for key in header if key in EXTRA_COLUMNS or key not in KNOWN]
    extra = {key: row.text(key) for key in kept if row.text(key)} | row.by_code()
    if why:
        extra["bound_assumed"] = why
    return Observation(
        *place,
        ResponseKey(quantity.name, column_name(row.text("method")), row.text("feature"), conditions),
        value,
        row.uncertainty(),
        bound,
        broke_at,
        mode,
        *when,
        assumed=not row.text("method"),
        extra=extra,
    )


def _refuse_facts(row: Row, header: tuple[str, ...]) -> None:
    """Refuse what a row without run or build says of them: a code is of a specimen."""
    told = [key for key in (*BUILD_COLUMNS, *SETTING_COLUMNS) if key in header and row.text(key)]
    if told or row.text("response") in FACTS:
        row.faults.append(
            f"{', '.join(told) or row.text('response')} beside a blind code alone; expected run and build with it"
        )


def _merge(
    row: Row, line: int, what: str, known: dict[str, tuple[object, int]], said: Mapping[str, object]
) -> None:
    """Add what a row says; a fault where an earlier line said something else."""
    for key, value in said.items():
        if value is None:
            continue
        earlier, first = known.setdefault(key, (value, line))
        if earlier != value:
            shown = [getattr(item, "value", item) for item in (value, earlier)]
            row.faults.append(
                f"{what} has {key} {shown[0]} here and {shown[1]} in line {first}; expected one value"
            )


def _builds(gathered: _Gathered) -> tuple[BuildFacts, ...]:
    found = []
    for (run, build), facts in gathered.facts.items():
        if not (run and build):  # its rows are of specimens under blind codes, and say nothing of a build
            continue
        said = {key: value for key, (value, _) in facts.items()}
        whens = gathered.orders[(run, build)]
        # An order that differs between the rows of a build is the order of testing, not of building.
        order, session = next(iter(whens)) if len(whens) == 1 else (None, "")
        found.append(BuildFacts(run, build, order=order, session=session, **said))  # type: ignore[arg-type]
    return tuple(found)
