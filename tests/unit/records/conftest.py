"""One campaign folder made once; each test works on its own copy."""

import shutil
from datetime import UTC, datetime, timedelta

import pytest

from voidless.campaign.types import Observation, ResponseKey
from voidless.records.store import Store

NOW = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
TEXT = '[campaign]\nname = "sight glass"\n'


@pytest.fixture(scope="session")
def template(tmp_path_factory):
    folder = tmp_path_factory.mktemp("template") / "campaign"
    Store.create(folder, "sight glass", TEXT, NOW).close()
    return folder


@pytest.fixture
def folder(template, tmp_path):
    return shutil.copytree(template, tmp_path / "campaign")


@pytest.fixture
def store(folder):
    with Store.open(folder) as opened:
        yield opened


@pytest.fixture
def now():
    return NOW


@pytest.fixture
def later():
    """A clock that is one minute on at every call."""
    state = [NOW]

    def tick():
        state[0] += timedelta(minutes=1)
        return state[0]

    return tick


@pytest.fixture
def seen():
    """Make an observation of a run and build."""

    def made(run="R01", build="B01", value=0.5, specimen="", quantity="clarity", **more):
        key = ResponseKey(
            quantity, more.pop("method", ""), more.pop("feature", ""), more.pop("conditions", ())
        )
        return Observation(run, build, specimen, key, value, **more)

    return made


@pytest.fixture
def printed(store, now):
    """A store with three runs and three planned builds."""
    with store.writing(now) as writer:
        for flow in (95.0, 100.0, 105.0):
            writer.add_build(writer.add_run({"flow_pct": flow}))
    return store
