"""Looks at the store as a whole: its campaigns, counts, a hash of everything that results derive from, and problems."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from sqlalchemy import func, select

from voidless.errors import InputError
from voidless.records.canonical import canonical_json, sha256_of
from voidless.records.content import ContentStore
from voidless.records.database import Database
from voidless.records.facts import Problem
from voidless.records.ledger import Scope
from voidless.records.read_plan import is_current, spent_builds
from voidless.records.schema.base import Row
from voidless.records.schema.history import DerivedRow, EventRow, FileRow
from voidless.records.schema.plan import (
    BuildFactRow,
    BuildRow,
    BuildRunRow,
    CampaignRow,
    CampaignVersionRow,
    RealisedRow,
    RunRow,
    SessionRow,
)
from voidless.records.schema.results import (
    InstrumentCheckRow,
    InstrumentRow,
    InstrumentUseRow,
    ObservationTable,
    RetractionRow,
    SpecimenRow,
)
from voidless.records.schema.spools import ExposureRow, SpoolRow

__all__ = ["campaign_of", "counts", "inputs_hash", "problems"]

_COUNTED: Mapping[str, type[Row]] = {
    "runs": RunRow,
    "builds": BuildRow,
    "files": FileRow,
    "events": EventRow,
    "derived": DerivedRow,
    "observations_ever": ObservationTable,
}

# Everything that a derived result can depend on; events and derived records themselves are not.
_INPUTS = (
    CampaignVersionRow,
    RunRow,
    BuildRow,
    BuildRunRow,
    BuildFactRow,
    RealisedRow,
    SessionRow,
    SpoolRow,
    ExposureRow,
    SpecimenRow,
    InstrumentRow,
    InstrumentCheckRow,
    InstrumentUseRow,
    ObservationTable,
    RetractionRow,
)


def campaign_of(database: Database, name: str | None) -> tuple[str, str]:
    """
    Return id and name of the campaign that is meant: the only one, or the one named.

    Raises
    ------
    InputError
        None fits, or several do.
    """
    with database.reading() as connection:
        found: list[Any] = list(connection.execute(select(CampaignRow.id, CampaignRow.name)))
    chosen = [row for row in found if name is None or row[1] == name]
    if len(chosen) != 1:
        names = ", ".join(sorted(row[1] for row in found)) or "none"
        raise InputError(
            str(database.path),
            f"{len(chosen)} campaigns fit" + ("" if name is None else f" the name {name!r}"),
            f"the name of one of: {names}",
            "Name the campaign.",
        )
    return chosen[0][0], chosen[0][1]


def counts(scope: Scope) -> dict[str, int]:
    """Return how many rows of each kind the campaign has; `observations` are those that rule."""
    found = {
        name: scope.connection.execute(
            select(func.count()).select_from(table).where(table.campaign_id == scope.campaign_id)
        ).scalar_one()
        for name, table in _COUNTED.items()
    }
    ruling = is_current(
        select(func.count(ObservationTable.id)).where(ObservationTable.campaign_id == scope.campaign_id)
    )
    found["observations"] = scope.connection.execute(ruling).scalar_one()
    found["builds_spent"] = len(spent_builds(scope))
    return found


def inputs_hash(scope: Scope) -> str:
    """
    Return a hash that changes whenever anything changes that results derive from.

    Rows are only ever added, so the last row of each table stands for all of it.
    """
    last: Mapping[str, str | None] = {
        table.__tablename__: scope.connection.execute(
            select(table.id)
            .where(table.campaign_id == scope.campaign_id)
            .order_by(table.sequence.desc())
            .limit(1)
        ).scalar()
        for table in _INPUTS
    }
    return sha256_of(canonical_json(last))


def problems(
    database: Database, content: ContentStore, named: Mapping[str, str], leftovers: Iterable[Path]
) -> list[Problem]:
    """
    Return everything that is wrong with a store, lost evidence first.

    Parameters
    ----------
    named : mapping of str to str
        Name by hash of the files on record.
    leftovers : iterable of Path
        Unfinished files that an interrupted write left behind.
    """
    restore = "Restore it from a backup, or read the original file again."
    found = [
        Problem("database", str(database.path), fault, "Restore the folder from a backup.")
        for fault in database.faults()
    ]
    for sha, name in sorted(named.items(), key=lambda item: item[1]):
        state = content.state(sha)
        if state != "sound":
            found.append(
                Problem(state, str(content.path(sha)), f"the raw file of {name} is {state}", restore)
            )
    harmless = "Harmless rest of an interrupted write; it may be deleted while nothing is running."
    found += [
        Problem("orphan", str(content.path(sha)), "a stored file is not on record", harmless)
        for sha in sorted(content.stored() - named.keys())
    ]
    found += [Problem("leftover", str(path), "an unfinished file", harmless) for path in leftovers]
    return found
