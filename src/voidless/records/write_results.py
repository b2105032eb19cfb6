"""Writes specimens, instruments and their checks, observations and corrections."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from datetime import datetime

from sqlalchemy import exists, select

from voidless.campaign.types import Observation
from voidless.errors import InputError
from voidless.quantities import Role, quantity
from voidless.records.canonical import finite
from voidless.records.facts import Check, Instrument, Specimen, Use
from voidless.records.history import add_file
from voidless.records.ledger import Ledger, aware
from voidless.records.read_results import specimen_from
from voidless.records.schema.results import (
    InstrumentCheckRow,
    InstrumentRow,
    InstrumentUseRow,
    ObservationTable,
    RetractionRow,
    SpecimenRow,
)
from voidless.records.write_plan import find_build, find_run, must_print
from voidless.units import unit as known_unit

__all__ = [
    "Source",
    "add_check",
    "add_instrument",
    "add_observation",
    "add_specimen",
    "add_use",
    "find_instrument",
    "withdraw_observation",
]


@dataclass(frozen=True)
class Source:
    """Where an observation comes from: file, method version, unit as read, instrument, time of measuring."""

    sha: str = ""
    method_version: str = ""
    unit: str = ""
    instrument: str = ""
    measured_at: datetime | None = None


def _place(ledger: Ledger, run: str, build: str) -> tuple[str | None, str | None]:
    """Return the ids of run and build, None where not recorded, once the build is known to print the run."""
    run_id = find_run(ledger, run) if run else None
    build_id = find_build(ledger, build) if build else None
    if run_id and build_id:
        must_print(ledger, run_id, run, build)
    return run_id, build_id


def _latest_specimen(
    ledger: Ledger, run_id: str | None, build_id: str | None, label: str
) -> tuple[str, Specimen] | None:
    row = ledger.scope.connection.execute(
        select(SpecimenRow.__table__)
        .where(
            SpecimenRow.campaign_id == ledger.scope.campaign_id,
            SpecimenRow.run_id.is_not_distinct_from(run_id),
            SpecimenRow.build_id.is_not_distinct_from(build_id),
            SpecimenRow.label == label,
        )
        .order_by(SpecimenRow.sequence.desc())
        .limit(1)
    ).first()
    return None if row is None else (row.id, specimen_from(row._mapping, "", ""))


def _insert_specimen(ledger: Ledger, run_id: str | None, build_id: str | None, specimen: Specimen) -> str:
    values = {item.name: getattr(specimen, item.name) for item in fields(Specimen)}
    for name in ("run", "build"):
        del values[name]
    for name in ("break_place", "break_mode"):
        values[name] = values[name].value if values[name] is not None else None
    row_id = ledger.insert(SpecimenRow, run_id=run_id, build_id=build_id, **values)
    ledger.known["specimen", run_id or "", build_id or "", specimen.label] = row_id
    return row_id


def add_specimen(ledger: Ledger, specimen: Specimen) -> str:
    """
    Return the id of a specimen; what is stated now corrects or completes what was stated before.

    Raises
    ------
    InputError
        It has no label, a number is impossible, or run and build do not fit.
    """
    if not specimen.label.strip():
        raise InputError("records", "a specimen has no label", "a label", "Label the specimen.")
    for name in ("thickness_mm", "width_mm", "section_mm2", "age_h", "test_speed_mm_min"):
        value = getattr(specimen, name)
        if value is not None:
            finite(name, value, 0.0)
    run_id, build_id = _place(ledger, specimen.run, specimen.build)
    before = _latest_specimen(ledger, run_id, build_id, specimen.label)
    if before is not None:
        stated = {
            item.name: getattr(specimen, item.name)
            for item in fields(Specimen)
            if getattr(specimen, item.name) not in (None, "")
        }
        specimen = replace(before[1], **stated)
    return _insert_specimen(ledger, run_id, build_id, specimen)


def _specimen(ledger: Ledger, run_id: str | None, build_id: str | None, label: str) -> str | None:
    """Return the id of a specimen that an observation names; it is written when it is new."""
    if not label:
        return None
    key = ("specimen", run_id or "", build_id or "", label)
    if key not in ledger.known:
        found = _latest_specimen(ledger, run_id, build_id, label)
        ledger.known[key] = (
            _insert_specimen(ledger, run_id, build_id, Specimen(label)) if found is None else found[0]
        )
    return ledger.known[key]


def add_instrument(ledger: Ledger, instrument: Instrument) -> str:
    """Return the id of an instrument; a second row of the same label corrects the first."""
    row_id = ledger.insert(
        InstrumentRow,
        label=instrument.label,
        kind=instrument.kind,
        resolution=instrument.resolution,
        note=instrument.note,
    )
    ledger.known["instrument", instrument.label] = row_id
    return row_id


def find_instrument(ledger: Ledger, label: str) -> str:
    """
    Return the id of an instrument as last described.

    Raises
    ------
    InputError
        No instrument has this label.
    """
    found = ledger.latest(InstrumentRow, label=label)
    if found is None:
        raise InputError(
            "records", f"instrument {label!r} is not known", "a recorded instrument", "Add it first."
        )
    return found


def add_check(ledger: Ledger, check: Check) -> str:
    """Return the id of a new check of an instrument."""
    return ledger.insert(
        InstrumentCheckRow,
        instrument_id=find_instrument(ledger, check.instrument),
        checked_at=aware(check.checked_at),
        passed=check.passed,
        deviation=None if check.deviation is None else finite("deviation", check.deviation),
        unit=check.unit,
        note=check.note,
        gain=None if check.gain is None else _positive("gain", check.gain),
        offset=None if check.offset is None else finite("offset", check.offset),
        **{
            name: None if (value := getattr(check, name)) is None else finite(name, value, 0.0)
            for name in ("gain_uncertainty", "offset_uncertainty")
        },
    )


def _positive(name: str, value: float) -> float:
    if not finite(name, value, 0.0) > 0:
        raise InputError("records", f"{name} = {value:g}", "a number above 0", "Correct it.")
    return value


def add_use(ledger: Ledger, use: Use) -> str:
    """Return the id of a new tie between a file's results and an instrument; a later one corrects it."""
    if use.quantity:
        quantity(use.quantity, "records", Role.RESPONSE)
    return ledger.insert(
        InstrumentUseRow,
        instrument_id=find_instrument(ledger, use.instrument),
        file_id=add_file(ledger, use.source_sha),
        quantity=use.quantity,
        power=None if use.power is None else finite("power", use.power),
        reading=None if use.reading is None else _positive("reading", use.reading),
        measured_at=None if use.measured_at is None else aware(use.measured_at),
    )


def _unit(observation: Observation, stated: str) -> str:
    """Return the unit of an observation: that of its quantity, which a stated one must equal."""
    name = observation.key.quantity
    own = quantity(name, "records", Role.RESPONSE).unit
    if stated and stated != own and known_unit(stated, "records").symbol != known_unit(own, "records").symbol:
        raise InputError(
            "records", f"{name} in {stated}", f"{own}", "Convert the value before it is recorded."
        )
    return own


def add_observation(ledger: Ledger, observation: Observation, source: Source, supersedes: str | None) -> str:
    """
    Return the id of a new observation; with `supersedes` it corrects an older one, which stays.

    Raises
    ------
    InputError
        Quantity, run, build, file or instrument is not known, the value is not finite, or the older
        observation is not the one that rules.
    """
    key = observation.key
    run_id, build_id = _place(ledger, observation.run, observation.build)
    if supersedes is not None:
        _must_rule(ledger, supersedes)
    uncertainty, mode, broke = observation.uncertainty, observation.break_mode, observation.break_place
    return ledger.insert(
        ObservationTable,
        run_id=run_id,
        build_id=build_id,
        specimen_id=_specimen(ledger, run_id, build_id, observation.specimen),
        quantity=key.quantity,
        method=key.method,
        feature=key.feature,
        conditions=dict(key.conditions),
        value=finite(key.quantity, observation.value),
        unit=_unit(observation, source.unit),
        uncertainty=None
        if uncertainty is None
        else finite(f"uncertainty of {key.quantity}", uncertainty, 0.0),
        bound=observation.bound.value,
        assumed=observation.assumed,
        break_place=broke.value if broke is not None else None,
        break_mode=mode.value if mode is not None else None,
        ordinal=observation.order,
        session=observation.session,
        extra=dict(observation.extra),
        instrument_id=find_instrument(ledger, source.instrument) if source.instrument else None,
        measured_at=None if source.measured_at is None else aware(source.measured_at),
        method_version=source.method_version,
        code_version=ledger.code_version,
        file_id=add_file(ledger, source.sha) if source.sha else None,
        supersedes=supersedes,
    )


def _must_rule(ledger: Ledger, observation_id: str) -> None:
    scope = ledger.scope
    mine = select(ObservationTable.id).where(
        ObservationTable.campaign_id == scope.campaign_id, ObservationTable.id == observation_id
    )
    if scope.connection.execute(mine).scalar() is None:
        raise InputError("records", f"observation {observation_id!r} is not known", "a recorded one", "")
    later = scope.connection.execute(
        select(ObservationTable.id).where(ObservationTable.supersedes == observation_id)
    ).scalar()
    if later is not None:
        raise InputError(
            "records",
            f"observation {observation_id} was already superseded by {later}",
            "the observation that rules",
            "Correct the newer one.",
        )
    if scope.connection.execute(
        select(exists().where(RetractionRow.observation_id == observation_id))
    ).scalar():
        raise InputError(
            "records",
            f"observation {observation_id} was withdrawn",
            "an observation that rules",
            "Record a new observation instead.",
        )


def withdraw_observation(ledger: Ledger, observation_id: str, reason: str) -> str:
    """Return the id of the withdrawal of an observation, which stays on record but no longer counts."""
    _must_rule(ledger, observation_id)
    if not reason.strip():
        raise InputError("records", "a withdrawal has no reason", "the reason in words", "Say why.")
    return ledger.insert(RetractionRow, observation_id=observation_id, reason=reason)
