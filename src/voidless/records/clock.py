"""Keeps the logged times of a campaign comparable: all with a time zone, or none."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import select

from voidless.errors import InputError
from voidless.records.ledger import Ledger
from voidless.records.schema.plan import BuildFactRow
from voidless.records.schema.spools import ExposureRow

__all__ = ["MOMENTS", "comparable_moment"]

MOMENTS = ("started", "ended")
"""Facts of a build that are times."""


def _earlier(ledger: Ledger) -> str | None:
    """Return some time that was logged before, as text."""
    campaign = ledger.scope.campaign_id
    fact = select(BuildFactRow.value).where(
        BuildFactRow.campaign_id == campaign, BuildFactRow.name.in_(MOMENTS)
    )
    stay = select(ExposureRow.start).where(ExposureRow.campaign_id == campaign)
    for query in (fact, stay):
        found = ledger.scope.connection.execute(query.limit(1)).scalar()
        if found is not None:
            return str(found)
    return None


def comparable_moment(ledger: Ledger, value: datetime | str) -> str:
    """
    Return a time as ISO 8601 text once it is known to be comparable with those logged before.

    Raises
    ------
    InputError
        It is not a time, or has a time zone where earlier ones have none, or the other way round.
    """
    text = value.isoformat() if isinstance(value, datetime) else str(value).strip()
    try:
        moment = datetime.fromisoformat(text)
    except ValueError as problem:
        raise InputError(
            "records",
            f"{text[:80]!r} is not a time",
            "ISO 8601, such as 2026-03-02T14:30",
            "Correct the time.",
        ) from problem
    earlier = _earlier(ledger)
    if earlier is not None:
        zoned = datetime.fromisoformat(earlier).tzinfo is not None
        if zoned != (moment.tzinfo is not None):
            raise InputError(
                "records",
                f"time {text} and the earlier {earlier} cannot be compared: one has a time zone",
                "a time with time zone" if zoned else "a time without time zone",
                "Write all times of a campaign the same way.",
            )
    return text
