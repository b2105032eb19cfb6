"""The transaction that rows are written in, and the campaign that reads are limited to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy import Connection, insert, select, update
from sqlalchemy.orm import DeclarativeBase

from voidless.errors import InputError
from voidless.records.schema.base import Row, new_id
from voidless.records.schema.plan import CampaignRow

__all__ = ["Ledger", "PendingFile", "Scope", "aware"]


@dataclass(frozen=True)
class Scope:
    """A connection, and the one campaign of the store that is meant."""

    connection: Connection
    campaign_id: str


@dataclass(frozen=True)
class PendingFile:
    """Content that is stored but not yet recorded: the name it came by, its size in bytes, its kind."""

    name: str
    size: int
    kind: str


@dataclass
class Ledger:
    """
    One open write transaction.

    Attributes
    ----------
    now : datetime
        Time that every row of the transaction gets.
    code_version : str
        Version of the program that writes.
    pending : mapping of str to PendingFile
        Stored content by hash, recorded when a row first names it.
    known : dict
        Ids that were looked up in this transaction.
    """

    scope: Scope
    now: datetime
    code_version: str
    pending: Mapping[str, PendingFile]
    known: dict[tuple[str, ...], str] = field(default_factory=dict)
    _written: int = -1

    def insert(self, table: type[DeclarativeBase], **values: object) -> str:
        """Write one row and return its id."""
        if self._written < 0:
            self._written = self.scope.connection.execute(
                select(CampaignRow.written).where(CampaignRow.id == self.scope.campaign_id)
            ).scalar_one()
        self._written += 1
        row_id = new_id()
        self.scope.connection.execute(
            insert(table),
            {
                "id": row_id,
                "campaign_id": self.scope.campaign_id,
                "sequence": self._written,
                "time": self.now,
                **values,
            },
        )
        return row_id

    def latest(self, table: type[Row], **columns: object) -> str | None:
        """Return the id of the newest row of the campaign with these values; None where there is none."""
        key = (table.__tablename__, *map(str, columns.values()))
        if key not in self.known:
            found = self.scope.connection.execute(
                select(table.id)
                .where(
                    table.campaign_id == self.scope.campaign_id,
                    *(getattr(table, name) == value for name, value in columns.items()),
                )
                .order_by(table.sequence.desc())
            ).scalar()
            if found is None:
                return None
            self.known[key] = found
        return self.known[key]

    def finish(self) -> None:
        """Keep the row count; called once, before the transaction ends."""
        if self._written >= 0:
            self.scope.connection.execute(
                update(CampaignRow)
                .where(CampaignRow.id == self.scope.campaign_id)
                .values(written=self._written)
            )


def aware(now: datetime) -> datetime:
    """
    Return a moment once it is known to carry a time zone.

    Raises
    ------
    InputError
        It has none.
    """
    if now.tzinfo is None:
        raise InputError(
            "records",
            f"time {now.isoformat()} has no time zone",
            "a time with time zone",
            "Pass datetime.now(timezone.utc).",
        )
    return now
