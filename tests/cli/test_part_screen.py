"""What `part` shows on the terminal."""

import math

import pytest

HEAD = "M83\nG1 Z0.2 F600\n"


@pytest.mark.parametrize(
    ("text", "told"),
    [("G1 X100 E5 F6000\n", "1."), ("G1 X100 E5 F20\n", "5 min"), ("G1 X200 E5 F2\n", "1 h 40 min")],
)
def test_the_time_is_told_as_people_say_it(voidless, tmp_path, text, told):
    """Seconds below two minutes, minutes below an hour."""
    path = tmp_path / "a.gcode"
    path.write_text(HEAD + text, encoding="utf-8")
    _, out, _ = voidless("part", path)
    assert f"Motion takes {told}" in out


def test_factors_are_shown_where_a_file_has_them(voidless, tmp_path):
    """Rows that would say the same twice are left out; those that differ are explained."""
    path = tmp_path / "a.gcode"
    path.write_text(HEAD + "G1 X100 E5 F6000\n", encoding="utf-8")
    assert "applied" not in voidless("part", path)[1]
    assert "one_by_one" not in voidless("part", path)[1]
    path.write_text(HEAD + "M221 S90\nG1 X100 E5 F6000\n", encoding="utf-8")
    out = voidless("part", path)[1]
    assert "applied_filament_mm" in out
    assert "applied_time_s" not in out
    assert "(M220, M221)" in out


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("G1 X9000 E300 F6000\nG1 Y9000 E300\n", "beads spread over 900"),
        ("G0 X100 F6000\n", "a.gcode: lays no bead"),
    ],
)
def test_what_cannot_be_a_part_is_refused(voidless, tmp_path, text, said):
    """Absolute places taken for steps once asked for terabytes."""
    path = tmp_path / "a.gcode"
    path.write_text(HEAD + text, encoding="utf-8")
    status, _, err = voidless("part", path, "--machine", "bench-0.4", "--material", "petg")
    assert status == 2
    assert said in err


def test_the_weakest_layer_is_named_with_what_sets_it_apart(voidless, tmp_path):
    """Half fed, the third of five layers has the weakest weld, on the screen and in JSON."""
    lines = ["M83", "M104 S240", "M140 S75", "M107"]
    for layer in range(5):
        share = 0.5 if layer == 2 else 1.0
        lines += [f"G0 Z{0.2 * (layer + 1):.1f} F600", "G1 F1800"]
        for bead in range(10):
            lines += [f"G0 X0 Y{0.45 * bead:.2f}", f"G1 X8 E{8 * 0.2 * 0.45 * share / 2.40528:.5f}"]
    file = tmp_path / "starved.gcode"
    file.write_text("\n".join(lines), encoding="utf-8")
    given = ("part", file, "--machine", "bench-0.4", "--material", "petg")
    weakest = voidless.json(*given)["welds"]["weakest_layers"]
    assert (weakest[0]["layer"], weakest[0]["unusual"]) == (
        2,
        ["beads 50 % narrower than in the median layer"],
    )
    assert all(item["unusual"] == [] for item in weakest[1:])
    said = " ".join(voidless(*given)[1].split())
    assert "Weakest weld below layer 2 (from 0, top at 0.60 mm): " in said
    assert "of the bulk's strength (beads 50 % narrower than in the median layer)." in said


def test_settings_that_change_nothing_are_told(voidless, tmp_path):
    """The file's own words rule: a setting beside them is no what-if, and whoever tries learns it."""
    path = tmp_path / "a.gcode"
    path.write_text("M104 S230\nM107\n" + HEAD + "G1 X10 E0.4 F1800\nG0 Z0.4\nG1 X0 E0.4\n", encoding="utf-8")
    given = ("nozzle_c=210", "bed_c=60", "speed_mm_s=20")
    notes = voidless.json(
        "part", path, "--machine", "bench-0.4", "--material", "petg", "--set", ",".join(given)
    )["welds"]["notes"]
    assert [note for note in notes if "changes nothing" in note] == [
        "--set nozzle_c changes nothing: the file states it",
        "--set speed_mm_s changes nothing: the file's moves say it",
    ]
    assert any(note.startswith("bed_c is not stated: 60 is taken") for note in notes)


def test_a_wrong_setting_is_refused_before_the_file_is_read(voidless, tmp_path, monkeypatch):
    """A folder is called one, too."""
    path = tmp_path / "a.gcode"
    path.write_text(HEAD + "G1 X10 E0.4 F1800\n", encoding="utf-8")
    monkeypatch.setattr("voidless.workflows.part.read_gcode", None)
    given = ("--machine", "bench-0.4", "--material", "petg", "--set", "bed_c=warm")
    status, _, err = voidless("part", path, *given)
    assert (status, "'warm' is not a number" in err) == (2, True)
    assert "is a folder (expected a G-code file)" in voidless("part", tmp_path)[2]


def test_a_path_that_rises_says_why_it_has_no_fill(voidless, tmp_path):
    lines = ["M83", "M104 S240", "M140 S75", "M107", "G0 X10 F1800"]
    lines += [
        f"G1 X{10 * math.cos(a / 8):.3f} Y{10 * math.sin(a / 8):.3f} Z{0.2 * a / 8 / 2 / math.pi:.4f} E0.05"
        for a in range(1, 200)
    ]
    path = tmp_path / "ring.gcode"
    path.write_text("\n".join(lines), encoding="utf-8")
    given = ("part", path, "--machine", "bench-0.4", "--material", "petg")
    assert voidless.json(*given)["fill"] is None
    assert "Fill is not told of a path that rises turn by turn" in " ".join(voidless(*given)[1].split())
    assert "Fill" not in voidless(*given[:4])[1]


@pytest.mark.parametrize(("second", "told"), [("T1", True), ("T0", False)])
def test_several_tools_are_taken_for_one_material(voidless, tmp_path, second, told):
    """Two materials in one part are not followed, and the answer says so."""
    path = tmp_path / "a.gcode"
    path.write_text(
        f"M83\nM107\nT0\nG1 Z0.2 F600\nG1 X10 E0.4 F1800\n{second}\nG0 Z0.4\nG1 X0 E0.4\n", encoding="utf-8"
    )
    out = " ".join(voidless("part", path, "--machine", "bench-0.4", "--material", "petg")[1].split())
    assert ("2 tools lay beads (T0, T1): all are taken for this material" in out) is told
