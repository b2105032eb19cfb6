"""`part --picture`: files, and what is refused."""

import json
import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest

from voidless.workflows.writing import write_pieces


@pytest.fixture
def plate(tmp_path):
    """Two layers of five beads, 10 mm x 2.5 mm."""
    lines = ["M83", "G1 F1800"]
    for layer in (1, 2):
        lines.append(f"G1 Z{0.2 * layer:.1f}")
        for bead in range(5):
            lines += [f"G1 X{10 * (bead % 2)} Y{bead * 0.5}", f"G1 X{10 - 10 * (bead % 2)} E0.42"]
    (tmp_path / "plate.gcode").write_text("\n".join(lines), encoding="utf-8")
    return tmp_path / "plate.gcode"


@pytest.mark.parametrize("show", ["beads", "width", "speed", "fill", "weld"])
def test_a_picture_and_its_data(voidless, plate, show):
    """Both files are written and named; the data are the beads or cells of that layer."""
    wanted = plate.with_name("layer.svg")
    given = ("--picture", wanted, "--layer", 1, "--show", show, "--machine", "bench-0.4")
    material = ("--material", "petg", "--set", "bed_c=75,fan_pct=20,nozzle_c=240") if show == "weld" else ()
    done = voidless.json("part", plate, *given, *material)
    assert done["files"] == [str(wanted), str(wanted.with_suffix(".json"))]
    ET.parse(wanted)
    data = json.loads(wanted.with_suffix(".json").read_text(encoding="utf-8"))
    assert (data["layer"], data["shows"], data["file"]) == (1, show, "plate.gcode")
    if show == "fill":
        rows, cell = data["fill"]["melt_over_layer"], data["fill"]["cell_mm"]
        laid = sum(v for row in rows for v in row if v is not None) * cell**2 * data["fill"]["layer_mm"]
        assert laid == pytest.approx(5 * 0.42 * 2.40528, rel=2e-3)
    else:
        assert data["beads"]["x1_mm"] == [10.0, 0.0, 10.0, 0.0, 10.0]
        assert data["beads"]["width_mm"][0] == pytest.approx(0.42 * 2.40528 / (10.0 * 0.2), rel=1e-4)
        assert ("through_share" in data["beads"]) == (show == "weld")


def test_data_of_all_layers_alone(voidless, plate):
    """A name that ends in .json holds every layer, and no picture is drawn."""
    wanted = plate.with_name("whole.json")
    status, out, err = voidless("part", plate, "--picture", wanted)
    assert status == 0, err
    assert f"Written: {wanted}" in out
    assert not wanted.with_suffix(".svg").exists()
    data = json.loads(wanted.read_text(encoding="utf-8"))
    assert data["layer"] == "all"
    assert all(a <= b for a, b in pairwise(data["beads"]["z_mm"]))
    assert set(data["beads"]["z_mm"]) == {0.2, 0.4}


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (("--picture", "a.png"), "ending in .svg"),
        (("--picture", "a.svg", "--layer", "2"), "there is no layer 2 (expected 0 to 1)"),
        (("--picture", "a.svg", "--layer", "-1"), "a number from 0"),
        (("--picture", "a.svg", "--layer", "1", "--show", "widht"), "Did you mean width?"),
        (("--picture", "a.svg", "--show", "fill", "--machine", "bench-0.4"), "one layer"),
        (("--picture", "a.svg", "--layer", "1", "--show", "fill"), "--machine"),
        (("--picture", "a.svg", "--layer", "1", "--show", "weld"), "no material"),
    ],
)
def test_pictures_that_are_refused(voidless, plate, monkeypatch, given, said):
    """What cannot be drawn says why, and writes nothing."""
    monkeypatch.chdir(plate.parent)
    status, _, err = voidless("part", plate, *given)
    assert status == 2
    assert said in err
    assert not list(plate.parent.glob("a.*"))


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (("--layer", "7"), "there is no layer 7 (expected 0 to 1)"),
        ((), "10 beads (expected at most 7 in one picture). Draw one layer (--layer NUMBER)"),
    ],
)
def test_what_cannot_be_drawn_is_refused_before_the_heat(voidless, plate, monkeypatch, given, said):
    """Nobody waits for welds whose picture is refused."""
    monkeypatch.setattr("voidless.workflows.picture.MOST_BEADS", 7)
    monkeypatch.setattr("voidless.workflows.part._welds", None)
    wanted = ("--picture", plate.with_name("a.svg"), "--machine", "bench-0.4", "--material", "petg")
    status, _, err = voidless("part", plate, *wanted, *given)
    assert status == 2
    assert said in err
    assert not list(plate.parent.glob("a.*"))


def test_data_written_in_pieces_are_the_same(voidless, plate, monkeypatch):
    """However many numbers are turned into text at a time, the file is the same."""
    wanted = plate.with_name("whole.json")
    voidless.json("part", plate, "--picture", wanted)
    whole = wanted.read_bytes()
    monkeypatch.setattr("voidless.workflows.picture._AT_ONCE", 3)
    voidless.json("part", plate, "--picture", wanted)
    assert wanted.read_bytes() == whole
    assert len(json.loads(whole)["beads"]["speed_mm_s"]) == 10


def test_a_stop_by_hand_leaves_nothing_half_written(tmp_path):
    """What stood there before stays, and no piece lies beside it."""
    path = tmp_path / "whole.json"
    write_pieces(path, (b"first",))

    def pieces():
        yield b"second"
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_pieces(path, pieces())
    assert path.read_bytes() == b"first"
    assert list(tmp_path.iterdir()) == [path]


def test_a_long_path_is_not_broken(voidless, plate):
    """What is written can be copied from the screen, however narrow it is."""
    folder = plate.with_name(
        "a-folder-with-a-name-that-is-longer-than-a-line-of-eighty-characters-holds-to-be-sure"
    )
    folder.mkdir()
    status, out, err = voidless("part", plate, "--picture", folder / "whole.json")
    assert status == 0, err
    assert f"Written: {folder / 'whole.json'}" in out


def test_a_starved_layer_is_named_on_the_screen(voidless, tmp_path):
    """Half fed inside a rim, the second of three layers is a void of the part, and a purge line beside it is none."""
    lines = ["M83", "M104 S250", "M140 S75", "M107", "G1 Z0.3 Y-20 F1800", "G1 X40 E4", "G1 X0"]
    for layer in range(3):
        lines += [f"G1 Z{0.2 * (layer + 1):.1f}", "G1 X0 Y0"]
        lines += [f"G1 X{x} Y{y} E0.333" for x, y in ((8, 0), (8, 8), (0, 8), (0, 0))]
        for bead in range(1, 16):
            lines += [f"G1 X0.5 Y{0.5 * bead}", f"G1 X7.5 E{0.291 * (0.5 if layer == 1 else 1.0):.4f}"]
    file = tmp_path / "rim.gcode"
    file.write_text("\n".join(lines), encoding="utf-8")
    status, out, err = voidless("part", file, "--machine", "bench-0.4", "--material", "petg")
    said = " ".join(out.split())
    assert status == 0, err
    assert "Void in layer 1 (from 0, top at 0.40 mm):" in said
    assert "Shares are of the welds there are: beside voids less section carries" in said
    assert "prime the nozzle, beside the body or at height 0, are left out (1 moves)" in said
