"""The full twin: moves to beads, beads to welds, welds to a part's summary."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.machines import load_machine
from voidless.materials import load_material
from voidless.physics.heat.history.grid import Beads, cells_of
from voidless.physics.heat.history.types import METHODS
from voidless.settings import default_settings
from voidless.specimens.order import SpecimenOrder
from voidless.toolpath.build import plan_build
from voidless.toolpath.motion import MotionLimits, profile_moves
from voidless.toolpath.part import part_moves
from voidless.toolpath.reader import read_gcode, read_gcode_lines
from voidless.twin.full.fields import weld_fields
from voidless.twin.full.laying import lay_moves
from voidless.twin.full.room import room_filled, sides_covered
from voidless.twin.full.summary import summarise_welds
from voidless.twin.ground import ground_of

MACHINE, PETG = load_machine("bench-0.4"), load_material("petg")
SETTINGS = default_settings(PETG, MACHINE)
SAMPLES = Path(__file__).parents[2] / "data/toolpaths-samples-absolute-e"
PARTS = Path(__file__).parents[2] / "data" / "toolpaths-parts-relative-e"


def plaque(**changed):
    settings = SETTINGS | changed
    return plan_build((SpecimenOrder(kind="plaque", count=1),), settings, MACHINE).moves, settings


@pytest.fixture(scope="module")
def welded():
    moves, settings = plaque()
    return weld_fields(moves, PETG, MACHINE, settings)


def test_beads_keep_volume_time_and_what_the_moves_state():
    moves, settings = plaque()
    profile = profile_moves(moves, MotionLimits.of(MACHINE))
    laying = lay_moves(moves, profile, ground_of(PETG, MACHINE), settings)
    beads = laying.beads
    volume = np.sum(beads.length * beads.width * beads.thick[beads.layer])
    assert 1e9 * volume == pytest.approx(moves.volume_mm3[laying.move].sum(), rel=1e-9)
    assert beads.time_end[-1] <= profile.time_s.sum()
    assert np.all(np.diff(beads.time_start) >= 0.0)
    assert 1e3 * beads.thick == pytest.approx(np.full(beads.thick.size, settings["layer_mm"]), abs=1e-6)
    assert np.all(
        (beads.warm > 273.15 + settings["nozzle_c"] - 60.0) & (beads.warm < 273.15 + settings["nozzle_c"] + 1)
    )
    assert [note.split()[0] for note in laying.notes] == ["bed_c"]


def test_every_bead_has_its_welds(welded):
    assert np.all(np.isnan(welded.through[welded.layer == 0]))
    known = np.isfinite(welded.through)
    covered = welded.area_mm2[welded.layer > 0]
    assert covered[known[welded.layer > 0]].sum() > 0.98 * covered.sum()
    for healing, share in ((welded.through, welded.through_share), (welded.beside, welded.beside_share)):
        here = np.isfinite(share)
        assert np.all((healing[here] >= 0.0) & (healing[here] <= 1.0))
        assert np.all(share[here] <= healing[here])
    assert abs(welded.energy_residual) < 1e-3


def test_hotter_heals_more_and_a_fan_less(welded):
    base = summarise_welds(welded)["through"]["healing"]
    for change, sign in (({"nozzle_c": SETTINGS["nozzle_c"] + 15.0}, 1.0), ({"fan_pct": 100.0}, -1.0)):
        moves, settings = plaque(**change)
        other = summarise_welds(weld_fields(moves, PETG, MACHINE, settings))["through"]["healing"]
        assert sign * (other - base) > 0.005


def mean(values, fields, here):
    known = here & np.isfinite(values)
    return np.average(values[known], weights=fields.area_mm2[known])


def test_a_starved_layer_touches_little(welded):
    """One layer fed 60 %: its welds heal as before, but little of them touches; no other layer is concerned."""
    moves, settings = plaque()
    starved = moves.layer == 3
    fed = replace(moves, volume_mm3=np.where(starved, 0.6, 1.0) * moves.volume_mm3)
    found = weld_fields(fed, PETG, MACHINE, settings)
    here, far = found.layer == 3, np.abs(found.layer - 3) > 2
    for kind, least in (("through", 0.25), ("beside", 0.1)):
        share, before = getattr(found, f"{kind}_share"), getattr(welded, f"{kind}_share")
        assert mean(share, found, here) < least * mean(before, welded, here)
        assert mean(share, found, far) == pytest.approx(mean(before, welded, far), rel=0.01)
        healing = mean(getattr(welded, kind), welded, here)
        assert mean(getattr(found, kind), found, here) == pytest.approx(healing, rel=0.03)


def laid(start, end, angle):
    """Return beads 0.5 mm wide of one layer, a second apart, turned."""
    count, turn = len(start), np.deg2rad(angle)
    matrix = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    return Beads(
        start @ matrix,
        end @ matrix,
        np.zeros(count, dtype=np.int64),
        1.0 * np.arange(count),
        np.arange(count) + 0.2,
        np.full(count, 0.5e-3),
        np.full(count, 500.0),
        np.full(count, 20.0),
        np.zeros(count, dtype=bool),
        np.array([0.2e-3]),
    )


@pytest.mark.parametrize("angle", [0.0, 20.0])
@pytest.mark.parametrize(("told", "filled"), [(0.5e-3, 1.0), (0.3e-3, 0.6), (0.7e-3, 1.0)])
def test_room_is_what_lies_between_centre_lines(angle, told, filled):
    """Ten parallel beads 0.5 mm apart, and one across their ends that says nothing of spacing."""
    y = 0.5e-3 * np.arange(10)
    start = np.vstack([np.column_stack([np.zeros(10), y]), [-0.3e-3, -1e-3]])
    end = np.vstack([np.column_stack([np.full(10, 8e-3), y]), [-0.3e-3, 6e-3]])
    beads = laid(start, end, angle)
    found = room_filled(beads, np.full(11, told), cells_of(beads, METHODS["standard"]))
    assert found[:10] == pytest.approx(np.full(10, filled), rel=1e-6)
    assert np.isnan(found[10])


def parallel(count, angle, length=12e-3, pitch=0.5e-3):
    """Return parallel beads side by side, turned."""
    y = pitch * np.arange(count)
    return laid(np.column_stack([np.zeros(count), y]), np.column_stack([np.full(count, length), y]), angle)


@pytest.mark.parametrize("mode", ["standard", "verify"])
@pytest.mark.parametrize("angle", [0.0, 20.0, 45.0])
@pytest.mark.parametrize("count", [1, 2, 5])
def test_sides_are_covered_by_the_beads_beside(count, angle, mode):
    beads = parallel(count, angle)
    expected = [0.0] if count == 1 else [0.5, *[1.0] * (count - 2), 0.5]
    assert sides_covered(beads, cells_of(beads, METHODS[mode])) == pytest.approx(expected, abs=0.02)


def test_beads_apart_cover_nothing():
    beads = parallel(3, 0.0, pitch=1.2e-3)
    assert sides_covered(beads, cells_of(beads, METHODS["standard"])) == pytest.approx(np.zeros(3), abs=1e-9)


def walls(count, layer):
    """Return moves of walls of some beads, 0.4 mm apart, four layers high."""
    lines = ["M83", "G21", "M104 S210", "M140 S60", "G1 X0 Y0 Z0.1 F6000"]
    for k in range(4):
        lines.append(f"G1 Z{(k + 1) * layer:.3f} F1500")
        for n in range(count):
            lines.append(f"G1 X0 Y{0.4 * n:.2f} F6000")
            lines.append(f"G1 X30 Y{0.4 * n:.2f} E{30 * 0.4 * layer / (np.pi * 1.75**2 / 4):.6f} F1500")
    return read_gcode_lines(lines, "walls", 1.75).moves


@pytest.mark.parametrize("layer", [0.1, 0.2, 0.3])
def test_a_wall_of_one_bead_touches_with_its_flats(layer):
    """As the strength of tubes does: tests/published/test_physics_strength_of_flats.py."""
    pla = load_material("pla")
    settings = default_settings(pla, MACHINE)
    one, six = (weld_fields(walls(count, layer), pla, MACHINE, settings) for count in (1, 6))
    touching = [found.through_share / found.through for found in (one, six)]
    flat = 1.0 - np.pi / 4.0 * layer / 0.4
    assert touching[0][3] == pytest.approx(flat, abs=0.01)
    outer, inner = touching[1][-6], touching[1][-4]
    assert inner > 0.9
    assert outer == pytest.approx(0.5 * (inner + flat), abs=0.02)


def test_a_summary_weighs_by_area(welded):
    found = summarise_welds(welded)
    known = np.isfinite(welded.through_share)
    mean = np.average(welded.through_share[known], weights=welded.area_mm2[known])
    assert found["through"]["strength_share"] == pytest.approx(mean)
    assert found["through"]["low_share"] <= np.median(welded.through_share[known])
    layers = found["per_layer"]["through_share"]
    assert layers[0] is None
    weakest = found["weakest_layers"][0]
    assert weakest["strength_share"] == min(value for value in layers if value is not None)
    assert weakest["height_mm"] == pytest.approx((weakest["layer"] + 1) * SETTINGS["layer_mm"])


@pytest.mark.slow
def test_a_real_file_of_contours_curves_and_overhangs_keeps_its_energy():
    """Thirty-four layers of a published part file; nearly empty rows of the body once ran away here."""
    read = part_moves(read_gcode(PARTS / "porch-gutter-hanger PET 0.2mm_0.4.gcode"), MACHINE)
    moves = replace(read, layer=np.where(read.layer < 34, read.layer, -1))
    fields = weld_fields(moves, PETG, MACHINE, SETTINGS)
    assert abs(fields.energy_residual) < 3e-3
    assert fields.notes[0].endswith("are left out (2 moves)")
    assert 0.3 < summarise_welds(fields)["through"]["healing"] <= 1.0


def test_temperatures_that_melt_nothing_are_not_taken():
    """A file that states 20 or 900 degrees means something else; its settings hold, and that is said."""
    moves, settings = plaque()
    half = np.arange(len(moves)) < len(moves) // 2
    odd = replace(moves, nozzle_c=np.where(half, 20.0, 900.0), bed_c=np.full(len(moves), 900.0))
    usual = lay_moves(
        moves, profile_moves(moves, MotionLimits.of(MACHINE)), ground_of(PETG, MACHINE), settings
    )
    found = lay_moves(odd, profile_moves(moves, MotionLimits.of(MACHINE)), ground_of(PETG, MACHINE), settings)
    np.testing.assert_array_equal(found.beads.warm, usual.beads.warm)
    assert found.around.bed == usual.around.bed
    assert any(
        "nozzle_c 20 is stated for 100 % of the beads, outside 100 to 500" in note for note in found.notes
    )


def test_what_cannot_be_followed_is_refused():
    moves, settings = plaque()
    heights = np.linspace(0.2, 0.3, len(moves))  # every bead a layer of its own, none above itself by a layer
    rising = replace(moves, layer=np.cumsum(moves.deposits) - 1, z_mm=heights)
    with pytest.raises(InputError, match="above the one below"):
        weld_fields(rising, PETG, MACHINE, settings)
    with pytest.raises(InputError, match="no bead"):
        weld_fields(replace(moves, layer=np.full(len(moves), -1)), PETG, MACHINE, settings)


def test_a_helix_is_followed_turn_by_turn():
    """One bead round and round: as many layers as turns, each with its weld to the one below."""
    read = part_moves(read_gcode(SAMPLES / "watering_can.gcode"), MACHINE)
    moves = replace(read, layer=np.where(read.z_mm < 4.0, read.layer, -1))
    fields = weld_fields(moves, PETG, MACHINE, SETTINGS)
    found = summarise_welds(fields)
    assert len(found["per_layer"]["through_share"]) == 14  # of 0.3 mm up to 4 mm
    assert all(0.0 < share < 1.0 for share in found["per_layer"]["through_share"][1:])


def test_what_the_machine_was_measured_to_do_reaches_the_beads():
    """9 K colder, 3 % more melt, and a fan that stands still up to 20 %: as if it had been told so."""
    moves, settings = plaque(fan_pct=15.0)
    profile, ground = profile_moves(moves, MotionLimits.of(MACHINE)), ground_of(PETG, MACHINE)
    told = lay_moves(moves, profile, ground, settings)
    theta = {"nozzle_offset_k": -9.0, "flow_offset_log": np.log(1.03)}
    own = lay_moves(moves, profile, replace(ground, fan_stall=0.2), settings, theta)
    assert own.beads.width == pytest.approx(1.03 * told.beads.width)
    assert np.median(told.beads.warm - own.beads.warm) == pytest.approx(9.0, abs=1.5)
    calm, quiet = plaque(fan_pct=0.0)
    silent = lay_moves(calm, profile_moves(calm, MotionLimits.of(MACHINE)), ground, quiet)
    assert own.beads.air == pytest.approx(np.full(own.beads.air.size, silent.beads.air[-1]))
    assert any("stands still" in note for note in own.notes)
    assert not any("stands still" in note for note in told.notes)


def test_short_chords_of_an_arc_have_welds_too():
    """Chords half as long as a cell: one that covers no cell takes its neighbours' weld, and counts for nothing."""
    lines = ["M83", "M104 S245", "M140 S75", "M107", "G1 F1500"]
    angles = np.linspace(0.0, 2.0 * np.pi, 151)
    for layer in range(3):
        for radius in (5.0, 5.5):
            x, y = 50.0 + radius * np.cos(angles), 50.0 + radius * np.sin(angles)
            lines.append(f"G0 X{x[0]:.4f} Y{y[0]:.4f} Z{0.25 * (layer + 1):.2f}")
            lines += [f"G1 X{a:.4f} Y{b:.4f} E0.011" for a, b in zip(x[1:], y[1:], strict=True)]
    moves = part_moves(read_gcode_lines(lines, "ring"), MACHINE)
    fields = weld_fields(moves, PETG, MACHINE, SETTINGS)
    bare = fields.area_mm2 == 0.0
    assert bare.mean() > 0.1
    assert np.isfinite(fields.through_share[fields.layer > 0]).all()
    assert np.isnan(fields.through_share[fields.layer == 0]).all()
    between = fields.through[bare & (fields.layer == 2)]
    covered = fields.through[~bare & (fields.layer == 2)]
    assert covered.min() <= between.min() <= between.max() <= covered.max()
