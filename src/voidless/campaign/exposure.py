"""How long a spool has been out of the dryer, from the intervals in which it stood somewhere."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from voidless.campaign.types import Exposure
from voidless.errors import InputError

__all__ = ["DRYER", "SEALED", "hours_since_dry", "interval_of", "overlapping"]

DRYER = "dryer"
"""Place in which the clock goes back to zero."""

SEALED = "sealed"
"""Place (with desiccant, closed) in which the clock stands still."""

_SECONDS_PER_HOUR = 3600.0


@dataclass(frozen=True)
class _Interval:
    place: str
    start: datetime
    end: datetime


def _moment(text: str, where: str) -> datetime:
    try:
        return datetime.fromisoformat(text.strip())
    except ValueError as problem:
        raise InputError(
            where, f"{text!r} is not a time", "ISO 8601, such as 2026-03-02T14:30", "Correct the time."
        ) from problem


def interval_of(exposure: Exposure, where: str = "exposure") -> tuple[datetime, datetime]:
    """
    Return start and end of an interval as moments.

    Raises
    ------
    InputError
        A time is not ISO 8601, only one of the two has a time zone, or the end is not after the start.
    """
    start, end = _moment(exposure.start, where), _moment(exposure.end, where)
    _comparable(start, end, where)
    if not end > start:
        raise InputError(
            where,
            f"spool {exposure.spool}: end {exposure.end} is not after start {exposure.start}",
            "an end after the start",
            "Correct the times.",
        )
    return start, end


def _comparable(first: datetime, second: datetime, where: str) -> None:
    if (first.tzinfo is None) != (second.tzinfo is None):
        raise InputError(
            where,
            f"one of {first.isoformat()} and {second.isoformat()} has a time zone, the other has none",
            "times that all have a time zone, or none",
            "Write all times of a spool the same way.",
        )


def hours_since_dry(intervals: Iterable[Exposure], at: datetime, where: str = "exposure") -> float | None:
    """
    Return how long a spool had been out of the dryer; None when it is not known to have been dried.

    Parameters
    ----------
    intervals : iterable of Exposure
        Intervals of one spool, in any order.
    at : datetime
        The moment asked for, usually the start of a build.
    where : str
        Place that an error names.

    Returns
    -------
    hours : float or None
        Time since the last stay in `dryer` ended, without stays in `sealed`. Time that no interval
        covers counts as open: what nobody wrote down was not protected. [h]

    Raises
    ------
    InputError
        A time is not ISO 8601, an interval ends before it starts, or time zones are mixed.

    Examples
    --------
    >>> dried = Exposure("S1", "2026-03-02T08:00", "2026-03-02T14:00", "dryer")
    >>> kept = Exposure("S1", "2026-03-02T15:00", "2026-03-02T20:00", "sealed")
    >>> hours_since_dry([dried, kept], datetime(2026, 3, 2, 21, 30))
    2.5
    """
    stays = []
    for exposure in intervals:
        start, end = interval_of(exposure, where)
        _comparable(start, at, where)
        stays.append(_Interval(exposure.place.strip().lower(), start, min(end, at)))
    dried = [stay.end for stay in stays if stay.place == DRYER and stay.start <= at]
    if not dried:
        return None
    since = max(dried)
    sealed = [
        (max(stay.start, since), stay.end)
        for stay in stays
        if stay.place == SEALED and stay.end > since and stay.start < at
    ]
    return ((at - since).total_seconds() - _covered(sealed)) / _SECONDS_PER_HOUR


def overlapping(stay: Exposure, others: Iterable[Exposure], where: str = "exposure") -> list[Exposure]:
    """Return the other intervals of the same spool that share time with one; those that only touch do not."""
    start, end = interval_of(stay, where)
    found = []
    for other in others:
        begin, until = interval_of(other, where)
        _comparable(start, begin, where)
        if other.spool == stay.spool and begin < end and start < until:
            found.append(other)
    return found


def _covered(stays: list[tuple[datetime, datetime]]) -> float:
    """Return the time that intervals cover, overlaps counted once. [s]"""
    total, reached = 0.0, None
    for start, end in sorted(stays):
        begin = start if reached is None else max(start, reached)
        if end > begin:
            total += (end - begin).total_seconds()
            reached = end
    return total
