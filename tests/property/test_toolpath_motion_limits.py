"""Whatever the path: never faster than a limit, and never slower with more acceleration."""

import numpy as np
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


@given(seed=st.integers(0, 2**32 - 1), count=st.integers(1, 60), factor=st.floats(1.0, 20.0))
@settings(max_examples=60, deadline=None)
def test_more_acceleration_is_never_slower(seed, count, factor):
    """Total time does not rise with acceleration."""
    moves = _moves(seed, count)
    slow = profile_moves(moves, _limits(1.0)).time_s
    fast = profile_moves(moves, _limits(factor)).time_s
    assert fast.sum() <= slow.sum() * (1.0 + 1e-12)
