"""Raw files, derived records and the log of events."""

from __future__ import annotations

from typing import Any

from sqlalchemy import UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from voidless.records.schema.base import Base, CanonicalJson, Row

__all__ = ["DerivedRow", "EventRow", "FileRow"]


class FileRow(Row, Base):
    """A raw file of the content store under a name it came by; `size` in bytes."""

    __tablename__ = "file"
    __table_args__ = (UniqueConstraint("campaign_id", "sha256", "name"),)
    sha256: Mapped[str]
    name: Mapped[str]
    size: Mapped[int]
    kind: Mapped[str]


class DerivedRow(Row, Base):
    """Something computed, with the code version and the hashes of what it came from."""

    __tablename__ = "derived_record"
    kind: Mapped[str] = mapped_column(index=True)
    version: Mapped[int]
    payload: Mapped[Any] = mapped_column(CanonicalJson)
    inputs: Mapped[Any] = mapped_column(CanonicalJson)
    code_version: Mapped[str]


class EventRow(Row, Base):
    """Something that happened: a short name and its particulars."""

    __tablename__ = "event"
    kind: Mapped[str] = mapped_column(index=True)
    payload: Mapped[Any] = mapped_column(CanonicalJson)
