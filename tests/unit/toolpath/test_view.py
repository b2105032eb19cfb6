"""Beads as plain columns."""

from dataclasses import replace

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.specimens.order import SpecimenOrder
from voidless.toolpath.build import plan_build
from voidless.toolpath.motion import MotionLimits, profile_moves
from voidless.toolpath.priming import without_priming
from voidless.toolpath.reader import read_gcode_lines
from voidless.toolpath.view import view_beads

LIMITS = MotionLimits((100.0, 100.0, 10.0, 50.0), (1000.0, 1000.0, 100.0, 5000.0), 1000.0, 1000.0, 0.02)


@pytest.fixture(scope="module")
def plaque(bench, settings):
    moves = plan_build([SpecimenOrder("plaque")], settings, bench).moves
    return moves, profile_moves(moves, MotionLimits.of(bench))


def test_a_layer_of_a_plaque(plaque, settings):
    """Beads lie on the plaque, and length times width adds up to its section."""
    moves, profile = plaque
    view = view_beads(moves, profile, 3)
    length = np.hypot(*(view.end_mm - view.start_mm)[:, :2].T)
    assert (length * view.width_mm).sum() == pytest.approx(400.0, rel=1e-9)
    assert np.ptp(view.end_mm[:, 0]) <= 20.0
    assert np.unique(view.end_mm[:, 2]).tolist() == pytest.approx([4.0 * settings["layer_mm"]])
    assert np.array_equal(view.move, np.flatnonzero(moves.deposits & (moves.layer == 3)))


def test_all_layers_are_the_layers_put_together(plaque):
    """Without a number the view holds what the single layers hold."""
    moves, profile = plaque
    whole = view_beads(moves, profile)
    parts = [view_beads(moves, profile, layer) for layer in range(15)]
    assert len(whole) == sum(map(len, parts))
    assert np.array_equal(whole.width_mm, np.concatenate([part.width_mm for part in parts]))


def test_speed_is_real_and_flow_as_the_file_sets_it():
    """One bead of 10 mm at 1000 mm/s²; the flow factor doubles the width."""
    moves = read_gcode_lines(["M83", "G1 Z0.2 F600", "G4 P10", "M221 S200", "G1 X10 E0.4 F6000"], "a").moves
    profile = profile_moves(moves, LIMITS)
    view = view_beads(moves, profile)
    assert view.speed_mm_s[0] == pytest.approx(10.0 / (2.0 * np.sqrt(10.0 / 1000.0)), rel=1e-9)
    assert view.width_mm[0] == pytest.approx(2.0 * 0.4 * np.pi * 1.75**2 / 4.0 / (10.0 * 0.2))


def test_layers_that_are_not_there(plaque):
    """A layer beyond the last, no bead at all, and a path that rises are refused."""
    moves, profile = plaque
    with pytest.raises(InputError, match=r"no layer 15 .expected 0 to 14"):
        view_beads(moves, profile, 15)
    with pytest.raises(InputError, match="no bead"):
        view_beads(replace(moves, volume_mm3=-moves.volume_mm3), profile)
    rising = read_gcode_lines(
        ["M83", "G1 Z0.2", *(f"G1 X{i} Z{0.2 + i / 1000:.3f} E1" for i in range(1, 9))], "a"
    )
    with pytest.raises(InputError, match="rises without coming back above itself"):
        view_beads(rising.moves, profile_moves(rising.moves, LIMITS))


def test_what_primes_at_height_zero_is_no_layer():
    """Beads at height 0 have no thickness and belong to no layer."""
    moves = read_gcode_lines(["M83", "G1 X10 E1 F600", "G1 Z0.2", "G1 X20 E1"], "a").moves
    profile = profile_moves(moves, LIMITS)
    with pytest.raises(InputError, match="layer 0"):
        view_beads(moves, profile)
    assert view_beads(without_priming(moves), profile).end_mm[:, 0].tolist() == [20.0]
