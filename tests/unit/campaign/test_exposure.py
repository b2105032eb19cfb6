"""Hours since the dryer, from intervals."""

from datetime import UTC, datetime

import pytest

from voidless.campaign.exposure import hours_since_dry
from voidless.campaign.types import Exposure
from voidless.errors import InputError


def stay(place, start, end):
    return Exposure("S1", f"2026-03-{start}", f"2026-03-{end}", place)


def at(text):
    return datetime.fromisoformat(f"2026-03-{text}")


DRIED = stay("dryer", "02T00:00", "02T06:00")
SEALED = stay("sealed", "02T07:00", "02T10:00")


@pytest.mark.parametrize(
    ("intervals", "moment", "hours"),
    [
        ([], "02T08:00", None),
        ([stay("room", "01T00:00", "02T00:00")], "02T08:00", None),
        ([DRIED], "01T23:00", None),
        ([DRIED], "02T06:00", 0.0),
        ([DRIED], "02T03:00", 0.0),
        ([DRIED], "02T08:30", 2.5),
        ([DRIED, stay("room", "02T06:00", "02T09:00")], "03T06:00", 24.0),
        ([DRIED, stay("sealed", "02T07:00", "02T17:00")], "02T18:00", 2.0),
        ([DRIED, stay("sealed", "02T07:00", "02T17:00")], "02T10:00", 1.0),
        ([DRIED, stay("sealed", "02T05:00", "02T08:00")], "02T09:00", 1.0),
        ([DRIED, SEALED, stay("sealed", "02T08:00", "02T09:00")], "02T12:00", 3.0),
        ([DRIED, SEALED, stay("sealed", "02T09:00", "02T11:00")], "02T12:00", 2.0),
        ([DRIED, stay("Dryer ", "03T00:00", "03T04:00")], "03T05:00", 1.0),
        ([stay("dryer", "03T00:00", "03T04:00"), DRIED], "02T09:00", 3.0),
    ],
    ids=lambda value: None if isinstance(value, list) else str(value),
)
def test_hours_since_the_dryer(intervals, moment, hours):
    assert hours_since_dry(intervals, at(moment)) == hours
    assert hours_since_dry(list(reversed(intervals)), at(moment)) == hours


@pytest.mark.parametrize(
    ("interval", "said"),
    [
        (stay("dryer", "02T06:00", "02T06:00"), "is not after start"),
        (stay("dryer", "02T06:00", "02T05:00"), "is not after start"),
        (stay("dryer", "02", "02T25:00"), "is not a time"),
        (stay("dryer", "02T00:00Z", "02T05:00"), "time zone"),
    ],
)
def test_impossible_intervals_are_refused(interval, said):
    with pytest.raises(InputError, match=said):
        hours_since_dry([interval], at("03T00:00"))


def test_a_moment_with_zone_is_not_compared_with_times_without():
    with pytest.raises(InputError, match=r"one of .* has a time zone"):
        hours_since_dry([DRIED], datetime(2026, 3, 2, 8, tzinfo=UTC))
