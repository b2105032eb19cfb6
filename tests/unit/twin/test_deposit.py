"""Deposit map: volume is conserved, what lacks and what is too much is found, pits take melt from above."""

from itertools import islice

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.machines import load_machine
from voidless.specimens.order import SpecimenOrder
from voidless.toolpath.build import plan_build
from voidless.toolpath.moves import Kind, Moves
from voidless.toolpath.reader import read_gcode_lines
from voidless.toolpath.writer import write_gcode
from voidless.twin.deposit import deposit_layers, summarise
from voidless.twin.deposit_faults import enclosed, footprint

NOZZLE, BEAD = 0.4, 0.45
SETTINGS = {
    "layer_mm": 0.2, "width_mm": BEAD, "flow_pct": 100.0, "contours": 2.0, "raster_deg": 45.0,
    "raster_step_deg": 90.0, "overlap_pct": 20.0, "nozzle_c": 240.0, "bed_c": 80.0, "chamber_c": 25.0,
    "fan_pct": 0.0, "speed_mm_s": 40.0,
}  # fmt: skip


@pytest.fixture(scope="module")
def machine():
    return load_machine("bench-0.4")


@pytest.fixture(scope="module")
def block(machine):
    return plan_build([SpecimenOrder("block")], SETTINGS, machine)


def _lines(rows, layer_mm=0.2, pitch=0.4, skip=(), share=1.0):
    """Return moves of `rows` layers of ten lines 8 mm long, every second layer across; some lines skipped."""
    points, volume, layers = [], [], []
    for layer in range(rows):
        z = (layer + 1) * layer_mm
        for line in range(20):
            v = 0.2 + pitch * line
            ends = [(0.2, v, z), (7.8, v, z)]
            if layer % 2:
                ends = [(v, 0.2, z), (v, 7.8, z)]
            points += ends
            volume += [0.0, 0.0 if (layer, line) in skip else share * 8.0 * pitch * layer_mm]
            layers += [layer, layer]
    ends = np.array(points)
    number = len(ends)
    same = np.zeros(number)
    return Moves(
        kind=np.where(np.array(volume) > 0.0, int(Kind.BEAD), int(Kind.TRAVEL)),
        x_mm=ends[:, 0], y_mm=ends[:, 1], z_mm=ends[:, 2],
        length_mm=np.linalg.norm(np.diff(np.vstack([np.zeros(3), ends]), axis=0), axis=1),
        volume_mm3=np.array(volume), speed_mm_s=same + 40.0, layer=np.array(layers),
        specimen=np.zeros(number, dtype=np.int64), fan_pct=same, nozzle_c=same + 240.0, dwell_s=same,
        radius_mm=same + np.inf, acceleration_mm_s2=same * np.nan, speed_factor=same + 1.0,
        flow_factor=same + 1.0,
    )  # fmt: skip


def test_volume_is_conserved(block):
    """Melt in the cells of every layer is what was fed to it, within 0.1 %."""
    for layer in islice(deposit_layers(block.moves, NOZZLE, BEAD), 10):
        assert layer.laid_mm3 == pytest.approx(layer.fed_mm3, rel=1e-3)
        assert layer.fed_mm3 == pytest.approx(12.0 * 10.0 * 0.2, rel=1e-6)


def test_a_planned_block_has_hardly_a_void(block):
    """The planner's block: voids under 0.3 %, and what lacks is about what is too much."""
    summary = summarise(deposit_layers(block.moves, NOZZLE, BEAD))
    assert summary.layers == 40
    assert summary.void_pct < 0.3
    assert summary.room_mm3 == pytest.approx(960.0, rel=0.01)


@pytest.mark.parametrize("flow", [90.0, 95.0])
def test_what_lacks_is_what_was_not_fed(machine, flow):
    """At 95 % flow five per cent of the room stays open, nearly all of it enclosed."""
    path = plan_build(
        [SpecimenOrder("block")], {**SETTINGS, "flow_pct": flow, "raster_step_deg": 0.0}, machine
    )
    summary = summarise(deposit_layers(path.moves, NOZZLE, BEAD))
    assert summary.under_pct - summary.sunk_pct == pytest.approx(100.0 - flow, abs=1.0)
    assert summary.void_pct > 0.8 * (100.0 - flow) - 1.0
    assert summary.over_pct < 0.1


def test_too_much_is_over_fill():
    """At 110 % volume a tenth finds room outside of the lines or none."""
    (layer,) = deposit_layers(_lines(1, share=1.1), NOZZLE, 0.4)
    assert layer.under_mm3 < 0.02 * layer.room_mm3  # round ends leave cusps
    outside = layer.laid_mm3 - layer.over_mm3 - (layer.room_mm3 - layer.under_mm3)
    assert layer.over_mm3 + outside == pytest.approx(layer.fed_mm3 - layer.room_mm3, abs=0.02 * layer.fed_mm3)


def test_a_missing_line_is_a_pit_that_the_next_layer_sinks_into():
    """A line left out in layer 0 is an open strip; melt of the layer above sinks into it."""
    first, second = deposit_layers(_lines(2, skip={(0, 9)}), NOZZLE, 0.4)
    assert first.under_mm3 == pytest.approx(8.0 * 0.4 * 0.2, rel=0.15)
    assert first.room_mm3 == pytest.approx(8.0 * 8.0 * 0.2, rel=0.03)
    assert second.sunk_mm3 > 0.25 * first.under_mm3
    plain = list(deposit_layers(_lines(2), NOZZLE, 0.4))[1]
    assert plain.sunk_mm3 < 0.5 * second.sunk_mm3  # cusps at round ends are pits too


def test_a_map_of_a_file_is_that_of_its_plan(block, machine):
    """Written and read again, the block's map has the same volumes."""
    text = write_gcode(block, machine, SETTINGS, ["map"])
    moves = read_gcode_lines(text.splitlines(), "map", machine.filament_diameter_mm).moves
    above = moves.layer >= 1  # the purge line shares the first layer's height
    assert above.any()
    read = list(islice(deposit_layers(moves, NOZZLE, BEAD), 5))[1:]
    planned = list(islice(deposit_layers(block.moves, NOZZLE, BEAD), 5))[1:]
    assert sum(i.fed_mm3 for i in read) == pytest.approx(sum(i.fed_mm3 for i in planned), rel=1e-4)
    share = [sum(i.under_mm3 for i in layers) / sum(i.room_mm3 for i in layers) for layers in (read, planned)]
    assert share[0] == pytest.approx(share[1], abs=2e-3)


def test_only_gaps_shut_in_are_voids():
    """A notch that opens outwards is none; a hole is one; and the section closes over both."""
    fill = np.zeros((40, 40), dtype=np.float32)
    fill[10:30, 10:30] = 1.0
    fill[18:21, 18:21] = 0.0
    fill[10:20, 25] = 0.0
    inside = footprint(fill, 6)
    assert inside[19, 19]
    assert inside[15, 25]
    assert not inside[5, 5]
    void = enclosed(fill, np.ones_like(fill), inside)
    assert void.sum() == 9


def test_senseless_maps_are_refused(block):
    """No bead, coarse cells."""
    with pytest.raises(InputError, match="at least 4"):
        next(deposit_layers(block.moves, NOZZLE, BEAD, cells_per_bead=2))
    with pytest.raises(InputError, match="moves that lay beads"):
        next(deposit_layers(block.moves, NOZZLE, BEAD, specimen=7))
