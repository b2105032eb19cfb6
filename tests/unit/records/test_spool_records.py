"""Spools, lots and exposure: corrected intervals replace, and stay on record."""

from dataclasses import replace

import pytest

from voidless.campaign.types import Exposure
from voidless.errors import InputError
from voidless.records.facts import Spool

DRIED = Exposure("S1", "2026-03-02T00:00", "2026-03-02T06:00", "dryer", 65.0, 10.0)


@pytest.fixture
def spooled(store, now):
    with store.writing(now) as writer:
        writer.add_spool(Spool("S1", "petg", "L7", "clear", 1.743))
        writer.add_exposure(DRIED)
    return store


def test_spools_and_lots_come_back(spooled, now):
    with spooled.writing(now) as writer:
        writer.add_spool(Spool("S2", "petg", "L7", "red"))
        writer.add_spool(Spool("S1", "petg", "L8", "clear", 1.75, "label was misread"))
    assert spooled.spools() == [
        Spool("S1", "petg", "L8", "clear", 1.75, "label was misread"),
        Spool("S2", "petg", "L7", "red"),
    ]
    assert spooled.exposures() == [DRIED]


def test_a_corrected_interval_replaces_the_old(spooled, now):
    corrected = replace(DRIED, end="2026-03-02T04:00")
    with spooled.writing(now) as writer:
        writer.add_exposure(corrected, replaces=DRIED)
    assert spooled.exposures() == [corrected]
    with pytest.raises(InputError, match="no such interval"), spooled.writing(now) as writer:
        writer.add_exposure(corrected, replaces=DRIED)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"spool": "S9"}, "spool 'S9' is not known"),
        ({"end": "2026-03-02T00:00"}, "is not after start"),
        ({"start": "monday"}, "is not a time"),
        ({"start": "2026-03-02T00:00Z"}, "time zone"),
        ({"start": "2026-03-02T00:00Z", "end": "2026-03-02T06:00Z"}, "cannot be compared"),
        ({"humidity_pct": -1.0}, "humidity_pct"),
        ({"temperature_c": float("nan")}, "temperature_c"),
    ],
)
def test_impossible_intervals_are_refused(spooled, now, change, said):
    with pytest.raises(InputError, match=said), spooled.writing(now) as writer:
        writer.add_exposure(replace(DRIED, **change))
    assert spooled.exposures() == [DRIED]


def test_a_spool_needs_a_label_and_a_possible_diameter(store, now):
    for spool, said in ((Spool(""), "no label"), (Spool("S1", diameter_mm=-1.75), "diameter_mm")):
        with pytest.raises(InputError, match=said), store.writing(now) as writer:
            writer.add_spool(spool)
