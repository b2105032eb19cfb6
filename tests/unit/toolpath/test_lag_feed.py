"""Feeding ahead of the lag: what leaves the nozzle is near to the plan, nothing is lost, no feed is too fast."""

import numpy as np
import pytest
from shapely import box

from voidless.errors import InputError
from voidless.machines import load_machine
from voidless.toolpath.build import Solid, plan_solids
from voidless.toolpath.lag import deposit_lagged
from voidless.toolpath.lag_feed import feed_ahead
from voidless.toolpath.lag_pieces import cut_moves
from voidless.toolpath.motion import MotionLimits, profile_moves
from voidless.toolpath.moves import Placement

LAG = 0.05
SETTINGS = {
    "layer_mm": 0.2, "width_mm": 0.45, "flow_pct": 100.0, "contours": 2.0, "raster_deg": 0.0,
    "raster_step_deg": 90.0, "overlap_pct": 20.0, "nozzle_c": 240.0, "bed_c": 80.0, "chamber_c": 25.0,
    "fan_pct": 0.0, "speed_mm_s": 40.0,
}  # fmt: skip


@pytest.fixture(scope="module")
def planned():
    """One layer of a block, and how it runs."""
    machine = load_machine("bench-0.4")
    solid = Solid(Placement(1, "block", (60.0, 60.0), (12.0, 8.0, 0.2)), [box(-6.0, -4.0, 6.0, 4.0)])
    moves = plan_solids([solid], SETTINGS, machine).moves
    return moves, profile_moves(moves, MotionLimits.of(machine)), machine


def _off(moves, profile, target):
    """Return the root mean square by which what leaves differs from the target in stretches of about 0.5 mm."""
    laid = deposit_lagged(moves, profile, LAG).volume_mm3
    layer, window = moves.layer >= 0, np.ones(5)
    error = np.convolve((laid - target)[layer], window, mode="valid")
    return np.sqrt(np.mean(error**2)) / np.convolve(target[layer], window, mode="valid").mean()


def test_what_leaves_is_near_to_the_plan(planned):
    """Without feeding ahead stretches are off by tens of per cent; with it by under a third of that."""
    moves, profile, machine = planned
    pieces, run, _ = cut_moves(moves, profile, 0.1)
    fed = feed_ahead(moves, profile, LAG, 1e6)
    target = np.where(pieces.deposits, pieces.volume_mm3, 0.0)
    before, after = _off(pieces, run, target), _off(fed, run, target)
    assert before > 0.2
    assert after < before / 3.0
    assert machine.lag_s == LAG


def test_nothing_is_lost_and_no_feed_is_too_fast(planned):
    """All that was fed is fed, within the machine's rate, over the same way."""
    moves, profile, machine = planned
    fed = feed_ahead(moves, profile, LAG, machine.max_rate_mm3_s)
    _, run, _ = cut_moves(moves, profile, 0.1)
    beads = fed.layer >= 0
    assert fed.volume_mm3.sum() == pytest.approx(moves.volume_mm3.sum(), rel=2e-3)
    drawn = (fed.length_mm == 0.0) | (run.time_s <= 0.0)
    rate = fed.volume_mm3[beads & ~drawn] / run.time_s[beads & ~drawn]
    assert rate.max() <= machine.max_rate_mm3_s * (1.0 + 1e-9)
    assert fed.length_mm.sum() == pytest.approx(moves.length_mm.sum(), rel=1e-9)
    assert fed.volume_mm3[beads].min() < 0.0


def test_no_lag_changes_nothing_and_nonsense_is_refused(planned):
    """Lag 0 returns the moves; a negative lag or one that is no number is refused."""
    moves, profile, _ = planned
    assert feed_ahead(moves, profile, 0.0, 1.0) is moves
    for lag, most in ((-0.1, 1.0), (np.nan, 1.0), (0.05, 0.0)):
        with pytest.raises(InputError, match="a lag of 0 s or more"):
            feed_ahead(moves, profile, lag, most)
