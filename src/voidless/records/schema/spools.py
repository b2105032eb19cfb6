"""Lots, spools and where each spool has been."""

from __future__ import annotations

from sqlalchemy import ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from voidless.records.schema.base import Base, Row

__all__ = ["ExposureRow", "LotRow", "SpoolRow"]


class LotRow(Row, Base):
    """One production lot of a material."""

    __tablename__ = "lot"
    label: Mapped[str]
    material: Mapped[str] = mapped_column(default="")


class SpoolRow(Row, Base):
    """One spool; a later row of the same label corrects an earlier one."""

    __tablename__ = "spool"
    label: Mapped[str]
    material: Mapped[str] = mapped_column(default="")
    lot_id: Mapped[str | None] = mapped_column(ForeignKey("lot.id"))
    colour: Mapped[str] = mapped_column(default="")
    diameter_mm: Mapped[float | None]
    note: Mapped[str] = mapped_column(default="")


class ExposureRow(Row, Base):
    """An interval in which a spool stood somewhere; `supersedes` names the row that it corrects."""

    __tablename__ = "exposure"
    spool_id: Mapped[str] = mapped_column(ForeignKey("spool.id"), index=True)
    start: Mapped[str]
    end: Mapped[str]
    place: Mapped[str]
    temperature_c: Mapped[float | None]
    humidity_pct: Mapped[float | None]
    supersedes: Mapped[str | None] = mapped_column(ForeignKey("exposure.id"), unique=True)
