"""
Strength of 21 filaments, read as a person would: a folder of curves with its summary into a campaign.

Source: github.com/joshcarter/tensile_test, BSD-3-Clause; see tests/data/strength-xy-z/SOURCE.txt. Checked against the last
session per axis that each summary prints: maximum force per trial within 0.02 N, mean strength to the printed digit.
Sections of filaments 04 and 20 are not printed: 20 and 30 mm² follow from force over strength.
"""

import re
from pathlib import Path

import pytest

from voidless.errors import InputError
from voidless.infer.ratio import BUILDS_UNKNOWN
from voidless.records.store import Store
from voidless.workflows.learn import learn_effects
from voidless.workflows.new import new_campaign
from voidless.workflows.read import read_files

DATA = Path(__file__).parents[1] / "data" / "strength-xy-z"
FOLDERS = sorted(path for path in DATA.iterdir() if path.is_dir())
UNSTATED = {"04": {"xy": "20", "z": "30"}, "20": {"xy": "20", "z": "30"}}
CAMPAIGN = """
[campaign]
name = "strength"
material = "petg"
machine = "bench-0.4"
[factors.flow_pct]
low = 95.0
high = 105.0
"""


def printed(folder):
    """Return, per axis of the last session, trials [N] and mean strength [MPa] as the summary prints them."""
    text = (folder / "summary.txt").read_text(encoding="utf-8")
    found = {}
    for block in text.split("=== Test Summary ===")[1:]:
        axis = re.search(r"Axis: (\w+)", block)[1]
        trials = {int(n): float(v) for n, v in re.findall(r"Trial (\d+): ([\d.]+) N", block)}
        strength = re.search(r"Tensile strength[^:]*: ([\d.]+) MPa", block)[1]
        found[axis] = trials, strength
    return found


@pytest.fixture(scope="module")
def campaign(tmp_path_factory):
    """One empty campaign; every filament is read into a copy of its own."""
    place = tmp_path_factory.mktemp("strength")
    (place / "c.toml").write_text(CAMPAIGN, encoding="utf-8")

    def fresh(name):
        new_campaign(place / name, place / "c.toml")
        return place / name

    return fresh


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda path: path.name)
def test_last_session_of_each_axis_is_reproduced(campaign, folder):
    target = campaign(folder.name)
    sections = UNSTATED.get(folder.name[9:11])
    if sections:
        with pytest.raises(InputError) as refused:
            read_files(target, [folder])
        assert "--section" in refused.value.expected
        with Store.open(target) as store:
            assert not store.observations()
    answer = read_files(target, [folder], sections=sections)
    for axis, (trials, strength) in printed(folder).items():
        results = {
            entry["file"]: entry["results"][0]
            for entry in answer["files"]
            if f"/{axis}-" in entry["file"]
        }
        forces = {
            int(re.search(r"trial-(\d+)", entry["file"])[1]): reduced["max_force_n"]
            for entry in answer["files"]
            for reduced in entry["reduced"]
            if f"/{axis}-" in entry["file"]
        }
        assert set(forces) == set(trials)
        for number, force in forces.items():
            assert force == pytest.approx(trials[number], abs=0.02)
        values = [row["value"] for row in results.values()]
        digits = len(strength.split(".")[1])
        assert sum(values) / len(values) == pytest.approx(float(strength), abs=0.5 * 10**-digits + 1e-9)
        assert {row["method"] for row in results.values()} == {"maximum"}
    [summary] = answer["summary"]
    assert summary["note"] == BUILDS_UNKNOWN
    assert summary["low"] < summary["ratio"] < summary["high"]
    assert summary["n_xy"] + summary["n_z"] == sum(len(trials) for trials, _ in printed(folder).values())


def test_all_21_filaments_are_there():
    assert len(FOLDERS) == 21


def test_learn_tells_filaments_of_one_campaign_apart(campaign):
    target = campaign("two filaments")
    read_files(target, FOLDERS[:1])
    read_files(target, FOLDERS[4:5])
    rows = learn_effects(target)["strength"]
    assert [row["group"] for row in rows] == [FOLDERS[0].name, FOLDERS[4].name]
    assert all(BUILDS_UNKNOWN in row["text"] for row in rows)


def test_curves_one_by_one_find_the_summary_beside_them(campaign):
    target = campaign("one by one")
    folder = FOLDERS[6]
    for path in sorted(folder.glob("*.zip"), reverse=True):
        read_files(target, [path])
    [row] = learn_effects(target)["strength"]
    expected = {axis: float(strength) for axis, (_, strength) in printed(folder).items()}
    assert (round(row["xy_mean"], 2), round(row["z_mean"], 2)) == (expected["xy"], expected["z"])
    read_files(target, [folder])
    assert learn_effects(target)["strength"] == [row]
