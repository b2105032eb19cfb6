"""Specimens, instruments and observations: the lower levels of the tree of scatter."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from voidless.records.schema.base import Base, CanonicalJson, Row

__all__ = [
    "InstrumentCheckRow",
    "InstrumentRow",
    "InstrumentUseRow",
    "ObservationTable",
    "RetractionRow",
    "SpecimenRow",
]


class SpecimenRow(Row, Base):
    """A test piece; a later row of the same run, build and label corrects or completes an earlier one."""

    __tablename__ = "specimen"
    run_id: Mapped[str | None] = mapped_column(ForeignKey("run.id"))
    build_id: Mapped[str | None] = mapped_column(ForeignKey("build.id"), index=True)
    label: Mapped[str]
    kind: Mapped[str] = mapped_column(default="")
    orientation: Mapped[str] = mapped_column(default="")
    thickness_mm: Mapped[float | None]
    width_mm: Mapped[float | None]
    section_mm2: Mapped[float | None]
    break_place: Mapped[str | None]
    break_mode: Mapped[str | None]
    conditioning: Mapped[str] = mapped_column(default="")
    age_h: Mapped[float | None]
    test_speed_mm_min: Mapped[float | None]
    operator: Mapped[str] = mapped_column(default="")
    bed_side: Mapped[str] = mapped_column(default="")
    first_layer: Mapped[str] = mapped_column(default="")
    top: Mapped[str] = mapped_column(default="")
    polish: Mapped[str] = mapped_column(default="")
    coating: Mapped[str] = mapped_column(default="")
    annealing: Mapped[str] = mapped_column(default="")


class InstrumentRow(Row, Base):
    """Something that measures; a later row of the same label corrects an earlier one."""

    __tablename__ = "instrument"
    label: Mapped[str]
    kind: Mapped[str] = mapped_column(default="")
    resolution: Mapped[str] = mapped_column(default="")
    note: Mapped[str] = mapped_column(default="")


class InstrumentCheckRow(Row, Base):
    """One check of an instrument, passed or failed."""

    __tablename__ = "instrument_check"
    instrument_id: Mapped[str] = mapped_column(ForeignKey("instrument.id"), index=True)
    checked_at: Mapped[datetime]
    passed: Mapped[bool]
    deviation: Mapped[float | None]
    unit: Mapped[str] = mapped_column(default="")
    note: Mapped[str] = mapped_column(default="")
    gain: Mapped[float | None]
    offset: Mapped[float | None]
    gain_uncertainty: Mapped[float | None]
    offset_uncertainty: Mapped[float | None]


class InstrumentUseRow(Row, Base):
    """That the results of a file rest on an instrument; a later row of the same three corrects an earlier one."""

    __tablename__ = "instrument_use"
    instrument_id: Mapped[str] = mapped_column(ForeignKey("instrument.id"))
    file_id: Mapped[str] = mapped_column(ForeignKey("file.id"))
    quantity: Mapped[str] = mapped_column(default="")
    power: Mapped[float | None]
    reading: Mapped[float | None]
    measured_at: Mapped[datetime | None]


class ObservationTable(Row, Base):
    """
    One reading or reduced result, keyed by quantity, method, feature and conditions.

    A row is the lowest level of the tree: rows with the same specimen and key are repeated readings.
    """

    __tablename__ = "observation"
    __table_args__ = (CheckConstraint("bound IN ('exact', 'lower', 'upper')", "bound"),)
    run_id: Mapped[str | None] = mapped_column(ForeignKey("run.id"), index=True)
    build_id: Mapped[str | None] = mapped_column(ForeignKey("build.id"), index=True)
    specimen_id: Mapped[str | None] = mapped_column(ForeignKey("specimen.id"))
    quantity: Mapped[str] = mapped_column(index=True)
    method: Mapped[str]
    feature: Mapped[str]
    conditions: Mapped[Any] = mapped_column(CanonicalJson)
    value: Mapped[float]
    unit: Mapped[str]
    uncertainty: Mapped[float | None]
    bound: Mapped[str]
    assumed: Mapped[bool]
    break_place: Mapped[str | None]
    break_mode: Mapped[str | None]
    ordinal: Mapped[int | None]
    session: Mapped[str]
    extra: Mapped[Any] = mapped_column(CanonicalJson)
    instrument_id: Mapped[str | None] = mapped_column(ForeignKey("instrument.id"), index=True)
    measured_at: Mapped[datetime | None]
    method_version: Mapped[str]
    code_version: Mapped[str]
    file_id: Mapped[str | None] = mapped_column(ForeignKey("file.id"), index=True)
    supersedes: Mapped[str | None] = mapped_column(ForeignKey("observation.id"), unique=True)


class RetractionRow(Row, Base):
    """The withdrawal of an observation that should not have been recorded; the observation stays."""

    __tablename__ = "retraction"
    observation_id: Mapped[str] = mapped_column(ForeignKey("observation.id"), unique=True)
    reason: Mapped[str]
