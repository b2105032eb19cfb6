"""Whatever the path: never faster than a limit, and never slower with more acceleration."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from voidless.beads.stadium import filament_area
from voidless.toolpath.motion import MotionLimits, profile_moves
from voidless.toolpath.moves import Kind, Moves

SPEED = (120.0, 80.0, 10.0, 40.0)
AXES = (900.0, 700.0, 150.0, 2000.0)


def _moves(seed: int, count: int) -> Moves:
    rng = np.random.default_rng(seed)
    steps = rng.normal(0.0, 1.0, (count, 3)) * rng.choice([0.05, 1.0, 20.0], (count, 1)) * [1.0, 1.0, 0.05]
    steps[rng.random(count) < 0.1] = 0.0
    ends = np.cumsum(steps, axis=0)
    feed = np.where(rng.random(count) < 0.5, rng.normal(0.0, 1.0, count), 0.0)
    return Moves(
        kind=np.full(count, int(Kind.BEAD)),
        x_mm=ends[:, 0],
        y_mm=ends[:, 1],
        z_mm=ends[:, 2],
        length_mm=np.linalg.norm(np.diff(np.vstack([np.zeros(3), ends]), axis=0), axis=1),
        volume_mm3=feed * filament_area(1.75),
        speed_mm_s=rng.uniform(1.0, 300.0, count),
        layer=np.zeros(count, dtype=np.int64),
        specimen=np.zeros(count, dtype=np.int64),
        fan_pct=np.zeros(count),
        nozzle_c=np.zeros(count),
        dwell_s=np.zeros(count),
        radius_mm=np.full(count, np.inf),
        acceleration_mm_s2=np.full(count, np.nan),
        speed_factor=np.ones(count),
        flow_factor=np.ones(count),
    )


def _limits(factor: float) -> MotionLimits:
    more = tuple(value * factor for value in AXES)
    return MotionLimits(SPEED, more, 500.0 * factor, 800.0 * factor, 0.03)


@given(seed=st.integers(0, 2**32 - 1), count=st.integers(1, 60))
@settings(max_examples=60, deadline=None)
def test_no_move_beats_its_limits(seed, count):
    """Mean speed per axis is within the axis's limit, junction speeds within both commands."""
    moves = _moves(seed, count)
    profile = profile_moves(moves, _limits(1.0))
    time, junction = profile.time_s, profile.junction_mm_s
    steps = np.column_stack([moves.steps_mm, moves.filament_mm])
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = np.where(time[:, None] > 0.0, np.abs(steps) / time[:, None], 0.0)
    assert np.all(mean <= np.asarray(SPEED) * (1.0 + 1e-9))
    assert np.all((time > 0.0) == ((moves.length_mm > 0.0) | (moves.volume_mm3 != 0.0)))
    moving = moves.length_mm > 0.0
    assert np.all(junction[1:][moving] <= moves.speed_mm_s[moving] * (1.0 + 1e-12))
    assert np.all(junction[:-1][moving] <= moves.speed_mm_s[moving] * (1.0 + 1e-12))
    assert junction[0] == junction[-1] == 0.0


@given(seed=st.integers(0, 2**32 - 1), count=st.integers(1, 60), stepped=st.booleans())
@settings(max_examples=100, deadline=None)
def test_ramps_keep_the_acceleration_and_junctions_their_rule(seed, count, stepped):
    """Speeds change along a move no faster than 2 a L; peaks and steps per axis stay within limits."""
    moves = _moves(seed, count)
    step = (9.0, 7.0, 0.4, 2.0)
    limits = replace(_limits(1.0), step_mm_s=step if stepped else None)
    profile = profile_moves(moves, limits)
    way = np.where(moves.length_mm > 0.0, moves.length_mm, np.abs(moves.filament_mm))
    change = np.abs(np.diff(profile.junction_mm_s**2))
    assert np.all(change <= 2.0 * profile.acceleration_mm_s2 * way * (1.0 + 1e-9) + 1e-9)
    steps = np.column_stack([moves.steps_mm, moves.filament_mm])
    rate = np.divide(steps, way[:, None], out=np.zeros_like(steps), where=way[:, None] > 0.0)
    assert np.all(np.abs(rate) * profile.peak_mm_s[:, None] <= np.asarray(SPEED) * (1.0 + 1e-9))
    moving = way > 0.0
    axes = np.abs(rate[moving]) * profile.acceleration_mm_s2[moving, None]
    assert np.all(axes <= np.asarray(AXES) * (1.0 + 1e-9))
    if stepped:
        before, after = np.vstack([np.zeros(4), rate]), np.vstack([rate, np.zeros(4)])
        turned = before * after < 0.0
        jump = np.where(turned, np.maximum(np.abs(before), np.abs(after)), np.abs(after - before))
        assert np.all(jump * profile.junction_mm_s[:, None] <= np.asarray(step) * (1.0 + 1e-9))


@given(seed=st.integers(0, 2**32 - 1), count=st.integers(1, 60), stepped=st.booleans(), arcs=st.booleans())
@settings(max_examples=100, deadline=None)
def test_compiled_equals_arrays(seed, count, stepped, arcs):
    """Both forms give the same times and speeds to rounding."""
    moves = _moves(seed, count)
    rng = np.random.default_rng(seed)
    if arcs:
        bend = np.where(
            (rng.random(count) < 0.5) & (moves.steps_mm[:, 0] != 0.0), rng.uniform(-1.0, 1.0, count), 0.0
        )
        radius = np.where(bend != 0.0, rng.uniform(0.1, 20.0, count), np.inf)
        moves = replace(moves, bend_rad=bend, radius_mm=radius, dwell_s=rng.choice([0.0, 0.1], count))
    limits = replace(_limits(1.0), step_mm_s=(9.0, 7.0, 0.4, 2.0) if stepped else None)
    one, other = (profile_moves(moves, limits, compiled=compiled) for compiled in (False, True))
    for name, value in vars(one).items():
        np.testing.assert_allclose(getattr(other, name), value, rtol=1e-9, atol=1e-9, err_msg=name)


@given(seed=st.integers(0, 2**32 - 1), count=st.integers(1, 60), factor=st.floats(1.0, 20.0))
@settings(max_examples=60, deadline=None)
@pytest.mark.parametrize("step", [None, (9.0, 7.0, 0.4, 2.0)], ids=["deviation", "speed step"])
def test_more_acceleration_is_never_slower(seed, count, factor, step):
    """Total time does not rise with acceleration."""
    moves = _moves(seed, count)
    slow = profile_moves(moves, replace(_limits(1.0), step_mm_s=step)).time_s
    fast = profile_moves(moves, replace(_limits(factor), step_mm_s=step)).time_s
    assert fast.sum() <= slow.sum() * (1.0 + 1e-12)
