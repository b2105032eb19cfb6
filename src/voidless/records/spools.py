"""Lots, spools and where each spool has been: written and read."""

from __future__ import annotations

from sqlalchemy import exists, select
from sqlalchemy.orm import aliased

from voidless.campaign.exposure import interval_of
from voidless.campaign.types import Exposure
from voidless.errors import InputError
from voidless.records.canonical import finite
from voidless.records.clock import comparable_moment
from voidless.records.facts import Spool
from voidless.records.ledger import Ledger, Scope
from voidless.records.schema.spools import ExposureRow, LotRow, SpoolRow

__all__ = ["add_exposure", "add_spool", "exposures", "find_spool", "spools"]


def _lot(ledger: Ledger, label: str, material: str) -> str | None:
    if not label:
        return None
    found = ledger.latest(LotRow, material=material, label=label)
    return found or ledger.insert(LotRow, label=label, material=material)


def add_spool(ledger: Ledger, spool: Spool) -> str:
    """Return the id of a spool; a second row of the same label corrects the first."""
    if not spool.label.strip():
        raise InputError("records", "a spool has no label", "a label", "Name the spool.")
    if spool.diameter_mm is not None:
        finite("diameter_mm", spool.diameter_mm, 0.0)
    row_id = ledger.insert(
        SpoolRow,
        label=spool.label,
        material=spool.material,
        lot_id=_lot(ledger, spool.lot, spool.material),
        colour=spool.colour,
        diameter_mm=spool.diameter_mm,
        note=spool.note,
    )
    ledger.known["spool", spool.label] = row_id
    return row_id


def find_spool(ledger: Ledger, label: str) -> str:
    """
    Return the id of a spool as last described.

    Raises
    ------
    InputError
        No spool has this label.
    """
    found = ledger.latest(SpoolRow, label=label)
    if found is None:
        raise InputError(
            "records", f"spool {label!r} is not known", "a recorded spool", "Add the spool first."
        )
    return found


def add_exposure(ledger: Ledger, exposure: Exposure, replaces: Exposure | None) -> str:
    """
    Return the id of a new interval; `replaces` is the one that it corrects.

    Raises
    ------
    InputError
        The spool is not known, the times are impossible, or `replaces` is not recorded.
    """
    interval_of(exposure, "records")
    if exposure.temperature_c is not None:
        finite("temperature_c", exposure.temperature_c)
    if exposure.humidity_pct is not None:
        finite("humidity_pct", exposure.humidity_pct, 0.0)
    supersedes = None
    if replaces is not None:
        rows = [row_id for row_id, found in _current(ledger.scope) if found == replaces]
        if not rows:
            raise InputError(
                "records", f"no such interval of spool {replaces.spool}", "a recorded interval", ""
            )
        supersedes = rows[0]
    return ledger.insert(
        ExposureRow,
        spool_id=find_spool(ledger, exposure.spool),
        start=comparable_moment(ledger, exposure.start),
        end=comparable_moment(ledger, exposure.end),
        place=exposure.place,
        temperature_c=exposure.temperature_c,
        humidity_pct=exposure.humidity_pct,
        supersedes=supersedes,
    )


def _current(scope: Scope) -> list[tuple[str, Exposure]]:
    later = aliased(ExposureRow)
    rows = scope.connection.execute(
        select(
            ExposureRow.id,
            SpoolRow.label,
            ExposureRow.start,
            ExposureRow.end,
            ExposureRow.place,
            ExposureRow.temperature_c,
            ExposureRow.humidity_pct,
        )
        .join(SpoolRow, SpoolRow.id == ExposureRow.spool_id)
        .where(
            ExposureRow.campaign_id == scope.campaign_id,
            ~exists().where(later.supersedes == ExposureRow.id),
        )
        .order_by(ExposureRow.sequence)
    )
    return [(row[0], Exposure(*row[1:])) for row in rows]


def exposures(scope: Scope) -> list[Exposure]:
    """Return the intervals that rule, in the order in which they were recorded."""
    return [exposure for _, exposure in _current(scope)]


def spools(scope: Scope) -> list[Spool]:
    """Return the spools as last described, by label."""
    rows = scope.connection.execute(
        select(
            SpoolRow.label,
            SpoolRow.material,
            LotRow.label,
            SpoolRow.colour,
            SpoolRow.diameter_mm,
            SpoolRow.note,
        )
        .outerjoin(LotRow, LotRow.id == SpoolRow.lot_id)
        .where(SpoolRow.campaign_id == scope.campaign_id)
        .order_by(SpoolRow.sequence)
    )
    found = {row[0]: Spool(row[0], row[1], row[2] or "", row[3], row[4], row[5]) for row in rows}
    return [found[label] for label in sorted(found)]
