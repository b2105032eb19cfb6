"""Reads observations, specimens, instruments and what rests on them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields
from typing import Any

from sqlalchemy import ColumnElement, RowMapping, select
from sqlalchemy.orm import aliased

from voidless.campaign.types import Bound, BreakMode, BreakPlace, Observation, ResponseKey
from voidless.records.facts import Check, Instrument, ObservationRow, Specimen, Use
from voidless.records.ledger import Scope
from voidless.records.schema.history import FileRow
from voidless.records.schema.plan import BuildRow, RunRow
from voidless.records.schema.results import (
    InstrumentCheckRow,
    InstrumentRow,
    InstrumentUseRow,
    ObservationTable,
    RetractionRow,
    SpecimenRow,
)

__all__ = [
    "FILTERS",
    "checks",
    "instruments",
    "observation_rows",
    "specimen_from",
    "specimens",
    "uses",
]

FILTERS: Mapping[str, Any] = {
    "run": RunRow.label,
    "build": BuildRow.label,
    "specimen": SpecimenRow.label,
    "quantity": ObservationTable.quantity,
    "method": ObservationTable.method,
    "feature": ObservationTable.feature,
    "source_sha": FileRow.sha256,
    "instrument": InstrumentRow.label,
}
"""What observations can be found by, and the column that holds it."""

_Where = Sequence[ColumnElement[bool]]


def observation_rows(scope: Scope, conditions: _Where = (), *, current: bool) -> list[ObservationRow]:
    """
    Return observations with their provenance, in the order in which they were recorded.

    Parameters
    ----------
    conditions : sequence
        Conditions on the columns of `FILTERS`.
    current : bool
        Whether to leave out what was superseded or withdrawn.
    """
    later = aliased(ObservationTable)
    query = (
        select(
            ObservationTable.__table__,
            RunRow.label.label("run"),
            BuildRow.label.label("build"),
            SpecimenRow.label.label("specimen"),
            InstrumentRow.label.label("instrument"),
            FileRow.sha256.label("source_sha"),
            FileRow.name.label("source_name"),
            later.id.label("superseded_by"),
            RetractionRow.reason.label("withdrawn"),
        )
        .outerjoin(RunRow, RunRow.id == ObservationTable.run_id)
        .outerjoin(BuildRow, BuildRow.id == ObservationTable.build_id)
        .outerjoin(SpecimenRow, SpecimenRow.id == ObservationTable.specimen_id)
        .outerjoin(InstrumentRow, InstrumentRow.id == ObservationTable.instrument_id)
        .outerjoin(FileRow, FileRow.id == ObservationTable.file_id)
        .outerjoin(later, later.supersedes == ObservationTable.id)
        .outerjoin(RetractionRow, RetractionRow.observation_id == ObservationTable.id)
        .where(ObservationTable.campaign_id == scope.campaign_id, *conditions)
        .order_by(ObservationTable.sequence)
    )
    if current:
        query = query.where(later.id.is_(None), RetractionRow.id.is_(None))
    return [_row(row) for row in scope.connection.execute(query)]


def _row(row: Any) -> ObservationRow:
    return ObservationRow(
        id=row.id,
        observation=Observation(
            run=row.run or "",
            build=row.build or "",
            specimen=row.specimen or "",
            key=ResponseKey(row.quantity, row.method, row.feature, tuple(sorted(row.conditions.items()))),
            value=row.value,
            uncertainty=row.uncertainty,
            bound=Bound(row.bound),
            break_place=BreakPlace(row.break_place) if row.break_place else None,
            break_mode=BreakMode(row.break_mode) if row.break_mode else None,
            order=row.ordinal,
            session=row.session,
            assumed=row.assumed,
            extra=row.extra,
        ),
        unit=row.unit,
        time=row.time,
        method_version=row.method_version,
        code_version=row.code_version,
        source_sha=row.source_sha or "",
        source_name=row.source_name or "",
        instrument=row.instrument or "",
        measured_at=row.measured_at,
        supersedes=row.supersedes or "",
        superseded_by=row.superseded_by or "",
        withdrawn=row.withdrawn or "",
    )


def specimen_from(row: RowMapping, run: str, build: str) -> Specimen:
    """Return the specimen that a database row describes."""
    values = {item.name: row[item.name] for item in fields(Specimen) if item.name not in {"run", "build"}}
    place, mode = values["break_place"], values["break_mode"]
    values["break_place"] = BreakPlace(place) if place else None
    values["break_mode"] = BreakMode(mode) if mode else None
    return Specimen(run=run, build=build, **values)


def specimens(scope: Scope) -> list[Specimen]:
    """Return the specimens as last described, in the order in which they were first named."""
    rows = scope.connection.execute(
        select(SpecimenRow.__table__, RunRow.label.label("run"), BuildRow.label.label("build"))
        .outerjoin(RunRow, RunRow.id == SpecimenRow.run_id)
        .outerjoin(BuildRow, BuildRow.id == SpecimenRow.build_id)
        .where(SpecimenRow.campaign_id == scope.campaign_id)
        .order_by(SpecimenRow.sequence)
    )
    found: dict[tuple[str, str, str], Specimen] = {}
    for row in rows:
        run, build = row.run or "", row.build or ""
        found[run, build, row.label] = specimen_from(row._mapping, run, build)
    return list(found.values())


def instruments(scope: Scope) -> list[Instrument]:
    """Return the instruments as last described, by label."""
    rows = scope.connection.execute(
        select(InstrumentRow.label, InstrumentRow.kind, InstrumentRow.resolution, InstrumentRow.note)
        .where(InstrumentRow.campaign_id == scope.campaign_id)
        .order_by(InstrumentRow.sequence)
    )
    found = {row[0]: Instrument(*row) for row in rows}
    return [found[label] for label in sorted(found)]


def checks(scope: Scope, instrument: str | None) -> list[Check]:
    """Return the checks of one instrument or all, by the time of the check."""
    query = (
        select(InstrumentRow.label, *(getattr(InstrumentCheckRow, item.name) for item in fields(Check)[1:]))
        .join(InstrumentRow, InstrumentRow.id == InstrumentCheckRow.instrument_id)
        .where(InstrumentCheckRow.campaign_id == scope.campaign_id)
        .order_by(InstrumentCheckRow.checked_at, InstrumentCheckRow.sequence)
    )
    if instrument is not None:
        query = query.where(InstrumentRow.label == instrument)
    return [Check(*row) for row in scope.connection.execute(query)]


def uses(scope: Scope) -> list[Use]:
    """Return which files' results rest on which instruments; of ties alike in all three the last one."""
    rows = scope.connection.execute(
        select(
            InstrumentRow.label,
            FileRow.sha256,
            InstrumentUseRow.quantity,
            InstrumentUseRow.power,
            InstrumentUseRow.reading,
            InstrumentUseRow.measured_at,
        )
        .join(InstrumentRow, InstrumentRow.id == InstrumentUseRow.instrument_id)
        .join(FileRow, FileRow.id == InstrumentUseRow.file_id)
        .where(InstrumentUseRow.campaign_id == scope.campaign_id)
        .order_by(InstrumentUseRow.sequence)
    )
    return list({(row[0], row[1], row[2]): Use(*row) for row in rows}.values())
