"""Raw files are stored whole under their hash, once, and damage is noticed."""

import errno
import hashlib
import os

import pytest

from voidless.errors import InputError, RecordsError
from voidless.records.content import ContentStore, publish_once


@pytest.fixture
def content(tmp_path):
    return ContentStore(tmp_path / "raw")


def test_content_lies_under_its_hash(content):
    sha, size = content.put(b"abc")
    assert (sha, size) == (hashlib.sha256(b"abc").hexdigest(), 3)
    assert content.path(sha) == content.folder / sha[:2] / sha
    assert content.path(sha).read_bytes() == b"abc"
    assert content.get(sha) == b"abc"
    assert content.stored() == {sha}


def test_a_path_is_copied_and_the_original_stays(content, tmp_path):
    original = tmp_path / "curve ä.csv"
    data = bytes(range(256)) * 9000  # more than two chunks
    original.write_bytes(data)
    sha, size = content.put(original)
    assert size == len(data)
    assert content.get(sha) == data
    assert original.read_bytes() == data


def test_storing_twice_changes_nothing(content, tmp_path):
    sha, _ = content.put(b"abc")
    before = content.path(sha).stat().st_mtime_ns
    (tmp_path / "same").write_bytes(b"abc")
    assert content.put(b"abc")[0] == content.put(tmp_path / "same")[0] == sha
    assert content.path(sha).stat().st_mtime_ns == before
    assert content.leftovers() == []


def test_a_damaged_copy_is_noticed_when_read_and_when_stored_again(content):
    sha, _ = content.put(b"abc")
    content.path(sha).write_bytes(b"abd")
    assert content.state(sha) == "damaged"
    with pytest.raises(RecordsError, match="stored raw file is damaged"):
        content.get(sha)
    with pytest.raises(RecordsError, match="stored earlier is damaged"):
        content.put(b"abc")
    assert content.path(sha).read_bytes() == b"abd"


def test_a_missing_file_is_named(content):
    sha, _ = content.put(b"abc")
    content.path(sha).unlink()
    assert content.state(sha) == "missing"
    with pytest.raises(RecordsError, match=r"cannot be read.*backup"):
        content.get(sha)


def test_a_full_disk_leaves_nothing(content, monkeypatch):
    def full(handle):
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        with pytest.raises(RecordsError, match="No space left"):
            content.put(b"abc")
    assert content.stored() == set()
    assert content.leftovers() == []
    content.put(b"abc")
    assert len(content.stored()) == 1


def test_a_source_that_is_gone_is_named(content, tmp_path):
    with pytest.raises(RecordsError, match=r"gone\.csv: the file could not be stored"):
        content.put(tmp_path / "gone.csv")
    assert content.leftovers() == []


@pytest.mark.parametrize("text", ["", "../../etc", "A" * 64, "a" * 63])
def test_only_hashes_name_content(content, text):
    with pytest.raises(InputError, match="not a SHA-256"):
        content.path(text)


@pytest.mark.parametrize("hard_links", [True, False])
def test_a_taken_name_is_never_replaced(tmp_path, monkeypatch, hard_links):
    if not hard_links:

        def refuse(source, target):
            raise OSError(errno.EPERM, "Operation not permitted")

        monkeypatch.setattr(os, "link", refuse)
    final = tmp_path / "final"
    for text, published in (("first", True), ("second", False)):
        temporary = tmp_path / "part"
        temporary.write_text(text, encoding="utf-8")
        assert publish_once(temporary, final) is published
        assert not temporary.exists()
    assert final.read_text(encoding="utf-8") == "first"
