"""Campaign, sessions, bed layouts, runs and builds: the upper levels of the tree of scatter."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from voidless.records.schema.base import Base, CanonicalJson, Row, new_id

__all__ = [
    "BedLayoutRow",
    "BuildFactRow",
    "BuildRow",
    "BuildRunRow",
    "CampaignRow",
    "CampaignVersionRow",
    "RealisedRow",
    "RunRow",
    "SessionRow",
]


class CampaignRow(Base):
    """One campaign; `written` counts the rows written so far and is the only value that ever changes."""

    __tablename__ = "campaign"
    id: Mapped[str] = mapped_column(primary_key=True, default=new_id)
    name: Mapped[str]
    time: Mapped[datetime]
    written: Mapped[int] = mapped_column(default=0)


class CampaignVersionRow(Row, Base):
    """A text of the campaign file; the latest rules, all are kept."""

    __tablename__ = "campaign_version"
    text: Mapped[str]
    sha256: Mapped[str]


class SessionRow(Row, Base):
    """One day of work; a later row of the same ordinal corrects an earlier one."""

    __tablename__ = "session"
    ordinal: Mapped[int]
    label: Mapped[str] = mapped_column(default="")
    operator: Mapped[str] = mapped_column(default="")
    note: Mapped[str] = mapped_column(default="")


class BedLayoutRow(Row, Base):
    """What is printed together on one bed, and where; a later row of the same label corrects it."""

    __tablename__ = "bed_layout"
    label: Mapped[str]
    content: Mapped[Any] = mapped_column(CanonicalJson)


class RunRow(Row, Base):
    """One combination of levels; never changed, its label never used again."""

    __tablename__ = "run"
    __table_args__ = (UniqueConstraint("campaign_id", "label"),)
    label: Mapped[str]
    number: Mapped[int | None]
    settings: Mapped[Any] = mapped_column(CanonicalJson)
    reason: Mapped[str] = mapped_column(default="")
    origin: Mapped[str] = mapped_column(default="")


class BuildRow(Row, Base):
    """One build cycle as it was proposed or first heard of; what happened to it are its facts."""

    __tablename__ = "build"
    __table_args__ = (UniqueConstraint("campaign_id", "label"), CheckConstraint("ordinal >= 1", "ordinal"))
    label: Mapped[str]
    number: Mapped[int | None]
    ordinal: Mapped[int]
    planned: Mapped[bool]
    session_id: Mapped[str] = mapped_column(ForeignKey("session.id"))
    bed_layout_id: Mapped[str | None] = mapped_column(ForeignKey("bed_layout.id"))


class BuildRunRow(Row, Base):
    """Which runs a build prints, and where on the bed."""

    __tablename__ = "build_run"
    __table_args__ = (UniqueConstraint("build_id", "run_id"),)
    build_id: Mapped[str] = mapped_column(ForeignKey("build.id"))
    run_id: Mapped[str] = mapped_column(ForeignKey("run.id"), index=True)
    position: Mapped[int]


class BuildFactRow(Row, Base):
    """One thing logged about a build; the latest of each name rules, all are kept."""

    __tablename__ = "build_fact"
    build_id: Mapped[str] = mapped_column(ForeignKey("build.id"), index=True)
    name: Mapped[str]
    value: Mapped[Any] = mapped_column(CanonicalJson)
    file_id: Mapped[str | None] = mapped_column(ForeignKey("file.id"))


class RealisedRow(Row, Base):
    """What a setting really was in a build; the latest of each name rules, all are kept."""

    __tablename__ = "realised"
    build_id: Mapped[str] = mapped_column(ForeignKey("build.id"), index=True)
    name: Mapped[str]
    value: Mapped[float]
    sd: Mapped[float | None]
    source: Mapped[str]
