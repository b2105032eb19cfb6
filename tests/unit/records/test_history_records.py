"""Campaign versions, events, derived records, counts, and several campaigns in one store."""

import math
from datetime import datetime

import pytest
from sqlalchemy import insert

from voidless.errors import InputError
from voidless.records.database import Database
from voidless.records.schema.plan import CampaignRow
from voidless.records.store import Store


def test_every_change_of_the_campaign_file_is_a_version(store, later):
    first = store.campaign_text
    assert not store.record_campaign_text(first, later())
    assert store.record_campaign_text("second", later())
    assert not store.record_campaign_text("second", later())
    assert store.record_campaign_text(first, later())
    assert store.campaign_text == first
    with store.writing(later()) as writer:
        assert not writer.record_campaign_text(first)
        assert writer.record_campaign_text("third")


def test_events_come_back_in_order(store, later):
    with store.writing(later()) as writer:
        writer.add_event("plan", {"seed": 7, "design": "space filling"})
        writer.add_event("make")
    assert [(event.kind, event.payload) for event in store.events()] == [
        ("plan", {"seed": 7, "design": "space filling"}),
        ("make", {}),
    ]
    assert [event.kind for event in store.events("make")] == ["make"]


def test_derived_records_are_versions_with_inputs(store, later):
    assert store.latest_derived("model") is None
    with store.writing(later()) as writer:
        writer.add_derived("model", {"mean": [1.5, 2.5]}, ["aa", "bb"])
    with store.writing(later()) as writer:
        writer.add_derived("model", {"mean": [1.0]}, ["cc"])
        writer.add_derived("window", 3)
    newest = store.latest_derived("model")
    assert (newest.version, newest.payload, newest.inputs) == (2, {"mean": [1.0]}, ("cc",))
    assert newest.code_version
    assert [record.version for record in store.derived("model")] == [2, 1]
    with pytest.raises(InputError, match="cannot be kept as JSON"), store.writing(later()) as writer:
        writer.add_derived("model", {"mean": math.nan})
    assert store.latest_derived("model") == newest


def test_the_hash_of_inputs_changes_with_every_input_and_nothing_else(printed, now, seen):
    known = {printed.inputs_hash()}

    def changed(write):
        with printed.writing(now) as writer:
            result = write(writer)
        before = len(known)
        known.add(printed.inputs_hash())
        return len(known) > before, result

    added, first = changed(lambda writer: writer.add_observation(seen()))
    assert added
    for write in (
        lambda writer: writer.supersede(first, seen(value=0.6)),
        lambda writer: writer.set_build_fact("B01", "exposure_h", 2),
        lambda writer: writer.set_realised("B01", "flow_pct", 99.0),
        lambda writer: writer.record_campaign_text("changed"),
        lambda writer: writer.add_build("R01"),
    ):
        assert changed(write)[0]
    for write in (lambda writer: writer.add_event("learn"), lambda writer: writer.add_derived("model", 1)):
        assert not changed(write)[0]


def test_counts_tell_ruling_from_ever(printed, now, seen):
    with printed.writing(now) as writer:
        first = writer.add_observation(seen())
        writer.supersede(first, seen(value=0.6))
    counts = printed.counts()
    assert (counts["runs"], counts["builds"], counts["builds_spent"]) == (3, 3, 1)
    assert (counts["observations"], counts["observations_ever"]) == (1, 2)


def test_a_time_without_zone_is_refused(store):
    with pytest.raises(InputError, match="no time zone"), store.writing(datetime(2026, 3, 2)):
        pass


def test_two_campaigns_of_one_store_do_not_see_each_other(printed, now, seen):
    database = Database(printed.folder / "records.sqlite")
    with database.writing() as connection:
        connection.execute(
            insert(CampaignRow), {"id": "second", "name": "light pipe", "time": now, "written": 0}
        )
    database.close()
    with pytest.raises(InputError, match=r"2 campaigns fit.*light pipe, sight glass"):
        Store.open(printed.folder)
    with pytest.raises(InputError, match="0 campaigns fit the name 'x'"):
        Store.open(printed.folder, campaign="x")
    with Store.open(printed.folder, campaign="light pipe") as other:
        sha = other.put_file(b"a", "a.csv", "result_table")
        with other.writing(now) as writer:
            assert writer.add_run({"flow_pct": 90.0}) == "R01"
            assert writer.add_build("R01") == "B01"
            writer.add_observation(seen(value=0.1), source_sha=sha)
            writer.add_event("plan")
        assert [found.value for found in other.observations()] == [0.1]
        foreign = other.rows()[0].id
    assert printed.observations() == []
    assert printed.events() == []
    assert not printed.has_file(sha)
    assert printed.builds_spent() == 0
    assert len(printed.builds()) == 3
    assert printed.verify() == []  # the other campaign's file is no orphan
    with pytest.raises(InputError, match="is not known"), printed.writing(now) as writer:
        writer.supersede(foreign, seen(value=0.2))
