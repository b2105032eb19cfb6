"""A folder that an older program wrote opens, and its raw files give what that program did not keep."""

import zipfile
from pathlib import Path

import pytest

from voidless.records.store import Store
from voidless.workflows.opening import open_campaign

DATA = Path(__file__).parents[1] / "data" / "store-before-answers" / "campaign.zip"


@pytest.fixture
def old(tmp_path):
    """The folder, unpacked."""
    folder = tmp_path / "old glass"
    with zipfile.ZipFile(DATA) as packed:
        packed.extractall(folder)
    return folder


def _strengths(folder):
    with Store.open(folder) as store:
        return {row.specimen: row.value for row in store.observations()}


def test_an_old_folder_opens_and_nothing_of_it_changes(voidless, old):
    before = _strengths(old)
    assert before == {"z_1": 30.0, "z_2": 32.0, "z_9": pytest.approx(20.0 / 1.02)}
    with open_campaign(old) as opened:
        assert opened.findings == ()
    said = voidless.json("read", old, "--again")["files"]
    assert {file["status"] for file in said} == {"answers_not_kept"}
    assert sorted(file["file"] for file in said) == ["bench/bars.csv", "bench/coil.csv", "bench/z_9.csv"]
    assert _strengths(old) == before


def test_a_named_old_file_is_derived_with_answers_of_now(voidless, old):
    found = voidless.json("read", old, "--again", "coil.csv")["files"][0]
    assert found["status"] == "changed"
    with open_campaign(old) as opened:
        assert opened.material.property("water_diffusivity_m2_s").value == pytest.approx(4e-12, rel=0.02)
    asked = voidless.json("read", old, "--again", "z_9.csv")["files"][0]
    assert asked["status"] == "question"
    voidless.json("read", old, "--again", "z_9.csv", "--section", "z=25")
    assert _strengths(old)["z_9"] == pytest.approx(24.0 / 1.02)
    left = [
        file["file"]
        for file in voidless.json("read", old, "--again")["files"]
        if file["status"] == "answers_not_kept"
    ]
    assert left == ["bench/bars.csv"]
