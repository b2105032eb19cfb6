"""A process that is killed at any moment loses nothing it had confirmed and leaves nothing half done."""

import multiprocessing
import random
import shutil
import sys
import time
from datetime import UTC, datetime

import pytest

from voidless.campaign.types import Observation, ResponseKey
from voidless.errors import InputError
from voidless.records.store import Store

GROUP = 7
KILLS = 32
SEED = 20260302
KEY = ResponseKey("clarity")


def write_groups(folder, first, confirmed):
    """Store a file, then record it with a run, a build and its observations, over and over."""
    with Store.open(folder) as store:
        for count in range(first, first + 100_000):
            sha = store.put_file(f"file {count}".encode() * 2000, f"{count}.csv", "result_table")
            with store.writing(datetime.now(UTC)) as writer:
                run = writer.add_run({"flow_pct": float(count)})
                build = writer.add_build(run)
                for _ in range(GROUP):
                    writer.add_observation(Observation(run, build, "", KEY, 0.5), source_sha=sha)
            confirmed.send(count)


def create(folder, started):
    started.send(0)
    Store.create(folder, "a", "text", datetime.now(UTC)).close()
    started.send(1)


@pytest.fixture(scope="module")
def processes():
    """Children that start in milliseconds where the system can fork a prepared server."""
    if sys.platform == "win32":
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["pytest", "voidless.records.store", "alembic.command"])
    return context


def drain(pipe, last):
    """Return the last count that the child confirmed before it died."""
    try:
        while pipe.poll():
            last = pipe.recv()
    except (EOFError, OSError):
        pass
    return last


def duration_of_creation(processes, folder):
    """Return how long a child takes from its first word to the end of a creation. [s]"""
    receiving, sending = processes.Pipe(duplex=False)
    child = processes.Process(target=create, args=(folder, sending))
    child.start()
    with receiving:
        receiving.recv()
        start = time.monotonic()
        receiving.recv()
        duration = time.monotonic() - start
    child.join()
    sending.close()
    return duration


def killed_after(processes, target, arguments, delay):
    """Start a child, kill it `delay` after its first word, and return that word and its pipe."""
    receiving, sending = processes.Pipe(duplex=False)
    child = processes.Process(target=target, args=(*arguments, sending))
    child.start()
    sending.close()
    word = receiving.recv()
    time.sleep(delay)
    child.kill()
    child.join()
    return word, receiving


@pytest.mark.slow
def test_a_killed_writer_leaves_whole_groups_only(folder, processes):
    chance = random.Random(SEED)
    confirmed, cut, seen = 0, 0, 0
    for _ in range(KILLS):
        word, pipe = killed_after(
            processes, write_groups, (folder, confirmed + 1000), chance.uniform(0.0, 0.05)
        )
        with pipe:
            last = drain(pipe, word)
        with Store.open(folder) as store:
            problems = store.verify()
            assert [problem for problem in problems if not problem.harmless] == []
            cut += bool(problems)
            files = {stored.name for stored in store.files()}
            # Everything that the child confirmed is there.
            assert {f"{count}.csv" for count in range(confirmed + 1000, last + 1)} <= files
            # Every file has all its observations, its run and its build; there is nothing beside them.
            rows = store.rows()
            by_file = {name: [row for row in rows if row.source_name == name] for name in files}
            assert {len(group) for group in by_file.values()} == {GROUP}
            assert len(rows) == GROUP * len(files)
            assert len(store.runs()) == len(store.builds()) == store.builds_spent() == len(files)
            assert len(files) > seen
            seen = len(files)
        confirmed = last + 1
    # Kills that always fell between two groups would show nothing.
    assert cut > 0


@pytest.mark.slow
def test_a_killed_creation_leaves_a_campaign_or_none(tmp_path, processes):
    chance = random.Random(SEED)
    states = set()
    usual = max(duration_of_creation(processes, tmp_path / f"whole {count}") for count in range(2))
    for count in range(14):
        folder = tmp_path / str(count)
        _, pipe = killed_after(processes, create, (folder,), chance.uniform(0.0, 2.0 * usual))
        pipe.close()
        try:
            with Store.open(folder) as store:
                assert store.campaign_text == "text"
                assert [problem for problem in store.verify() if not problem.harmless] == []
            states.add("whole")
        except InputError:
            Store.create(folder, "a", "text", datetime.now(UTC)).close()
            states.add("none")
        shutil.rmtree(folder)
    assert states == {"whole", "none"}
