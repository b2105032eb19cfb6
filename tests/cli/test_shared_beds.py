"""Several runs on one bed, from plan to results; blind codes."""

import csv
import hashlib
import shutil
from itertools import chain
from pathlib import Path

import numpy as np
import pytest

from voidless.records.store import Store
from voidless.specimens.catalogue import specimen
from voidless.toolpath.reader import read_gcode
from voidless.workflows.beds import Sharing, beds_of
from voidless.workflows.blinding import blind_rng, keep_secret
from voidless.workflows.new import new_campaign
from voidless.workflows.opening import open_campaign, utc_now

CAMPAIGN = """
[campaign]
name = "sight glass"
material = "petg"
machine = "ours"
[factors.flow_pct]
low = 90.0
high = 110.0
[specifications.strength_z_mpa]
min = 20.0
[objective]
minimise = "build_min"
[specimens]
block = 2
[machines.ours]
base = "bench-0.4"
"""
CLEARANCES = "head_radius_mm = 25.0\ngantry_height_mm = 60.0\n"


def campaign(folder, text, secret="ab" * 32):
    (folder / "c.toml").write_text(text, encoding="utf-8")
    new_campaign(folder / "glass", folder / "c.toml", secret=secret)
    return folder / "glass"


@pytest.fixture(scope="module")
def template(tmp_path_factory):
    """A campaign on a machine that states its clearances; not planned."""
    return campaign(tmp_path_factory.mktemp("share"), CAMPAIGN + CLEARANCES)


@pytest.fixture
def glass(template, tmp_path):
    """A copy of it."""
    return Path(shutil.copytree(template, tmp_path / "glass"))


def test_from_plan_to_results(voidless, glass):
    """Two runs a bed, one G-code, a sheet and a table for each run; a table of one run is read as that run's."""
    plan = voidless.json("plan", glass, "--runs", 4, "--share", 2, "--seed", 3)
    beds = {}
    for row in plan["runs"]:
        beds.setdefault(row["build"], []).append(row["run"])
    shared = [label for label, runs in beds.items() if len(runs) == 2]
    assert shared
    assert any("one specimen after the other" in note for note in plan["notes"])
    runs = beds[shared[0]]
    made = voidless.json("make", glass, runs[0])
    assert [item["run"] for item in made["checks"][0]["runs"]] == runs
    positions = [item["positions"].split(", ") for item in made["checks"][0]["runs"]]
    assert sorted(chain.from_iterable(positions)) == ["1", "2", "3", "4"]
    names = {Path(f["path"]).name for f in made["files"] if f["build"] == shared[0]}
    assert f"{shared[0]}_{runs[0]}_{runs[1]}.gcode" in names
    tables = [Path(f["path"]) for f in made["files"] if f["kind"] == "result_table"]
    assert len(tables) == 2
    sheet = next(Path(f["path"]) for f in made["files"] if f["kind"] == "run_sheet")
    assert f"shared with {runs[1]}" in sheet.read_text(encoding="utf-8")
    with tables[1].open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    assert {(row[0], row[1]) for row in rows[1:]} == {(runs[1], shared[0])}
    for row in rows[1:]:
        row[4] = "1.25"
    with tables[1].open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows)
    voidless.json("read", glass, tables[1])
    with Store.open(glass) as store:
        assert {(item.run, item.build) for item in store.observations()} == {(runs[1], shared[0])}
    logged = voidless.json("log", glass, "build", f"build={shared[0]}", "outcome=ok")
    assert f"all that this bed carries: {', '.join(runs)}" in logged["said"]


def test_each_run_keeps_its_flow_on_a_shared_bed(voidless, glass):
    """Block by block, the file feeds the volume of the block times the flow of the run that it belongs to."""
    plan = voidless.json("plan", glass, "--runs", 2, "--repeats", 0, "--share", 2, "--seed", 3)
    label = plan["runs"][0]["build"]
    flows = {row["run"]: row["settings"]["flow_pct"] for row in plan["runs"] if row["build"] == label}
    assert len(set(flows.values())) == 2
    made = voidless.json("make", glass, label)
    moves = read_gcode(next(Path(f["path"]) for f in made["files"] if f["kind"] == "gcode")).moves
    beads = np.flatnonzero(moves.deposits)[1:]  # without the purge line
    begins = np.flatnonzero(np.diff(moves.z_mm[beads], prepend=np.inf) < 0.0)
    fed = np.add.reduceat(moves.volume_mm3[beads], begins)
    expected = {}
    for item in made["checks"][0]["runs"]:
        for position in item["positions"].split(", "):
            expected[int(position)] = specimen("block").volume_mm3 * flows[item["run"]] / 100.0
    np.testing.assert_allclose(fed, [expected[position] for position in sorted(expected)], rtol=1e-3)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (("--share", 2), "other layer times than in builds of their own"),
        (("--share", 0), "1 to 1000"),
        (("--whole-plot",), "without --share"),
    ],
)
def test_what_may_not_share_is_refused(voidless, tmp_path, given, said):
    """A machine without clearances prints together only, and then layer times differ."""
    folder = campaign(tmp_path, CAMPAIGN)
    error = voidless.json("plan", folder, "--runs", 4, *given, status=2)["error"]
    assert said in error["what"] + error["expected"]


def test_a_whole_plot_says_so(voidless, tmp_path):
    """Declared, runs are printed together; plan and make say by how much their layer times differ."""
    folder = campaign(tmp_path, CAMPAIGN)
    plan = voidless.json("plan", folder, "--runs", 4, "--share", 2, "--whole-plot", "--seed", 3)
    assert any("as one whole plot" in note for note in plan["notes"])
    beds = [row["build"] for row in plan["runs"]]
    label = next(build for build in beds if beds.count(build) == 2)
    check = voidless.json("make", folder, label, "--dry")["checks"][0]
    assert any("layer times differ from those of builds of their own" in note for note in check["notes"])
    held = voidless.json("make", folder, label, "--dry", "--hold-layer-time")["checks"][0]
    assert held["layer_times"] == check["layer_times"]  # blocks have no upright gauge to hold
    error = voidless.json("make", folder, label, "--one-by-one", status=2)["error"]
    assert "head_radius_mm" in error["what"] + error["expected"] + error["remedy"]


def test_marks_and_one_by_one_on_a_shared_bed(voidless, tmp_path):
    """Marks take their volume from the plaques; a whole plot can be printed one by one, and then sees its own times."""
    glass = campaign(tmp_path, (CAMPAIGN + CLEARANCES).replace("block = 2", "plaque = 1"))
    plan = voidless.json("plan", glass, "--runs", 4, "--share", 2, "--whole-plot", "--seed", 3)
    beds = [row["build"] for row in plan["runs"]]
    label = next(build for build in beds if beds.count(build) == 2)
    fed = {}
    for given in ((), ("--mark",), ("--one-by-one",)):
        made = voidless.json("make", glass, label, *given)
        check = made["checks"][0]
        gcode = next(Path(f["path"]) for f in made["files"] if f["kind"] == "gcode")
        moves = read_gcode(gcode).moves
        beads = moves.deposits & (moves.volume_mm3 > 0.0)
        fed[given] = float(moves.volume_mm3[beads].sum())
        differs = any("layer times differ" in note for note in check["notes"])
        assert differs == (given != ("--one-by-one",))
        assert all(row["within"] for row in check["limits"])
    assert fed["--mark",] < 0.9999 * fed[()]
    assert fed["--one-by-one",] == pytest.approx(fed[()], rel=1e-3)


def test_one_run_of_a_bed_fails_and_the_other_stands(voidless, glass, tmp_path):
    """Logged of a run the outcome is its own; of the bed it holds for the runs of which nothing else was said."""
    plan = voidless.json("plan", glass, "--runs", 4, "--share", 2, "--seed", 3)
    beds = {}
    for row in plan["runs"]:
        beds.setdefault(row["build"], []).append(row["run"])
    label, (first, second) = next((build, runs) for build, runs in beds.items() if len(runs) == 2)

    def outcomes():
        with Store.open(glass) as store:
            return {item.run: item.outcome.value for item in store.builds() if item.label == label}

    table = tmp_path / "own.csv"
    table.write_text(
        f"run,build,build_outcome,response,value,unit\n{first},{label},clogged,,,\n", encoding="utf-8"
    )
    voidless.json("read", glass, table)
    assert outcomes() == {first: "clogged", second: "ok"}
    said = voidless.json("log", glass, "build", f"build={label}", f"run={second}", "outcome=fell_off")["said"]
    assert f"that of {second} alone" in said
    assert "all that this bed carries" not in said
    assert outcomes() == {first: "clogged", second: "fell_off"}
    with Store.open(glass) as store:
        assert label not in {item.build for item in store.planned()}  # it was printed
    again = voidless.json("read", glass, "--again")
    assert not [change for file in again["files"] for change in file.get("build_facts", ())]
    voidless.json("log", glass, "build", f"build={label}", f"run={second}", "outcome=ok")
    assert outcomes() == {first: "clogged", second: "ok"}
    other = next(run for build, runs in beds.items() if build != label for run in runs)
    error = voidless.json("log", glass, "build", f"build={label}", f"run={other}", "outcome=ok", status=2)[
        "error"
    ]
    assert other in error["what"]


def test_temperatures_that_differ_are_not_on_one_bed(voidless, tmp_path):
    """Only neighbours with one nozzle temperature share; the others say why not."""
    text = (CAMPAIGN + CLEARANCES).replace(
        "flow_pct]\nlow = 90.0\nhigh = 110.0", "nozzle_c]\nlow = 220.0\nhigh = 250.0"
    )
    folder = campaign(tmp_path, text)
    plan = voidless.json("plan", folder, "--runs", 4, "--share", 4, "--seed", 3)
    nozzle = {}
    for row in plan["runs"]:
        nozzle.setdefault(row["build"], set()).add(row["settings"]["nozzle_c"])
    assert all(len(values) == 1 for values in nozzle.values())
    assert any("nozzle_c differs between the runs" in note for note in plan["notes"])


def test_codes_follow_from_the_secret(tmp_path):
    """The same campaign, build and run have other codes under another secret; asked again, the same; runs differ."""
    drawn = []
    with Store.create(tmp_path / "glass", "glass", CAMPAIGN, utc_now()) as store:
        for secret in ("01" * 32, "02" * 32):
            with store.writing(utc_now()) as writer:
                keep_secret(writer, secret)
            drawn.append([blind_rng(store, "B01", run).integers(1 << 60) for run in ("R01", "R02", "R01")])
    assert drawn[0][0] == drawn[0][2] != drawn[0][1]
    assert drawn[0][0] != drawn[1][0]


def test_a_new_campaign_has_a_secret_of_its_own(tmp_path):
    """Two campaigns never share one, and it is long."""
    found = set()
    for name in "ab":
        (tmp_path / name).mkdir()
        with Store.open(campaign(tmp_path / name, CAMPAIGN, None)) as store:
            found.add(store.latest_derived("blinding").payload["secret"])
    assert len(found) == 2
    assert {len(secret) for secret in found} == {64}


def test_campaigns_from_before_keep_their_codes(tmp_path):
    """Without a stored secret codes follow from build and campaign as they did."""
    (tmp_path / "c.toml").write_text(CAMPAIGN, encoding="utf-8")
    with Store.create(tmp_path / "old", "old", CAMPAIGN, utc_now()) as store:
        seed = int(hashlib.sha256(("B01" + store.campaign_id).encode()).hexdigest()[:16], 16)
        expected = np.random.default_rng(seed).integers(1 << 60)
        assert blind_rng(store, "B01", "R01").integers(1 << 60) == expected


def test_a_repeat_beside_its_run_is_told_in_words(glass):
    with open_campaign(glass) as opened:
        usual = dict(zip(opened.space.names, opened.usual.tolist(), strict=True))
        beds, told = beds_of(opened, Sharing(2), ["R01", "R01"], [usual, usual], [1, 1])
    assert beds == [[0], [1]]
    assert told == ["R01 is not printed twice on one bed: its repeats are to be builds of their own."]
