"""Writes what was logged about builds, what their settings really were, and the end of a plan."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime

from sqlalchemy import select

from voidless.campaign.types import BuildOutcome
from voidless.errors import InputError
from voidless.quantities import suggest
from voidless.records.canonical import Json, finite
from voidless.records.clock import MOMENTS, comparable_moment
from voidless.records.history import add_file
from voidless.records.ledger import Ledger
from voidless.records.read_plan import facts_by_build, spent_builds
from voidless.records.schema.plan import BuildFactRow, BuildRow, RealisedRow
from voidless.records.spools import find_spool
from voidless.records.write_plan import find_build, find_run, must_print

__all__ = ["BUILD_FACTS", "drop_plan", "set_build_fact", "set_realised"]


def _as_given(value: object) -> Json:
    return value.isoformat() if isinstance(value, datetime) else str(value)


def _outcome(value: object) -> Json:
    try:
        return BuildOutcome(value.value if isinstance(value, BuildOutcome) else value).value
    except ValueError as problem:
        known = ", ".join(outcome.value for outcome in BuildOutcome)
        raise InputError(
            "records", f"build outcome {value!r} is not known", f"one of {known}", ""
        ) from problem


def _number(name: str, low: float, high: float = float("inf")) -> Callable[[object], Json]:
    def checked(value: object) -> Json:
        number = finite(name, value, low)
        if number > high:
            raise InputError("records", f"{name} = {number:g} cannot be", f"{low:g} to {high:g}", "")
        return number

    return checked


def _ordinal(name: str) -> Callable[[object], Json]:
    def checked(value: object) -> Json:
        return int(finite(name, value, 1))

    return checked


BUILD_FACTS: Mapping[str, Callable[[object], Json]] = {
    "outcome": _outcome,
    "started": _as_given,
    "ended": _as_given,
    "exposure_h": _number("exposure_h", 0.0),
    "humidity_pct": _number("humidity_pct", 0.0, 100.0),
    "order": _ordinal("order"),
    "session": _ordinal("session"),
    "spool": str,
    "operator": str,
    "note": str,
    "withdrawn": bool,
}
"""What can be logged about a build, with the check that turns a value into what is kept."""


def set_build_fact(ledger: Ledger, build: str, name: str, value: object, source_sha: str) -> str:
    """
    Return the id of a new fact about a build; it supersedes earlier ones of the same name.

    Raises
    ------
    InputError
        The build or the name is not known, the build does not carry the run, or the value is impossible.

    Notes
    -----
    `outcome RUN` is the outcome of one run of a bed that carries several.
    """
    base, _, run = name.partition(" ")
    if run and base == "outcome":
        must_print(ledger, find_run(ledger, run), run, build)
    check = BUILD_FACTS.get(base) if not run or base == "outcome" else None
    if check is None:
        known = tuple(BUILD_FACTS)
        raise InputError(
            "records", f"{name!r} is not a fact of a build", ", ".join(known), suggest(name, known)
        )
    kept = check(value)
    if name in MOMENTS:
        kept = comparable_moment(ledger, str(kept))
    if name == "spool":
        find_spool(ledger, str(kept))
    return ledger.insert(
        BuildFactRow,
        build_id=find_build(ledger, build),
        name=name,
        value=kept,
        file_id=add_file(ledger, source_sha) if source_sha else None,
    )


def set_realised(ledger: Ledger, build: str, name: str, value: float, sd: float | None, source: str) -> str:
    """Return the id of a new realised setting; it supersedes earlier ones of the same name."""
    return ledger.insert(
        RealisedRow,
        build_id=find_build(ledger, build),
        name=name,
        value=finite(name, value),
        sd=None if sd is None else finite(f"standard uncertainty of {name}", sd, 0.0),
        source=source,
    )


def drop_plan(ledger: Ledger, reason: str) -> list[str]:
    """
    Return the labels of the planned builds that were withdrawn: those nobody began.

    A build with a result, or with anything logged about it, stays.
    """
    scope = ledger.scope
    facts, spent = facts_by_build(scope), spent_builds(scope)
    rows = scope.connection.execute(
        select(BuildRow.id, BuildRow.label)
        .where(BuildRow.campaign_id == scope.campaign_id, BuildRow.planned)
        .order_by(BuildRow.ordinal)
    ).all()
    dropped = [(row_id, label) for row_id, label in rows if row_id not in spent and not facts.get(row_id)]
    for row_id, _ in dropped:
        ledger.insert(BuildFactRow, build_id=row_id, name="withdrawn", value=True, file_id=None)
        if reason:
            ledger.insert(BuildFactRow, build_id=row_id, name="note", value=reason, file_id=None)
    return [label for _, label in dropped]
