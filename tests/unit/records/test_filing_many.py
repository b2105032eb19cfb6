"""Many files filed one after another meet what the earlier ones left, and cost no more than themselves."""

import hashlib
from datetime import UTC, datetime

import pytest

from voidless.campaign.types import Observation, ResponseKey
from voidless.errors import InputError
from voidless.measure.results import Answers, FileResult, Kind
from voidless.records.store import Store
from voidless.workflows.filing import Desk, Replaced
from voidless.workflows.opening import open_campaign
from voidless.workflows.readings import Batch

TEXT = """
[campaign]
name = "bars"
material = "petg"
machine = "bench-0.4"
[factors.flow_pct]
low = 90.0
high = 110.0
[specifications.clarity]
min = 0.66
[objective]
minimise = "build_min"
"""
NOW = datetime(2031, 3, 2, tzinfo=UTC)


@pytest.fixture
def opened(tmp_path):
    """An open campaign with one run."""
    with Store.create(tmp_path / "c", "bars", TEXT, NOW) as store, store.writing(NOW) as writer:
        writer.add_run({"flow_pct": 100.0}, label="R01")
    with open_campaign(tmp_path / "c") as found:
        yield found


def _file(name, *readings):
    items = tuple(
        Observation(run, build, specimen, ResponseKey("strength_z_mpa"), value)
        for run, build, specimen, value in readings
    )
    return FileResult(name, Kind.RESULT_TABLE, observations=items)


def _put(desk, result, data):
    sha = desk.opened.store.put_file(data, result.file, "result_table")
    return desk.file_results(result, sha, Replaced(), NOW)


def test_a_later_file_takes_the_place_of_a_reading_without_build(opened):
    """Within a file repeated readings stand side by side; a file of the same folder replaces an earlier one's."""
    desk = Desk(opened, Batch(Answers(), ()))
    _put(desk, _file("bars/a.csv", ("", "", "z_1", 20.0), ("", "", "z_1", 21.0)), b"a")
    assert sorted(row.value for row in opened.store.observations()) == [20.0, 21.0]
    _put(desk, _file("bars/b.csv", ("", "", "z_1", 22.0)), b"b")
    assert sorted(row.value for row in opened.store.observations()) == [20.0, 22.0]
    _put(desk, _file("other/c.csv", ("", "", "z_1", 23.0)), b"c")
    assert sorted(row.value for row in opened.store.observations()) == [20.0, 22.0, 23.0]


def test_what_a_refused_file_began_is_forgotten(opened):
    desk = Desk(opened, Batch(Answers(), ()))
    refused = _file("t/a.csv", ("R01", "B07", "s", 20.0), ("R99", "", "s", 20.0))
    with pytest.raises(InputError, match="R99"):
        _put(desk, refused, b"a")
    assert desk.builds == {}
    (filed,) = _put(desk, _file("t/b.csv", ("R01", "", "s", 21.0)), b"b")
    assert filed.build == "B01"


def test_whole_tables_are_read_once_for_many_files(opened, monkeypatch):
    """Counted in reads of whole tables, not in seconds; `has_file` asks for one row."""
    said = []
    for name in ("runs", "builds", "rows", "files", "find_observations"):
        known = getattr(Store, name)

        def counted(self, *given, _known=known, _name=name, **named):
            said.append(_name)
            return _known(self, *given, **named)

        monkeypatch.setattr(Store, name, counted)
    desk = Desk(opened, Batch(Answers(), ()))
    for place in range(12):
        result = _file(f"t/{place}.csv", ("R01", f"B{place + 10}", "s", 20.0), ("", "", f"s{place}", 20.0))
        _put(desk, result, str(place).encode())
        assert opened.store.has_file(hashlib.sha256(str(place).encode()).hexdigest())
        assert not opened.store.has_file("0" * 64)
    assert sorted(said) == ["builds", "find_observations", "runs"]
