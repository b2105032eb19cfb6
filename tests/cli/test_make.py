"""`make`: dry listing, marks, order of printing; a part's mesh at a campaign's settings."""

import re
import shutil
from pathlib import Path

import numpy as np
import pytest

from voidless.cli.app import run
from voidless.errors import InputError
from voidless.meshes.mesh import Mesh
from voidless.meshes.stl import write_stl
from voidless.specimens.catalogue import specimen
from voidless.specimens.mesh import mesh_3mf, mesh_stl, specimen_mesh, stack_mesh
from voidless.specimens.stack import box
from voidless.toolpath.reader import read_gcode
from voidless.workflows import window
from voidless.workflows.opening import open_campaign, utc_now
from voidless.workflows.solid import make_part
from voidless.workflows.training import data_hash

CAMPAIGN = """
[campaign]
name = "sight glass"
material = "petg"
machine = "bench-0.4"
[factors.flow_pct]
low = 90.0
high = 110.0
[specifications.strength_z_mpa]
min = 20.0
[objective]
minimise = "build_min"
"""
PARTS = Path(__file__).parents[1] / "data" / "part-meshes"
SPECIMENS = "[specimens]\nbar_z = 2\nplaque_xz = 1\n"
MACHINE = '[machines.ours]\nbase = "bench-0.4"\nhead_radius_mm = 25.0\ngantry_height_mm = 60.0\n'


@pytest.fixture(scope="module")
def template(tmp_path_factory):
    """A planned campaign on a machine that states its clearances."""
    folder = tmp_path_factory.mktemp("make")
    source = folder / "campaign.toml"
    source.write_text(CAMPAIGN.replace('"bench-0.4"', '"ours"') + SPECIMENS + MACHINE, encoding="utf-8")
    assert run(["new", str(folder / "glass"), "--from", str(source)]) == 0
    assert run(["plan", str(folder / "glass"), "--runs", "6"]) == 0
    return folder / "glass"


def settings_of(folder):
    """Settings of the first run."""
    with open_campaign(folder) as opened:
        return opened.settings(opened.store.runs()[0].settings)


@pytest.fixture
def planned(template, tmp_path):
    """A copy of it."""
    return Path(shutil.copytree(template, tmp_path / "glass"))


def test_dry_lists_limits_and_writes_nothing(voidless, planned):
    """Every limit with its extremes; no file, no folder."""
    made = voidless.json("make", planned, "R01", "--dry")
    assert made["files"] == []
    assert not (planned / "out").exists()
    check = made["checks"][0]
    assert {c["run"] for c in made["checks"]} == {"R01"}
    limits = {row["quantity"]: row for row in check["limits"]}
    assert all(row["within"] for row in limits.values())
    assert 0.0 < limits["melt rate"]["highest"] < limits["melt rate"]["most"] == 11.0
    assert check["build_min"] > 10.0
    assert [bar["kind"] for bar in check["layer_times"]] == ["bar_z", "bar_z"]
    assert not any(bar["steady"] for bar in check["layer_times"])
    assert any("flying fragments" in text for text in made["cautions"])
    status, out, _ = voidless("make", planned, "R01", "--dry")
    assert status == 0
    assert re.search(r"melt rate\s+\S+\s+\S+\s+up to 11\s+mm3/s\s+within", out)
    assert "NOT steady" in out


@pytest.mark.slow
def test_options_of_make(voidless, planned):
    """Pauses even out layer times, a sequence gives each its own; marks change the volume, not the count of files."""
    plain = voidless.json("make", planned, "R01")
    gcode = next(Path(f["path"]) for f in plain["files"] if f["kind"] == "gcode")
    volume = read_gcode(gcode).moves.volume_mm3
    kinds = {Path(f["path"]).name for f in plain["files"] if f["kind"].startswith("specimen")}
    assert kinds == {"bar_z.stl", "bar_z.3mf", "plaque_xz.stl", "plaque_xz.3mf"}
    held = voidless.json("make", planned, "R01", "--hold-layer-time")["checks"][0]
    assert all(bar["steady"] for bar in held["layer_times"])
    alone = voidless.json("make", planned, "R01", "--one-by-one")["checks"][0]
    assert all(bar["steady"] for bar in alone["layer_times"])
    assert {"finished height", "distance of specimens"} <= {row["quantity"] for row in alone["limits"]}
    marked = voidless.json("make", planned, "R01", "--mark")
    assert len(marked["files"]) == len(plain["files"])
    assert read_gcode(gcode).moves.volume_mm3[1:].sum() < volume[1:].sum()


def test_one_by_one_needs_clearances(voidless, tmp_path):
    """A machine of the library states none: exit 2, and the error says what to measure."""
    source = tmp_path / "campaign.toml"
    source.write_text(CAMPAIGN, encoding="utf-8")
    voidless.json("new", tmp_path / "glass", "--from", source)
    voidless.json("plan", tmp_path / "glass", "--runs", 6)
    error = voidless.json("make", tmp_path / "glass", "--one-by-one", status=2)["error"]
    assert "head_radius_mm and gantry_height_mm not stated" in error["what"]


@pytest.mark.parametrize("named", ["R02", pytest.param(None, marks=pytest.mark.slow)])
def test_a_part_at_a_campaigns_settings(planned, tmp_path, named):
    """The volume that the file feeds is that of the solid; without a run the recipe's settings are taken."""
    file = tmp_path / "piece.3mf"
    file.write_bytes(mesh_3mf(specimen("shape_piece")))
    made = make_part(planned, file, named)
    assert all(row["within"] for row in made["limits"])
    assert made["volume_mm3"] == pytest.approx(specimen("shape_piece").volume_mm3, rel=1e-6)
    moves = read_gcode(Path(made["files"][0]["path"])).moves
    fed = moves.volume_mm3[moves.deposits].sum() - 30.0  # the purge line
    # 0.5 %: sections at the middle of layers, holes and slopes are no whole layers
    assert fed == pytest.approx(made["volume_mm3"] * made["settings"]["flow_pct"] / 100.0, rel=5e-3)


@pytest.mark.parametrize("other", ["data", "confidence", "code", None])
def test_the_recipe_is_found_once(planned, tmp_path, monkeypatch, other):
    """A window recorded from the same data by the same code gives the recipe; after anything else it is found anew."""
    file = tmp_path / "block.stl"
    file.write_bytes(mesh_stl(specimen("block")))
    monkeypatch.setattr(window, "find_recipe", lambda _: {"recipe": {"settings": {"flow_pct": 97.0}}})
    payload = {
        "recipe": {"settings": {"flow_pct": 101.0}},
        "confidence": 0.8 if other == "confidence" else 0.9,
    }
    with open_campaign(planned) as opened, opened.store.writing(utc_now()) as writer:
        writer.add_derived("window", payload, ["other data" if other == "data" else data_hash(opened)])
    if other == "code":
        monkeypatch.setattr(window, "code_version", lambda: "another")
    assert make_part(planned, file, dry=True)["settings"]["flow_pct"] == (97.0 if other else 101.0)


def test_whole_layers_that_miss_a_height_are_said(planned, tmp_path):
    """A plate of 0.5 mm becomes two layers of 0.2 mm or so; one thinner than half a layer is no part."""
    file, layer = tmp_path / "plate.stl", settings_of(planned)["layer_mm"]
    for height, told in ((2.4 * layer, True), (3.0 * layer, False)):
        file.write_bytes(write_stl(stack_mesh(box((0, 12), (0, 9), (0, height))), "plate"))
        notes = make_part(planned, file, "R01", dry=True)["notes"]
        assert any(f"printed {2 * layer:.4g} mm: whole layers" in note for note in notes) == told
    file.write_bytes(write_stl(stack_mesh(box((0, 12), (0, 9), (0, 0.4 * layer))), "plate"))
    with pytest.raises(InputError, match="less than half a layer"):
        make_part(planned, file, "R01", dry=True)


def test_parts_from_outside(planned):
    """A part whose faces disagree is refused with what to do, and planned once turned; one with holes is refused."""
    with pytest.raises(InputError, match="some are inverted"):
        make_part(planned, PARTS / "gB_ServoSideCover.stl", "R01", dry=True)
    made = make_part(planned, PARTS / "gB_ServoSideCover.stl", "R01", dry=True, turn_faces=True)
    assert made["files"] == []
    assert made["notes"][:2] == ["STL states no unit; millimetres are taken", "2 of 188 faces were turned"]
    with pytest.raises(InputError, match="the surface has holes"):
        make_part(planned, PARTS / "gB_Hand.stl", "R01", dry=True)


def test_what_hangs_in_the_air_is_said(planned, tmp_path):
    """A hook that reaches down from an arm begins in the air at its lower end; the arm itself is held."""
    file = tmp_path / "bar.stl"
    standing = specimen_mesh(specimen("bar_z"))
    file.write_bytes(write_stl(_with_arm(standing), "bar with an arm"))
    notes = make_part(planned, file, "R01", dry=True)["notes"]
    assert [note for note in notes if "in the air" in note] == [
        "something begins in the air at heights of 20.00 mm; no support is planned: turn the part"
    ]


def _with_arm(bar):
    """Return the bar with a hook: an arm at 30 mm whose end reaches down to 20 mm."""
    arm, hook = (
        stack_mesh(body) for body in (box((3, 12), (-2, 2), (30, 34)), box((9, 12), (-2, 2), (20, 31)))
    )
    starts = [0, len(bar.vertices), len(bar.vertices) + len(arm.vertices)]
    faces = [m.faces + n for m, n in zip((bar, arm, hook), starts, strict=True)]
    return Mesh(np.vstack([bar.vertices, arm.vertices, hook.vertices]), np.vstack(faces))


def test_what_is_not_there(planned, tmp_path):
    """Unknown runs and files."""
    file = tmp_path / "block.stl"
    file.write_bytes(mesh_stl(specimen("block")))
    with pytest.raises(InputError, match="no run 'R99'"):
        make_part(planned, file, "R99")
    with pytest.raises(InputError, match="there is no such file"):
        make_part(planned, tmp_path / "none.stl", "R01")
