"""What every table shares: names of constraints, types that survive every database, the common columns."""

from __future__ import annotations

import json
import uuid
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import ForeignKey, MetaData, Text
from sqlalchemy.engine import Dialect
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column
from sqlalchemy.types import TypeDecorator

from voidless.errors import InputError
from voidless.records.canonical import canonical_json

__all__ = ["Base", "CanonicalJson", "Instant", "Row", "new_id"]


def new_id() -> str:
    """Return a fresh opaque identifier of 32 hexadecimal digits."""
    return uuid.uuid4().hex


class Instant(TypeDecorator[datetime]):
    """A moment, kept as ISO 8601 text in UTC: the same in every database, and sorted as text."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> str | None:  # noqa: ARG002
        """Return the text that is kept."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise InputError(
                "records",
                f"time {value.isoformat()} has no time zone",
                "a time with time zone",
                "Pass datetime.now(timezone.utc).",
            )
        return value.astimezone(UTC).isoformat(timespec="microseconds")

    def process_result_value(self, value: str | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """Return the moment that the text tells."""
        return None if value is None else datetime.fromisoformat(value)


class CanonicalJson(TypeDecorator[Any]):
    """JSON kept as canonical text, so that equal values are equal texts and can be compared."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Any, dialect: Dialect) -> str:  # noqa: ARG002
        """Return the text that is kept."""
        return canonical_json(value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> Any:  # noqa: ARG002
        """Return the value that the text tells."""
        return None if value is None else json.loads(value)


class Base(DeclarativeBase):
    """Base of all tables; constraint names are fixed so that later migrations can name them."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map = {str: Text(), datetime: Instant()}  # noqa: RUF012 - SQLAlchemy's own protocol


class Row:
    """
    The columns of every table but `campaign`: who it is, whose it is, when it was written.

    `sequence` counts everything written in a campaign, so that "later" never depends on a clock.
    """

    __tablename__: Any
    id: Mapped[str] = mapped_column(primary_key=True, default=new_id)
    campaign_id: Mapped[str] = mapped_column(ForeignKey("campaign.id"), index=True)
    sequence: Mapped[int]
    time: Mapped[datetime]
