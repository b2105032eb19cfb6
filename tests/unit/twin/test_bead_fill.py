"""The deposit map along each bead: full beads, a bead too thin for its neighbours, beads apart."""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from voidless.toolpath.motion import MotionLimits, profile_moves
from voidless.toolpath.reader import read_gcode_lines
from voidless.toolpath.view import view_beads
from voidless.twin.bead_fill import _means, bead_fill
from voidless.twin.deposit import deposit_layers

FILAMENT = math.pi / 4.0 * 1.75**2
LIMITS = MotionLimits((200.0, 200.0, 12.0, 60.0), (1000.0, 1000.0, 200.0, 5000.0), 1000.0, 1000.0, 0.02)


def beads(shares, pitch=0.4):
    """Return fill along parallel beads of 20 mm, 0.2 mm thick; each is fed its share of pitch times thickness."""
    lines = ["G21 G90 M83", "G0 Z0.2 F3000"]
    for number, share in enumerate(shares):
        y = 10.0 + number * pitch
        lines += [f"G0 X10 Y{y:.3f}", f"G1 X30 E{share * pitch * 0.2 * 20.0 / FILAMENT:.6f} F1200"]
    moves = read_gcode_lines(lines, "beads").moves
    view = view_beads(moves, profile_moves(moves, LIMITS))
    return bead_fill(deposit_layers(moves, 0.4, pitch, cells_per_bead=12), view)


def test_beads_that_fill_their_room():
    """Seven beads at full pitch: inner ones are full; a bead fed a fifth less is open by about as much."""
    np.testing.assert_allclose(beads([1.0] * 7)[1:-1], 1.0, atol=0.02)
    thin = beads([1.0, 1.0, 1.0, 0.8, 1.0, 1.0, 1.0])
    assert thin.argmin() == 3
    full = beads([1.0] * 7)
    assert 0.05 < full[3] - thin[3] < 0.25
    assert thin[1] == pytest.approx(full[1], abs=0.02)


def test_places_lie_evenly_along_a_bead():
    """Over a map that falls from 1 to 0 along a bead laid either way, the mean is that at its middle."""
    grid = SimpleNamespace(x_mm=0.0, y_mm=0.0, cell_mm=0.1)
    fill = np.tile(1.0 - (np.arange(100) + 0.5) / 100.0, (20, 1))
    ends = np.array([[0.0, 1.0, 0.2], [10.0, 1.0, 0.2]])
    view = SimpleNamespace(layer=np.zeros(2), start_mm=ends, end_mm=ends[::-1], width_mm=np.full(2, 0.4))
    layer = SimpleNamespace(layer=0, grid=grid, fill=fill)
    np.testing.assert_allclose(_means(layer, view, np.arange(2)), 0.5, atol=0.002)  # cells of 0.01


def test_layers_that_the_map_lacks_are_unknown():
    """No number is made up."""
    moves = read_gcode_lines(
        ["G21 G90 M83", "G1 Z0.2 F600", "G1 X20 Y5 E0.5", "G1 Z0.4", "G1 X0 E0.5"], "two"
    ).moves
    view = view_beads(moves, profile_moves(moves, LIMITS))
    fill = bead_fill([next(deposit_layers(moves, 0.4, 0.4))], view)
    assert np.isfinite(fill).tolist() == [True, False]
