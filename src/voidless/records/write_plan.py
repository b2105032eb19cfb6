"""Writes runs, builds, sessions and bed layouts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from sqlalchemy import func, select

from voidless.errors import InputError
from voidless.quantities import suggest
from voidless.records.canonical import Json, finite
from voidless.records.facts import Session
from voidless.records.labels import BUILD, RUN, canonical_label, label_of, number_of
from voidless.records.ledger import Ledger
from voidless.records.schema.plan import (
    BedLayoutRow,
    BuildRow,
    BuildRunRow,
    RunRow,
    SessionRow,
)

__all__ = [
    "add_build",
    "add_layout",
    "add_run",
    "add_session",
    "find_build",
    "find_run",
    "has_build",
    "link",
    "must_print",
]

_Labelled = type[RunRow] | type[BuildRow]


def _find(ledger: Ledger, table: _Labelled, label: str, letter: str) -> str | None:
    return ledger.latest(table, label=canonical_label(label, letter))


def _near(ledger: Ledger, table: _Labelled, label: str) -> str:
    known = ledger.scope.connection.execute(
        select(table.label).where(table.campaign_id == ledger.scope.campaign_id)
    )
    return suggest(label, tuple(known.scalars()))


def find_run(ledger: Ledger, label: str) -> str:
    """
    Return the id of a run.

    Raises
    ------
    InputError
        No run has this label.
    """
    found = _find(ledger, RunRow, label, RUN)
    if found is None:
        raise InputError(
            "records", f"run {label!r} is not known", "a run of this campaign", _near(ledger, RunRow, label)
        )
    return found


def find_build(ledger: Ledger, label: str) -> str:
    """
    Return the id of a build.

    Raises
    ------
    InputError
        No build has this label.
    """
    found = _find(ledger, BuildRow, label, BUILD)
    if found is None:
        near = _near(ledger, BuildRow, label)
        raise InputError("records", f"build {label!r} is not known", "a build of this campaign", near)
    return found


def has_build(ledger: Ledger, label: str) -> bool:
    """Return whether a build has this label."""
    return _find(ledger, BuildRow, label, BUILD) is not None


def must_print(ledger: Ledger, run_id: str, run: str, build: str) -> None:
    """
    Make sure that a build prints a run.

    Raises
    ------
    InputError
        The build is not known, or prints other runs.
    """
    if not link(ledger, run_id, find_build(ledger, build)):
        raise InputError(
            "records",
            f"build {build} did not print run {run}",
            "a build of that run",
            "Correct the run or the build.",
        )


def link(ledger: Ledger, run_id: str, build_id: str) -> bool:
    """Return whether a build prints a run."""
    key = ("link", build_id, run_id)
    if key not in ledger.known:
        found = ledger.scope.connection.execute(
            select(BuildRunRow.id).where(BuildRunRow.build_id == build_id, BuildRunRow.run_id == run_id)
        ).scalar()
        if found is None:
            return False
        ledger.known[key] = found
    return True


def _new_label(ledger: Ledger, table: _Labelled, label: str | None, letter: str) -> tuple[str, int | None]:
    """Return a label that was never used, and its number: the next one unless the caller names it."""
    if label is not None:
        text = canonical_label(label, letter)
        if _find(ledger, table, text, letter) is not None:
            raise InputError(
                "records", f"{text} is already used", "a new label", "Labels are never used twice."
            )
        return text, number_of(text, letter)
    last = ledger.scope.connection.execute(
        select(func.max(table.number)).where(table.campaign_id == ledger.scope.campaign_id)
    ).scalar()
    number = (last or 0) + 1
    return label_of(letter, number), number


def add_run(
    ledger: Ledger, settings: Mapping[str, float], reason: str, origin: str, label: str | None
) -> str:
    """Return the label of a new run."""
    checked = {name: finite(name, value) for name, value in settings.items()}
    text, number = _new_label(ledger, RunRow, label, RUN)
    ledger.known["run", text] = ledger.insert(
        RunRow, label=text, number=number, settings=checked, reason=reason, origin=origin
    )
    return text


def add_session(ledger: Ledger, session: Session) -> str:
    """Return the id of a session; a second row of the same ordinal corrects the first."""
    finite("session", session.ordinal, low=1)
    row_id = ledger.insert(
        SessionRow,
        ordinal=session.ordinal,
        label=session.label,
        operator=session.operator,
        note=session.note,
    )
    ledger.known["session", str(session.ordinal)] = row_id
    return row_id


def _session(ledger: Ledger, ordinal: int) -> str:
    return ledger.latest(SessionRow, ordinal=ordinal) or add_session(ledger, Session(ordinal))


def add_layout(ledger: Ledger, label: str, content: Json) -> str:
    """Return the id of a bed layout; a second row of the same label corrects the first."""
    row_id = ledger.insert(BedLayoutRow, label=label, content=content)
    ledger.known["bed_layout", label] = row_id
    return row_id


def _layout(ledger: Ledger, label: str) -> str | None:
    if not label:
        return None
    found = ledger.latest(BedLayoutRow, label=label)
    if found is None:
        raise InputError(
            "records", f"bed layout {label!r} is not known", "a recorded layout", "Add it first."
        )
    return found


def add_build(
    ledger: Ledger,
    runs: Sequence[str],
    order: int | None,
    session: int,
    positions: Sequence[int] | None,
    planned: bool,
    layout: str,
    label: str | None,
) -> str:
    """
    Return the label of a new build that prints one or more runs.

    Raises
    ------
    InputError
        A run is not known or named twice, a number is impossible, or the label was used before.
    """
    run_ids = [find_run(ledger, run) for run in runs]
    places = list(positions) if positions is not None else list(range(1, len(run_ids) + 1))
    if not run_ids or len(set(run_ids)) != len(run_ids) or len(places) != len(run_ids):
        raise InputError(
            "records",
            f"a build of runs {list(runs)} at positions {places}",
            "one or more different runs, one position each",
            "Correct the runs or positions.",
        )
    if order is None:
        last = ledger.scope.connection.execute(
            select(func.max(BuildRow.ordinal)).where(BuildRow.campaign_id == ledger.scope.campaign_id)
        ).scalar()
        order = (last or 0) + 1
    finite("order", order, low=1)
    text, number = _new_label(ledger, BuildRow, label, BUILD)
    build_id = ledger.insert(
        BuildRow,
        label=text,
        number=number,
        ordinal=int(order),
        planned=planned,
        session_id=_session(ledger, session),
        bed_layout_id=_layout(ledger, layout),
    )
    ledger.known["build", text] = build_id
    for run_id, place in zip(run_ids, places, strict=True):
        ledger.known["link", build_id, run_id] = ledger.insert(
            BuildRunRow, build_id=build_id, run_id=run_id, position=int(finite("position", place, low=1))
        )
    return text
