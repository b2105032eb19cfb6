"""Files, events, derived records and versions of the campaign file: written and read."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from sqlalchemy import exists, func, select

from voidless.errors import InputError
from voidless.records.canonical import Json, sha256_of
from voidless.records.facts import Derived, Event, StoredFile
from voidless.records.ledger import Ledger, Scope
from voidless.records.schema.history import DerivedRow, EventRow, FileRow
from voidless.records.schema.plan import CampaignVersionRow

__all__ = [
    "add_campaign_text",
    "add_derived",
    "add_event",
    "add_file",
    "all_hashes",
    "campaign_text",
    "derived",
    "events",
    "files",
    "has_file",
]


def add_file(ledger: Ledger, sha: str) -> str:
    """
    Return the id of the row of a stored file; written now when it is new, or came by a new name.

    Raises
    ------
    InputError
        Nothing with this hash was stored.
    """
    known = ledger.known.get(("file", sha))
    if known is not None:
        return known
    pending = ledger.pending.get(sha)
    query = (
        select(FileRow.id)
        .where(FileRow.campaign_id == ledger.scope.campaign_id, FileRow.sha256 == sha)
        .order_by(FileRow.sequence.desc())
    )
    if pending is not None:
        query = query.where(FileRow.name == pending.name)
    row_id = ledger.scope.connection.execute(query).scalar()
    if row_id is None:
        if pending is None:
            raise InputError("records", f"no file {sha[:80]} was stored", "a stored file", "Store it first.")
        row_id = ledger.insert(FileRow, sha256=sha, name=pending.name, size=pending.size, kind=pending.kind)
    ledger.known["file", sha] = row_id
    return row_id


def files(scope: Scope) -> list[StoredFile]:
    """Return the recorded files, oldest first."""
    rows = scope.connection.execute(
        select(FileRow.sha256, FileRow.name, FileRow.size, FileRow.kind, FileRow.time)
        .where(FileRow.campaign_id == scope.campaign_id)
        .order_by(FileRow.sequence)
    )
    return [StoredFile(*row) for row in rows]


def has_file(scope: Scope, sha: str) -> bool:
    """Return whether a file of this content is on record in the campaign."""
    found = exists().where(FileRow.campaign_id == scope.campaign_id, FileRow.sha256 == sha)
    return bool(scope.connection.execute(select(found)).scalar())


def all_hashes(scope: Scope) -> dict[str, str]:
    """Return name by hash of the files of every campaign of the store."""
    return {row[0]: row[1] for row in scope.connection.execute(select(FileRow.sha256, FileRow.name))}


def add_event(ledger: Ledger, kind: str, payload: Mapping[str, Json]) -> str:
    """Return the id of a new event."""
    return ledger.insert(EventRow, kind=kind, payload=dict(payload))


def events(scope: Scope, kind: str | None) -> list[Event]:
    """Return events in the order in which they were written, of one kind or all."""
    query = (
        select(EventRow.kind, EventRow.time, EventRow.payload)
        .where(EventRow.campaign_id == scope.campaign_id)
        .order_by(EventRow.sequence)
    )
    if kind is not None:
        query = query.where(EventRow.kind == kind)
    return [Event(*row) for row in scope.connection.execute(query)]


def add_derived(ledger: Ledger, kind: str, payload: Json, inputs: Sequence[str]) -> str:
    """Return the id of a new derived record, numbered after the last of its kind."""
    last = ledger.scope.connection.execute(
        select(func.max(DerivedRow.version)).where(
            DerivedRow.campaign_id == ledger.scope.campaign_id, DerivedRow.kind == kind
        )
    ).scalar()
    return ledger.insert(
        DerivedRow,
        kind=kind,
        version=(last or 0) + 1,
        payload=payload,
        inputs=list(inputs),
        code_version=ledger.code_version,
    )


def derived(scope: Scope, kind: str) -> list[Derived]:
    """Return the derived records of one kind, newest first."""
    rows = scope.connection.execute(
        select(
            DerivedRow.id,
            DerivedRow.kind,
            DerivedRow.version,
            DerivedRow.payload,
            DerivedRow.inputs,
            DerivedRow.code_version,
            DerivedRow.time,
        )
        .where(DerivedRow.campaign_id == scope.campaign_id, DerivedRow.kind == kind)
        .order_by(DerivedRow.sequence.desc())
    )
    return [Derived(r[0], r[1], r[2], r[3], tuple(r[4]), r[5], r[6]) for r in rows]


def add_campaign_text(ledger: Ledger, text: str) -> bool:
    """Return whether a new version of the campaign file was written: only when its text changed."""
    sha = sha256_of(text)
    latest = ledger.scope.connection.execute(
        select(CampaignVersionRow.sha256)
        .where(CampaignVersionRow.campaign_id == ledger.scope.campaign_id)
        .order_by(CampaignVersionRow.sequence.desc())
    ).scalar()
    if latest == sha:
        return False
    ledger.insert(CampaignVersionRow, text=text, sha256=sha)
    return True


def campaign_text(scope: Scope) -> str:
    """Return the newest recorded text of the campaign file."""
    return scope.connection.execute(
        select(CampaignVersionRow.text)
        .where(CampaignVersionRow.campaign_id == scope.campaign_id)
        .order_by(CampaignVersionRow.sequence.desc())
        .limit(1)
    ).scalar_one()
