"""Turns of a rising path: closed forms of a helix, and a published file whose maker states its layers."""

from pathlib import Path

import numpy as np
import pytest

from voidless.machines import load_machine
from voidless.toolpath.motion import MotionLimits, profile_moves
from voidless.toolpath.part import part_moves
from voidless.toolpath.reader import read_gcode
from voidless.toolpath.turns import rises, turned, turns_as_layers
from voidless.toolpath.view import view_beads

DATA = Path(__file__).parents[2] / "data/toolpaths-samples-absolute-e"


def moves_of(text, tmp_path):
    file = tmp_path / "helix.gcode"
    file.write_text(text, encoding="utf-8")
    return part_moves(read_gcode(file), load_machine("bench-0.4"))


def helix(turns, pitch, sides=48, flat=2):
    """Return two flat rings, then a helix of a bead of 0.5 x pitch."""
    lines = ["G90", "M83", "G92 E0", "G1 Z0.2 F600"]
    angle = 2 * np.pi * np.arange(sides + 1) / sides
    for k in range(flat):
        lines.append(f"G0 X60 Y50 Z{0.2 * (k + 1):.3f} F3000")
        lines += [f"G1 X{50 + 10 * np.cos(a):.4f} Y{50 + 10 * np.sin(a):.4f} E0.05 F1200" for a in angle[1:]]
    for n in range(1, round(turns * sides) + 1):
        a, z = 2 * np.pi * n / sides, 0.2 * flat + pitch * n / sides
        lines.append(f"G1 X{50 + 10 * np.cos(a):.4f} Y{50 + 10 * np.sin(a):.4f} Z{z:.4f} E0.05")
    return "\n".join(lines)


def test_turns_of_a_helix_are_its_layers(tmp_path):
    moves = moves_of(helix(turns=12, pitch=0.3), tmp_path)
    keep = np.flatnonzero(moves.deposits)
    layer, height = turns_as_layers(moves, keep)
    assert layer.max() + 1 == 2 + 12
    tops = np.array([np.median(height[layer == k]) for k in range(14)])
    np.testing.assert_allclose(tops, [0.2, 0.4, *(0.4 + 0.3 * (np.arange(12) + 0.5))], atol=1e-9)
    assert np.bincount(layer).tolist() == [48] * 14


def outline(shape, angle):
    """Return places of a path round and round (50, 50): a circle, a square or a star of five lobes. [mm]"""
    if shape == "square":
        share, corner = np.modf(angle % (2 * np.pi) / (np.pi / 2))
        corners = 10.0 * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1], [-1, -1]])
        at = corner.astype(int)
        return 50.0 + corners[at] + share[:, None] * (corners[at + 1] - corners[at])
    radius = 10.0 * (1.0 + (0.3 if shape == "star" else 0.0) * np.cos(5 * angle))
    return 50.0 + radius[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])


@pytest.mark.parametrize("shape", ["circle", "square", "star"])
@pytest.mark.parametrize("turns", [1, 2, 2.5, 12, 200])
@pytest.mark.parametrize("sides", [48, 50.37, 128])
def test_turns_are_counted_right_however_they_are_cut(tmp_path, shape, turns, sides):
    """One turn is one layer, 200 are 200, and no sliver of a last one; from the bed, positions to a micrometre."""
    number = np.arange(round(turns * sides) + 1)
    places = outline(shape, 2 * np.pi * number / sides)
    x, y = places[0]
    lines = ["M83", f"G0 X{x:.3f} Y{y:.3f} F3000"]
    lines += [
        f"G1 X{x:.3f} Y{y:.3f} Z{0.2 * n / sides:.3f} E0.05"
        for n, (x, y) in zip(number[1:].tolist(), places[1:].tolist(), strict=True)
    ]
    moves, _ = turned(moves_of("\n".join(lines), tmp_path))
    counts = np.bincount(moves.layer[moves.deposits])
    assert len(counts) == np.ceil(turns)
    assert counts.min() > 0.4 * sides


def test_a_flat_turn_closes_the_last_one(tmp_path):
    """Laid on a ramp from nothing to one pitch, it is half a pitch thick, and its weld can be told."""
    flat = "\n".join(
        f"G1 X{50 + 10 * np.cos(a):.4f} Y{50 + 10 * np.sin(a):.4f} E0.025"
        for a in 2 * np.pi * np.arange(1, 49) / 48
    )
    moves = moves_of(helix(turns=6, pitch=0.3) + "\n" + flat, tmp_path)
    found, height = turned(moves)
    tops = [height[found.deposits & (found.layer == k)][0] for k in range(9)]
    np.testing.assert_allclose(tops, [0.2, 0.4, *(0.4 + 0.3 * (np.arange(6) + 0.5)), 2.2], atol=1e-9)
    assert found.layer.max() == 8
    profile = profile_moves(moves, MotionLimits.of(load_machine("bench-0.4")))
    last, before = view_beads(moves, profile, 8), view_beads(moves, profile, 7)
    np.testing.assert_allclose(last.width_mm, before.width_mm, rtol=1e-3)


def test_a_path_that_rises_in_every_ring_and_falls_back_has_no_pitch(tmp_path):
    """Turns that end where they began make no layers of their own; a rise of 0 was once divided by."""
    lines = helix(turns=0, pitch=0.3).splitlines()
    for n in range(5 * 48):
        a, z = 2 * np.pi * n / 48, 0.4 + 0.2 * (n % 48) / 48
        lines.append(f"G1 X{50 + 10 * np.cos(a):.4f} Y{50 + 10 * np.sin(a):.4f} Z{z:.4f} E0.05")
    moves = moves_of("\n".join(lines), tmp_path)
    found, _ = turned(moves)
    assert np.all(np.isfinite(turns_as_layers(moves, np.flatnonzero(moves.deposits))[1]))
    assert found.layer.max() >= 1


def test_ways_between_beads_go_with_the_next_bead(tmp_path):
    moves = moves_of(helix(turns=3, pitch=0.3) + "\nG0 X0 Y0 Z9", tmp_path)
    found, height = turned(moves)
    assert found.layer[~moves.deposits].tolist()[-1] == 4  # after the last bead: its layer
    assert np.diff(found.layer[moves.deposits]).max() == 1
    assert found.layer.min() == 0
    np.testing.assert_allclose(np.unique(height[moves.deposits].round(2)), [0.2, 0.4, 0.55, 0.85, 1.15])
    flat = moves_of(helix(turns=0, pitch=0.3), tmp_path)
    assert turned(flat)[0] is flat
    assert rises(moves)
    assert not rises(flat)


def test_a_view_follows_the_turns(tmp_path):
    moves = moves_of(helix(turns=3, pitch=0.3), tmp_path)
    profile = profile_moves(moves, MotionLimits.of(load_machine("bench-0.4")))
    view = view_beads(moves, profile, 3)
    assert len(view) == 48
    bead = 0.05 * np.pi * 1.75**2 / 4.0  # volume of each [mm3]
    chord = np.hypot(2.0 * 10.0 * np.sin(np.pi / 48), 0.3 / 48)
    np.testing.assert_allclose(view.width_mm, bead / (chord * 0.3), rtol=1e-3)
    assert view.end_mm[:, 2].min() > 0.7
    assert view.end_mm[:, 2].max() < 1.01


def test_flat_layers_and_a_ramp_stay_as_they_are(tmp_path):
    text = helix(turns=0, pitch=0.3) + "".join(
        f"\nG1 X{60 + k} Y50 Z{0.4 + 0.01 * k:.3f} E0.05" for k in range(1, 30)
    )
    moves = moves_of(text, tmp_path)
    keep = np.flatnonzero(moves.deposits)
    layer, height = turns_as_layers(moves, keep)
    np.testing.assert_array_equal(height, moves.z_mm[keep])
    np.testing.assert_array_equal(layer, np.unique(moves.layer[keep], return_inverse=True)[1])


@pytest.mark.parametrize("drop", [0.0, 0.05])
def test_a_path_that_comes_back_on_its_height_or_below_stays_as_it_is(tmp_path, drop):
    """Rings that rise over one half and fall over the other rise nowhere from turn to turn."""
    text = helix(turns=0, pitch=0.3)
    for n in range(1, 4 * 48 + 1):
        a = 2 * np.pi * n / 48
        z = 1.0 + 0.3 * abs(np.sin(a / 2.0)) - drop * n / 48
        text += f"\nG1 X{50 + 10 * np.cos(a):.4f} Y{50 + 10 * np.sin(a):.4f} Z{z:.4f} E0.05"
    moves = moves_of(text, tmp_path)
    assert turned(moves)[0] is moves


def test_a_published_file_that_rises_all_the_way():
    """Four flat layers of 0.3 mm, then turns up to 45.3 mm; its maker claims 150 (claims.csv)."""
    moves = part_moves(read_gcode(DATA / "watering_can.gcode"), load_machine("bench-0.4"))
    keep = np.flatnonzero(moves.deposits & (moves.layer >= 0))
    layer, height = turns_as_layers(moves, keep)
    assert layer.max() + 1 == 150 + 1
    tops = np.array([np.median(height[layer == k]) for k in range(layer.max() + 1)])
    np.testing.assert_allclose(np.diff(tops), [0.3] * 3 + [0.15] + [0.3] * 146, atol=1e-9)
