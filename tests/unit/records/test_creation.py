"""A new folder is a whole campaign or none."""

import errno
import os
from datetime import datetime

import pytest

from voidless.errors import InputError, RecordsError
from voidless.records import creation
from voidless.records.store import Store

TEXT = '[campaign]\nname = "µ"\n'


def test_a_new_folder_holds_database_campaign_file_and_raw(tmp_path, now):
    folder = tmp_path / "deep" / "sight glass µ 100%"
    with Store.create(folder, "sight glass", TEXT, now) as store:
        assert store.campaign_text == TEXT
        assert store.campaign_name == "sight glass"
        assert store.campaign_file.read_text(encoding="utf-8") == TEXT
        assert store.verify() == []
    assert sorted(path.name for path in folder.iterdir()) == ["campaign.toml", "raw", "records.sqlite"]


def test_names_are_safe_on_every_system(tmp_path, now):
    folder = tmp_path / "campaign"
    with Store.create(folder, "a", TEXT, now) as store:
        store.put_file(b"abc", "con: <what>?.csv", "photo")
        names = [path.name for path in folder.rglob("*")]
    assert all(set(name) <= set("abcdefghijklmnopqrstuvwxyz0123456789.-") for name in names), names


def test_a_second_campaign_is_refused_and_the_first_stays(store, folder, now):
    with pytest.raises(InputError, match="already holds a campaign"):
        Store.create(folder, "other", "other text", now)
    assert store.campaign_text == folder.joinpath("campaign.toml").read_text(encoding="utf-8")


def test_another_campaign_file_is_not_overwritten(tmp_path, now):
    (tmp_path / "campaign.toml").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="another campaign file"):
        Store.create(tmp_path, "a", TEXT, now)
    assert [path.name for path in tmp_path.iterdir()] == ["campaign.toml"]
    assert (tmp_path / "campaign.toml").read_text(encoding="utf-8") == "mine"


def test_the_same_campaign_file_may_be_there_already(tmp_path, now):
    (tmp_path / "campaign.toml").write_bytes(TEXT.encode("utf-8"))
    Store.create(tmp_path, "a", TEXT, now).close()


def test_a_time_without_zone_is_refused(tmp_path):
    with pytest.raises(InputError, match="no time zone"):
        Store.create(tmp_path / "a", "a", TEXT, datetime(2026, 3, 2))
    assert not (tmp_path / "a").exists()


@pytest.mark.parametrize("step", ["upgrade", "add_campaign_text", "publish_once", "sync_folder"])
def test_an_interrupted_creation_can_be_repeated(tmp_path, now, monkeypatch, step):
    def fail(*args, **kwargs):
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(creation, step, fail)
        with pytest.raises(KeyboardInterrupt):
            Store.create(tmp_path, "a", TEXT, now)
    assert not list(tmp_path.glob(".new-*"))
    if step == "sync_folder":  # the last step but one is the one that counts
        Store.open(tmp_path).close()
        return
    with pytest.raises(InputError, match="holds no campaign"):
        Store.open(tmp_path)
    Store.create(tmp_path, "a", TEXT, now).close()


def test_a_folder_that_cannot_be_written_is_named(tmp_path, now, monkeypatch):
    def full(handle):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(RecordsError, match="could not be made: No space left"):
        Store.create(tmp_path, "a", TEXT, now)
    assert list(tmp_path.iterdir()) == []


def test_a_file_in_place_of_the_folder_is_named(tmp_path, now):
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(RecordsError, match="campaign folder could not be made"):
        Store.create(tmp_path / "file", "a", TEXT, now)
