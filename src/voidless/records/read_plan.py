"""Reads runs, builds, what was logged about them, and what is still open."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Select, exists, select
from sqlalchemy.orm import aliased

from voidless.campaign.exposure import hours_since_dry
from voidless.campaign.types import Build, BuildOutcome, Run
from voidless.records.facts import BuildFact, PlannedBuild, RecordedSetting, Session
from voidless.records.ledger import Scope
from voidless.records.schema.history import FileRow
from voidless.records.schema.plan import (
    BuildFactRow,
    BuildRow,
    BuildRunRow,
    RealisedRow,
    RunRow,
    SessionRow,
)
from voidless.records.schema.results import ObservationTable, RetractionRow
from voidless.records.spools import exposures

__all__ = [
    "build_facts",
    "builds",
    "facts_by_build",
    "is_current",
    "planned",
    "realised",
    "runs",
    "sessions",
    "spent_builds",
    "spent_labels",
]

Facts = Mapping[str, Any]


def is_current(query: Select[Any]) -> Select[Any]:
    """Return a query of observations limited to those neither superseded nor withdrawn."""
    later = aliased(ObservationTable)
    return query.where(
        ~exists().where(later.supersedes == ObservationTable.id),
        ~exists().where(RetractionRow.observation_id == ObservationTable.id),
    )


def facts_by_build(scope: Scope) -> dict[str, dict[str, Any]]:
    """Return the ruling facts of each build that has any, by build id and name."""
    found: dict[str, dict[str, Any]] = {}
    rows = scope.connection.execute(
        select(BuildFactRow.build_id, BuildFactRow.name, BuildFactRow.value)
        .where(BuildFactRow.campaign_id == scope.campaign_id)
        .order_by(BuildFactRow.sequence)
    )
    for build_id, name, value in rows:
        found.setdefault(build_id, {})[name] = value
    return found


def build_facts(scope: Scope) -> list[BuildFact]:
    """Return everything logged about builds, superseded facts included, oldest first."""
    rows = scope.connection.execute(
        select(BuildRow.label, BuildFactRow.name, BuildFactRow.value, BuildFactRow.time, FileRow.sha256)
        .join(BuildRow, BuildRow.id == BuildFactRow.build_id)
        .outerjoin(FileRow, FileRow.id == BuildFactRow.file_id)
        .where(BuildFactRow.campaign_id == scope.campaign_id)
        .order_by(BuildFactRow.sequence)
    )
    return [BuildFact(label, name, value, time, sha or "") for label, name, value, time, sha in rows]


def _failed(facts: Facts) -> bool:
    said = [value for name, value in facts.items() if name.partition(" ")[0] == "outcome"]
    return any(value != BuildOutcome.OK.value for value in said)


def _outcome(facts: Facts, run: str) -> str:
    """Return what was said of one run of a bed, else of the bed."""
    return str(facts.get(f"outcome {run}", facts.get("outcome", BuildOutcome.OK.value)))


def _with_results(scope: Scope) -> set[str]:
    query = select(ObservationTable.build_id).where(
        ObservationTable.campaign_id == scope.campaign_id, ObservationTable.build_id.is_not(None)
    )
    return set(scope.connection.execute(is_current(query).distinct()).scalars())


def spent_builds(scope: Scope) -> set[str]:
    """Return the ids of builds with a result or a logged failure."""
    failed = {build_id for build_id, facts in facts_by_build(scope).items() if _failed(facts)}
    return _with_results(scope) | failed


def spent_labels(scope: Scope) -> list[str]:
    """Return the labels of builds with a result or a logged failure, in order of their labels."""
    spent = spent_builds(scope)
    rows = scope.connection.execute(
        select(BuildRow.id, BuildRow.label)
        .where(BuildRow.campaign_id == scope.campaign_id)
        .order_by(BuildRow.number, BuildRow.label)
    )
    return [label for row_id, label in rows if row_id in spent]


@dataclass(frozen=True)
class _Printed:
    """One (build, run) with the ruling facts of the build."""

    build_id: str
    build: str
    run: str
    order: int
    session: int
    position: int
    planned: bool
    settings: Mapping[str, float]
    reason: str
    origin: str
    facts: Facts


def _logged_or(facts: Mapping[str, Facts], build_id: str, name: str, proposed: int) -> int:
    logged = facts.get(build_id, {}).get(name)
    return proposed if logged is None else int(logged)


def _printed(scope: Scope) -> list[_Printed]:
    facts = facts_by_build(scope)
    rows = scope.connection.execute(
        select(
            BuildRow.id,
            BuildRow.label,
            RunRow.label,
            BuildRow.ordinal,
            SessionRow.ordinal,
            BuildRunRow.position,
            BuildRow.planned,
            RunRow.settings,
            RunRow.reason,
            RunRow.origin,
        )
        .join(BuildRunRow, BuildRunRow.build_id == BuildRow.id)
        .join(RunRow, RunRow.id == BuildRunRow.run_id)
        .join(SessionRow, SessionRow.id == BuildRow.session_id)
        .where(BuildRow.campaign_id == scope.campaign_id)
    )
    found = [
        _Printed(
            build_id=row[0],
            build=row[1],
            run=row[2],
            order=_logged_or(facts, row[0], "order", row[3]),
            session=_logged_or(facts, row[0], "session", row[4]),
            position=row[5],
            planned=row[6],
            settings=row[7],
            reason=row[8],
            origin=row[9],
            facts=facts.get(row[0], {}),
        )
        for row in rows
    ]
    return sorted(found, key=lambda item: (item.order, item.build, item.position))


def _withdrawn(item: _Printed, spent: set[str]) -> bool:
    # A result that comes in after all makes a withdrawn build count again.
    return bool(item.facts.get("withdrawn")) and item.build_id not in spent


def builds(scope: Scope) -> list[Build]:
    """
    Return every build that was not withdrawn, once per run, in print order.

    `exposure_h` is as logged; else, where spool and start are known, it follows from the intervals
    in which the spool stood somewhere.
    """
    spent = spent_builds(scope)
    intervals = exposures(scope)
    found = []
    for item in _printed(scope):
        if _withdrawn(item, spent):
            continue
        logged, spool = item.facts, item.facts.get("spool", "")
        exposure = logged.get("exposure_h")
        if exposure is None and spool and "started" in logged:
            mine = [interval for interval in intervals if interval.spool == spool]
            exposure = hours_since_dry(mine, datetime.fromisoformat(logged["started"]))
        found.append(
            Build(
                label=item.build,
                run=item.run,
                order=item.order,
                session=item.session,
                settings=item.settings,
                position=item.position,
                exposure_h=exposure,
                humidity_pct=logged.get("humidity_pct"),
                spool=spool,
                outcome=BuildOutcome(_outcome(logged, item.run)),
            )
        )
    return found


def planned(scope: Scope) -> list[PlannedBuild]:
    """Return the open proposals: planned builds without result, failure or withdrawal, in print order."""
    spent = spent_builds(scope)
    return [
        PlannedBuild(
            run=item.run,
            build=item.build,
            order=item.order,
            session=item.session,
            position=item.position,
            settings=item.settings,
            reason=item.reason,
            origin=item.origin,
        )
        for item in _printed(scope)
        if item.planned and item.build_id not in spent and not item.facts.get("withdrawn")
    ]


def runs(scope: Scope, *, withdrawn: bool) -> list[Run]:
    """
    Return the runs in order of their labels.

    Parameters
    ----------
    withdrawn : bool
        Whether to include runs whose builds were all withdrawn.
    """
    spent = spent_builds(scope)
    alive: dict[str, bool] = {}
    for item in _printed(scope):
        alive[item.run] = alive.get(item.run, False) or not _withdrawn(item, spent)
    rows = scope.connection.execute(
        select(RunRow.label, RunRow.settings, RunRow.reason)
        .where(RunRow.campaign_id == scope.campaign_id)
        .order_by(RunRow.number.is_(None), RunRow.number, RunRow.sequence)
    )
    return [
        Run(label, settings, reason)
        for label, settings, reason in rows
        if withdrawn or alive.get(label, True)
    ]


def realised(scope: Scope) -> list[RecordedSetting]:
    """Return the ruling realised settings, by build and name."""
    rows = scope.connection.execute(
        select(BuildRow.label, RealisedRow.name, RealisedRow.value, RealisedRow.sd, RealisedRow.source)
        .join(BuildRow, BuildRow.id == RealisedRow.build_id)
        .where(RealisedRow.campaign_id == scope.campaign_id)
        .order_by(RealisedRow.sequence)
    )
    found = {(row[0], row[1]): RecordedSetting(*row) for row in rows}
    return [found[key] for key in sorted(found)]


def sessions(scope: Scope) -> list[Session]:
    """Return the sessions as last described, by ordinal."""
    rows = scope.connection.execute(
        select(SessionRow.ordinal, SessionRow.label, SessionRow.operator, SessionRow.note)
        .where(SessionRow.campaign_id == scope.campaign_id)
        .order_by(SessionRow.sequence)
    )
    found = {row[0]: Session(*row) for row in rows}
    return [found[ordinal] for ordinal in sorted(found)]
