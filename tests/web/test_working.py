"""Pages answer at once: while facts are worked out, one that says so and asks again by itself."""

import threading

import pytest

from voidless.errors import InputError
from voidless.web import app
from voidless.web.seam import FactsReader

HTML = {"accept": "text/html"}


@pytest.fixture
def slow(facts, monkeypatch):
    """Facts that are worked out when a test says so, and how often they were begun."""
    monkeypatch.setattr(app, "_PATIENCE_S", 0.01)
    go, begun = threading.Event(), []

    def work(folder):
        begun.append(folder)
        assert go.wait(20.0)
        return facts

    return work, go, begun


@pytest.mark.parametrize("path", ["/overview", "/window", "/report"])
def test_a_page_says_that_facts_are_worked_out_and_asks_again(ask, slow, path):
    """Without any script: by a header; then the page itself, and the facts were worked out once."""
    work, go, begun = slow
    client = ask(work)
    first = client.get(path, HTML)
    assert first.status_code == 202
    assert first.headers["refresh"] == "2"
    assert "being worked out" in first.text
    assert "<script" not in first.text
    assert "default-src 'none'" in first.headers["content-security-policy"]
    assert client.get(path, HTML).status_code == 202
    go.set()
    assert client.get("/runs.json").status_code == 200  # data is waited for
    shown = client.get(path, HTML)
    assert shown.status_code == 200
    assert "refresh" not in shown.headers
    assert "being worked out" not in shown.text
    assert len(begun) == 1


def test_a_fault_is_told_once_it_is_known(ask, monkeypatch):
    """Not before, and not for ever: the next question tries again."""
    monkeypatch.setattr(app, "_PATIENCE_S", 5.0)
    tries = []

    def work(_folder):
        tries.append(1)
        raise InputError("records", "cannot be read")

    client = ask(work)
    for number in (1, 2):
        answer = client.get("/overview", HTML)
        assert answer.status_code == 400
        assert "cannot be read" in answer.text
        assert len(tries) == number


def test_an_empty_log_of_the_database_is_no_change(tmp_path):
    """A reader that opens the database makes such a log: it must not start its own work anew."""
    done = []
    (tmp_path / "records.sqlite").write_bytes(b"one")
    reader = FactsReader(tmp_path, lambda folder: done.append(folder) or {"counts": len(done)})
    assert reader.facts() == {"counts": 1}
    (tmp_path / "records.sqlite-wal").write_bytes(b"")
    assert reader.facts() == {"counts": 1}
    (tmp_path / "records.sqlite-wal").write_bytes(b"written")
    assert reader.facts() == {"counts": 2}


def test_changes_meanwhile_are_worked_out_one_after_the_other(tmp_path):
    """While one state is worked out, later ones wait; those that are old by then are left out."""
    go, begun = threading.Event(), []

    def work(folder):
        names = sorted(path.name for path in folder.iterdir())
        begun.append(names)
        assert go.wait(20.0)
        return {"files": names}

    reader = FactsReader(tmp_path, work)
    for name in ("a", "b", "c"):
        (tmp_path / name).write_bytes(b"1")
        assert reader.soon(0.05) is None
    assert begun == [["a"]]
    go.set()
    assert reader.facts() == {"files": ["a", "b", "c"]}
    assert begun == [["a"], ["a", "b", "c"]]
