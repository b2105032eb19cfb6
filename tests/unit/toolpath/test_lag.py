"""Pressure lag: closed forms, conservation, retraction, pieces, the test print and its reading."""

import math
from dataclasses import replace

import numpy as np
import pytest

from voidless.beads.stadium import bead_area
from voidless.errors import ComputationError, InputError
from voidless.toolpath.lag import deposit_lagged
from voidless.toolpath.lag_pieces import cut_moves
from voidless.toolpath.lag_print import plan_lag_print
from voidless.toolpath.lag_reading import lag_widths, reduce_lag
from voidless.toolpath.limits import check_limits
from voidless.toolpath.motion import MotionLimits, SpeedProfile, profile_moves
from voidless.toolpath.moves import Kind
from voidless.toolpath.reader import read_gcode_lines
from voidless.toolpath.writer import write_gcode

LIMITS = MotionLimits((300.0, 300.0, 15.0, 60.0), (3000.0, 3000.0, 200.0, 3000.0), 1000.0, 1500.0, 0.02)
LAG = 0.05


def _steady(time, speed):
    """Moves that run at their speed from the first moment."""
    time, speed = np.asarray(time, dtype=float), np.asarray(speed, dtype=float)
    return SpeedProfile(time, np.append(speed, speed[-1]), speed, np.full(len(time), 1e3))


def _level(profile):
    """The same with ends at the peak: no ramps."""
    return replace(profile, junction_mm_s=np.full(len(profile.time_s) + 1, profile.peak_mm_s[0]))


@pytest.fixture
def wandering(straight_moves):
    """Beads, travels, retractions and pauses at random, with how they run."""
    rng = np.random.default_rng(11)
    count = 300
    steps = rng.normal(0.0, 4.0, (count, 3)) * [1.0, 1.0, 0.0]
    alone = rng.random(count) < 0.2
    steps[alone] = 0.0
    volume = np.where(
        alone, rng.choice([-2.0, 2.0], count), np.where(rng.random(count) < 0.8, 0.09, 0.0) * 4.0
    )
    kind = np.where(alone, int(Kind.RETRACT), int(Kind.BEAD))
    dwell = np.where(rng.random(count) < 0.1, rng.uniform(0.0, 0.2, count), 0.0)
    moves = straight_moves(np.cumsum(steps, axis=0), 60.0, volume_mm3=volume, kind=kind, dwell_s=dwell)
    return moves, profile_moves(moves, LIMITS)


def test_first_bead_from_empty(straight_moves):
    """Constant feed q from rest: deposited V - lag q (1 - exp(-t / lag)), algebra of the first-order lag."""
    moves = straight_moves([[20.0, 0.0, 0.0]], 50.0, volume_mm3=2.0)
    time = 20.0 / 50.0
    run = _level(_steady([time], [50.0]))
    rate = 2.0 / time
    found = deposit_lagged(moves, run, LAG)
    held = LAG * rate * (1.0 - math.exp(-time / LAG))
    assert found.stored_mm3[1] == pytest.approx(held, rel=1e-12)
    assert found.volume_mm3[0] == pytest.approx(2.0 - held, rel=1e-12)


def test_oozing_at_rest(straight_moves):
    """A pause lets exp(-t / lag) of what is stored remain."""
    moves = straight_moves([[0.0, 0.0, 0.0]], 50.0, volume_mm3=0.0, dwell_s=np.array([0.08]))
    found = deposit_lagged(moves, profile_moves(moves, LIMITS), LAG, stored_mm3=0.3)
    assert found.stored_mm3[1] == pytest.approx(0.3 * math.exp(-0.08 / LAG), rel=1e-12)
    assert found.volume_mm3[0] == pytest.approx(0.3 * (1.0 - math.exp(-0.08 / LAG)), rel=1e-12)


def test_a_ramp(straight_moves):
    """Speeding up from rest at a: Q = k a (t - lag (1 - exp(-t / lag))), k the area."""
    area, rate, time = 0.1, 1000.0, 0.06
    way = rate * time**2 / 2.0
    moves = straight_moves([[way, 0.0, 0.0]], 100.0, volume_mm3=area * way)
    run = SpeedProfile(np.array([time]), np.array([0.0, 60.0]), np.array([60.0]), np.array([rate]))
    flow = area * rate * (time - LAG * (1.0 - math.exp(-time / LAG)))
    assert deposit_lagged(moves, run, LAG).stored_mm3[1] == pytest.approx(LAG * flow, rel=1e-12)


def test_drawing_back_stops_the_flow(straight_moves):
    """A retraction first takes what is stored, then leaves a gap that the next feed fills before it flows."""
    volume = np.array([-1.0, 0.6, 0.6])
    points = [[0.0, 0.0, 0.0]] * 3
    moves = straight_moves(points, 30.0, volume_mm3=volume, kind=np.full(3, int(Kind.RETRACT)))
    found = deposit_lagged(moves, profile_moves(moves, LIMITS), LAG)
    assert found.volume_mm3[0] == 0.0
    assert found.volume_mm3[1] == 0.0
    np.testing.assert_allclose(found.stored_mm3[:3], [0.0, -1.0, -0.4], rtol=1e-12)
    assert 0.0 < found.volume_mm3[2] < 0.2
    assert found.volume_mm3[2] + found.stored_mm3[3] == pytest.approx(0.2, rel=1e-12)


@pytest.mark.parametrize("lag", [0.0, 1e-9, 0.01, 0.05, 1.0])
@pytest.mark.parametrize("compiled", [False, True])
def test_nothing_is_lost(wandering, lag, compiled):
    """What is fed is deposited or stored, whatever the lag; nothing is sucked back through the nozzle."""
    moves, run = wandering
    found = deposit_lagged(moves, run, lag, compiled=compiled)
    np.testing.assert_allclose(found.volume_mm3 + np.diff(found.stored_mm3), moves.volume_mm3, atol=1e-12)
    assert found.volume_mm3.min() > -1e-12
    assert found.volume_mm3.max() > 0.1


def test_without_lag_the_feed_is_deposited(straight_moves):
    """A lag of 0 and a very short one give the volume fed."""
    moves = straight_moves([[5.0, 0.0, 0.0], [5.0, 5.0, 0.0]], 50.0, volume_mm3=[0.5, 0.4])
    run = profile_moves(moves, LIMITS)
    np.testing.assert_allclose(deposit_lagged(moves, run, 0.0).volume_mm3, [0.5, 0.4], rtol=1e-12)
    np.testing.assert_allclose(deposit_lagged(moves, run, 1e-9).volume_mm3, [0.5, 0.4], rtol=1e-6)


def test_pieces_run_as_the_whole(wandering):
    """Times, volumes and deposits of pieces sum to those of their moves; no piece is longer than asked."""
    moves, run = wandering
    pieces, ran, source = cut_moves(moves, run, 0.3)
    assert len(pieces) > 5 * len(moves)
    assert pieces.length_mm.max() <= 0.3 * (1.0 + 1e-9)
    for part, whole in (
        (ran.time_s, run.time_s),
        (pieces.volume_mm3, moves.volume_mm3),
        (deposit_lagged(pieces, ran, LAG).volume_mm3, deposit_lagged(moves, run, LAG).volume_mm3),
    ):
        np.testing.assert_allclose(np.bincount(source, part), whole, atol=1e-11)
    ramp = (ran.peak_mm_s**2 - ran.entry_mm_s**2) / (2.0 * ran.acceleration_mm_s2)
    fall = (ran.peak_mm_s**2 - ran.exit_mm_s**2) / (2.0 * ran.acceleration_mm_s2)
    moving = pieces.length_mm > 0.0
    assert np.all((ramp + fall)[moving] <= pieces.length_mm[moving] + 1e-9)


def test_a_negative_lag_is_refused(wandering):
    """Neither it nor NaN is a lag."""
    moves, run = wandering
    for lag in (-0.01, math.nan):
        with pytest.raises(InputError, match="is no lag"):
            deposit_lagged(moves, run, lag)
    with pytest.raises(InputError, match="above 0 mm"):
        cut_moves(moves, run, 0.0)


@pytest.fixture
def planned(bench, settings):
    return plan_lag_print({**settings, "width_mm": 0.5}, bench)


def test_the_print_keeps_the_limits(planned, bench, settings):
    """No limit is exceeded, the writer takes it, read back the lines step in speed."""
    assert check_limits(planned.toolpath.moves, bench) == []
    text = write_gcode(planned.toolpath, bench, settings, ["lag print"])
    moves = read_gcode_lines(text.splitlines(), "lag.gcode").moves
    slow, fast = planned.speeds_mm_s
    laid = moves.speed_mm_s[moves.deposits]
    np.testing.assert_allclose(np.unique(laid), [slow, fast], atol=0.002)
    assert fast == pytest.approx(min(bench.max_rate_mm3_s / bead_area(0.2, 0.5), 150.0))
    assert len(planned.lines) == 5


def test_missing_volume_after_the_step(planned, bench):
    """After the step up lag x area x step of speed is missing, whatever the ramp."""
    slow, fast = planned.speeds_mm_s
    up, down = planned.steps_mm
    window = 0.5
    place = np.arange(up - 10.0, down - 12.0, window)  # it slows down over the last 8 mm before the step down
    width = lag_widths(planned, MotionLimits.of(bench), 0.03, place, window)
    area = float(bead_area(0.2, 0.5))
    laid = np.where(width >= 0.2, bead_area(0.2, np.maximum(width, 0.2)), math.pi * width**2 / 4.0)
    assert np.sum(area - laid) * window == pytest.approx(0.03 * area * (fast - slow), rel=1e-3)


@pytest.mark.parametrize("lag", [0.0, 0.02, 0.08])
def test_the_reading_recovers_the_lag(planned, bench, lag):
    """Known lags, invented scatter of 0.01 mm: pulls of 60 readings have no bias and a spread of about 1."""
    limits = MotionLimits.of(bench)
    rng = np.random.default_rng(3)
    place = np.linspace(40.0, 172.0, 60)
    width = lag_widths(planned, limits, lag, place, flow_factor=1.03)
    readings = [reduce_lag(planned, limits, place, width + rng.normal(0.0, 0.01, 60)) for _ in range(20)]
    pulls = np.array([(reading.lag_s - lag) / reading.uncertainty_s for reading in readings])
    assert np.abs(pulls).max() < 4.0
    assert abs(pulls.mean()) < (1.0 if lag == 0.0 else 4.0 / math.sqrt(20))  # at 0 the lag cannot fall below
    assert readings[0].flow_factor == pytest.approx(1.03, abs=0.01)
    assert readings[0].residual_mm == pytest.approx(0.01, rel=0.4)
    assert readings[0].freedom == 58


def test_a_reading_without_the_steps_is_refused(planned, bench):
    """Widths that cannot show a lag, or that no lag explains."""
    limits = MotionLimits.of(bench)
    with pytest.raises(InputError, match="do not show both steps"):
        reduce_lag(planned, limits, np.linspace(5.0, 40.0, 20), np.full(20, 0.5))
    with pytest.raises(InputError, match="a position lies outside"):
        lag_widths(planned, limits, 0.05, [0.1])
    place = np.linspace(40.0, 172.0, 60)
    up, down = planned.steps_mm
    far = np.array(
        [40.0, 45.0, 50.0, 55.0, up + 13.0, up + 20.0, up + 30.0, down + 13.0, down + 20.0, down + 30.0]
    )
    with pytest.raises(ComputationError, match="do not tell a lag"):
        reduce_lag(planned, limits, far, lag_widths(planned, limits, 0.002, far))
    with pytest.raises(ComputationError, match="no lag up to"):
        reduce_lag(planned, limits, place, lag_widths(planned, limits, 3.0, place))


def test_a_bed_too_short(bench, settings):
    """The flow must settle between the steps."""
    with pytest.raises(InputError, match="too small"):
        plan_lag_print(settings, replace(bench, bed_x_mm=60.0))
