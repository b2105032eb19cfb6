"""Time of moves: closed forms to 1e-9, look-ahead, limits per axis, pauses."""

import math

import numpy as np
import pytest

from voidless.toolpath.motion import MotionLimits, build_time, profile_moves
from voidless.toolpath.motion_arrays import look_ahead
from voidless.toolpath.moves import Kind
from voidless.toolpath.reader import read_gcode_lines

# Every expected value below is algebra of uniformly accelerated motion, written out in the test.
LIMITS = MotionLimits((300.0, 300.0, 15.0, 60.0), (3000.0, 3000.0, 200.0, 3000.0), 1000.0, 1500.0, 0.02)
EXACT = 1e-9


@pytest.fixture(params=[False, True], ids=["arrays", "compiled"])
def move_times(request):
    """Both forms: a function to the time of each move and the speeds at the junctions."""

    def run(moves, limits):
        profile = profile_moves(moves, limits, compiled=request.param)
        return profile.time_s, profile.junction_mm_s

    return run


def test_one_move_reaches_its_speed(move_times, straight_moves):
    """Rest to rest over s at v and a: s / v + v / a."""
    time, junction = move_times(straight_moves([[30.0, 0.0, 0.0]], 50.0), LIMITS)
    assert time[0] == pytest.approx(30.0 / 50.0 + 50.0 / 1000.0, rel=EXACT)
    np.testing.assert_array_equal(junction, [0.0, 0.0])


def test_one_move_too_short_for_its_speed(move_times, straight_moves):
    """Rest to rest over s with a: 2 sqrt(s / a)."""
    time, _ = move_times(straight_moves([[0.5, 0.0, 0.0]], 100.0), LIMITS)
    assert time[0] == pytest.approx(2.0 * math.sqrt(0.5 / 1000.0), rel=EXACT)


def test_two_collinear_moves_are_as_one(move_times, straight_moves):
    """A junction straight ahead costs nothing."""
    parted, _ = move_times(straight_moves([[13.0, 0.0, 0.0], [30.0, 0.0, 0.0]], 50.0), LIMITS)
    assert parted.sum() == pytest.approx(30.0 / 50.0 + 50.0 / 1000.0, rel=EXACT)


def test_a_change_of_speed_straight_ahead(move_times, straight_moves):
    """The junction is passed at the lower speed: v1 = 20 over 10 mm, then v2 = 60 over 30 mm."""
    time, junction = move_times(straight_moves([[10.0, 0.0, 0.0], [40.0, 0.0, 0.0]], [20.0, 60.0]), LIMITS)
    assert junction[1] == pytest.approx(20.0, rel=EXACT)
    a = 1000.0
    first = 20.0 / a + (10.0 - 20.0**2 / (2 * a)) / 20.0
    ramps = (60.0**2 - 20.0**2) / (2 * a) + 60.0**2 / (2 * a)
    second = (60.0 - 20.0) / a + 60.0 / a + (30.0 - ramps) / 60.0
    np.testing.assert_allclose(time, [first, second], rtol=EXACT)


@pytest.mark.parametrize("turn_deg", [30.0, 90.0, 135.0])
def test_a_corner(move_times, straight_moves, turn_deg):
    """Junction deviation d: v² = a d sin(t/2) / (1 - sin(t/2)) with the inner angle t = 180° - turn."""
    turn = math.radians(turn_deg)
    end = [20.0 + 20.0 * math.cos(turn), 20.0 * math.sin(turn), 0.0]
    time, junction = move_times(straight_moves([[20.0, 0.0, 0.0], end], 50.0), LIMITS)
    half = math.sin((math.pi - turn) / 2.0)
    speed = min(50.0, math.sqrt(1000.0 * 0.02 * half / (1.0 - half)))
    assert junction[1] == pytest.approx(speed, rel=EXACT)
    a, v = 1000.0, 50.0
    leg = (2 * v - speed) / a + (20.0 - (2 * v**2 - speed**2) / (2 * a)) / v
    np.testing.assert_allclose(time, [leg, leg], rtol=EXACT)


def test_straight_back_stops(move_times, straight_moves):
    """A reversal is passed at rest."""
    _, junction = move_times(straight_moves([[20.0, 0.0, 0.0], [0.0, 0.0, 0.0]], 50.0), LIMITS)
    assert junction[1] == 0.0


def test_a_chain_of_short_moves(move_times, straight_moves):
    """Look-ahead over many short collinear moves gives the one long move."""
    points = np.column_stack([np.linspace(0.0, 30.0, 301)[1:], np.zeros(300), np.zeros(300)])
    time, _ = move_times(straight_moves(points, 50.0), LIMITS)
    assert time.sum() == pytest.approx(30.0 / 50.0 + 50.0 / 1000.0, rel=EXACT)


def test_a_full_circle_is_held_to_its_centripetal_speed(move_times, straight_moves):
    """On a radius r no faster than sqrt(a r); from rest to rest over 2 pi r along the arc."""
    count, radius = 360, 1.5
    angle = np.linspace(0.0, 2.0 * math.pi, count + 1)[1:]
    points = np.column_stack([radius * np.cos(angle) - radius, radius * np.sin(angle), np.zeros(count)])
    arc = {"length_mm": np.full(count, 2.0 * math.pi * radius / count), "radius_mm": np.full(count, radius)}
    time, junction = move_times(straight_moves(points, 100.0, **arc), LIMITS)
    speed = math.sqrt(1000.0 * radius)
    assert junction.max() == pytest.approx(speed, rel=EXACT)
    assert time.sum() == pytest.approx(2.0 * math.pi * radius / speed + speed / 1000.0, rel=EXACT)


def test_axis_limits_hold_along_a_diagonal(move_times, straight_moves):
    """A move steep in Z is slowed so that Z keeps to 15 mm/s and 200 mm/s²."""
    time, _ = move_times(straight_moves([[6.0, 0.0, 8.0]], 200.0), LIMITS)
    v, a = 15.0 / 0.8, 200.0 / 0.8
    assert time[0] == pytest.approx(10.0 / v + v / a, rel=EXACT)


def test_the_extruder_limits_too(move_times, straight_moves):
    """A bead that feeds 2 mm of filament per mm runs at half the extruder's 60 mm/s."""
    area = math.pi * 1.75**2 / 4.0
    time, _ = move_times(straight_moves([[40.0, 0.0, 0.0]], 200.0, volume_mm3=80.0 * area), LIMITS)
    assert time[0] == pytest.approx(40.0 / 30.0 + 30.0 / 1000.0, rel=EXACT)


def test_a_retraction_runs_by_itself(move_times, straight_moves):
    """0.8 mm at 35 mm/s with the extruder's 3000 mm/s²; its neighbours stop for it."""
    area = math.pi * 1.75**2 / 4.0
    points = [[20.0, 0.0, 0.0], [20.0, 0.0, 0.0], [40.0, 0.0, 0.0]]
    kind = np.array([Kind.BEAD, Kind.RETRACT, Kind.TRAVEL], dtype=np.int64)
    moves = straight_moves(points, [50.0, 35.0, 150.0], volume_mm3=[1e-6, -0.8 * area, 0.0], kind=kind)
    time, junction = move_times(moves, LIMITS)
    np.testing.assert_array_equal(junction, 0.0)
    assert time[1] == pytest.approx(0.8 / 35.0 + 35.0 / 3000.0, rel=EXACT)
    assert time[2] == pytest.approx(20.0 / 150.0 + 150.0 / 1500.0, rel=EXACT)  # the ramps take 15 of 20 mm


def test_a_pause_counts_and_stops(move_times, straight_moves):
    """A dwell adds its own time and the moves around it come to rest."""
    points = [[20.0, 0.0, 0.0], [20.0, 0.0, 0.0], [40.0, 0.0, 0.0]]
    kind = np.array([Kind.BEAD, Kind.DWELL, Kind.BEAD], dtype=np.int64)
    volume = [1e-6, 0.0, 1e-6]
    moves = straight_moves(points, 50.0, volume_mm3=volume, kind=kind, dwell_s=np.array([0.0, 2.5, 0.0]))
    time, _ = move_times(moves, LIMITS)
    leg = 20.0 / 50.0 + 50.0 / 1000.0
    np.testing.assert_allclose(time, [leg, 2.5, leg], rtol=EXACT)


def test_speed_steps_instead_of_deviation(move_times, straight_moves):
    """With steps of 8 mm/s per axis a right corner is passed, and rest is left, at 8 mm/s."""
    limits = MotionLimits(
        LIMITS.speed_mm_s, LIMITS.acceleration_mm_s2, 1000.0, 1500.0, 0.02, (8.0, 8.0, 0.4, 100.0)
    )
    time, junction = move_times(straight_moves([[20.0, 0.0, 0.0], [20.0, 20.0, 0.0]], 50.0), limits)
    np.testing.assert_allclose(junction, [8.0, 8.0, 8.0], rtol=EXACT)
    leg = 2 * (50.0 - 8.0) / 1000.0 + (20.0 - (50.0**2 - 8.0**2) / 1000.0) / 50.0
    np.testing.assert_allclose(time, [leg, leg], rtol=EXACT)


def test_look_ahead_is_the_largest_reachable():
    """No junction can be raised without breaking a cap or a gain (plain search over both neighbours)."""
    rng = np.random.default_rng(7)
    cap, gain = rng.uniform(0.0, 100.0, 200), rng.uniform(0.0, 30.0, 199)
    found = look_ahead(cap, gain)
    assert np.all(found <= cap)
    assert np.all(np.abs(np.diff(found)) <= gain + 1e-12)
    bound = np.minimum(
        cap, np.minimum(np.append(np.inf, found[:-1] + gain), np.append(found[1:] + gain, np.inf))
    )
    np.testing.assert_allclose(found, bound, rtol=1e-12)


def test_totals_add_up(straight_moves):
    """Time per layer and per kind both sum to the total."""
    points = np.cumsum(np.random.default_rng(3).normal(0.0, 5.0, (60, 3)) * [1, 1, 0.01], axis=0)
    layer = np.repeat(np.arange(6), 10)
    spent = build_time(straight_moves(points, 50.0, layer=layer), LIMITS)
    assert spent.per_layer_s.sum() == pytest.approx(spent.total_s)
    assert sum(spent.by_kind.values()) == pytest.approx(spent.total_s)
    assert len(spent.per_layer_s) == 6


def test_no_moves_take_no_time(move_times, straight_moves):
    """An empty list is no fault."""
    time, junction = move_times(straight_moves(np.zeros((0, 3)), 50.0), LIMITS)
    assert len(time) == 0
    assert list(junction) == [0.0]


def test_reversal_counts_each_step_by_itself(move_times, straight_moves):
    """An axis that turns round passes through rest: 8 mm/s on both sides of the turn, not 4."""
    limits = MotionLimits(
        LIMITS.speed_mm_s, LIMITS.acceleration_mm_s2, 1000.0, 1500.0, 0.02, (8.0, 8.0, 0.4, 100.0)
    )
    _, junction = move_times(straight_moves([[20.0, 0.0, 0.0], [0.0, 0.0, 0.0]], 50.0), limits)
    np.testing.assert_allclose(junction, [8.0, 8.0, 8.0], rtol=EXACT)


def test_filament_steps_limit_the_junction(move_times, straight_moves):
    """From 0.05 to 0.25 mm of filament per mm a step of 2 mm/s is reached at 10 mm/s along the path."""
    area = math.pi * 1.75**2 / 4.0
    limits = MotionLimits(
        LIMITS.speed_mm_s, LIMITS.acceleration_mm_s2, 1000.0, 1500.0, 0.02, (100.0, 100.0, 100.0, 2.0)
    )
    moves = straight_moves([[20.0, 0.0, 0.0], [40.0, 0.0, 0.0]], 50.0, volume_mm3=[area, 5.0 * area])
    _, junction = move_times(moves, limits)
    assert junction[1] == pytest.approx(10.0, rel=EXACT)


def _program(*lines):
    return read_gcode_lines(["G1 F6000", *lines], "f.gcode").moves


def test_a_circle_read_from_a_file(move_times):
    """G3 round a whole circle with a line before and after at a tangent: the arc's speed alone limits."""
    moves = _program("G1 X20", "G3 J1.5", "G1 X40")
    time, junction = move_times(moves, LIMITS)
    arc = np.flatnonzero(moves.radius_mm < math.inf)
    speed = math.sqrt(1500.0 * 1.5)  # travels: 1500 mm/s²
    np.testing.assert_allclose(junction[arc[0] : arc[-1] + 2], speed, rtol=EXACT)
    assert time[arc].sum() == pytest.approx(3.0 * math.pi / speed, rel=EXACT)
    v, a = 100.0, 1500.0
    leg = (2 * v - speed) / a + (20.0 - (2 * v**2 - speed**2) / (2 * a)) / v
    assert time[0] == pytest.approx(leg, rel=EXACT)


def test_a_corner_between_line_and_arc(move_times):
    """A half circle met at a right angle to its tangent: the corner is that of the tangents, not of chords."""
    moves = _program("G1 X20", "G3 X20 Y20 J10 I0", "G1 X40")
    straight_on = _program("G1 X20", "G2 X40 I10 J0", "G1 X60")
    _, tangent = move_times(moves, LIMITS)
    assert tangent[1] == pytest.approx(
        100.0, rel=1e-6
    )  # no corner: limited by sqrt(a r) = 122 mm/s and the 100
    _, corner = move_times(straight_on, LIMITS)
    half = math.sin(math.pi / 4.0)
    assert corner[1] == pytest.approx(math.sqrt(1500.0 * 0.02 * half / (1.0 - half)), rel=EXACT)


def test_real_speed_along_each_bead(straight_moves):
    """Length over time, entry and exit at the junctions, the peak where a move is too short for its command."""
    moves = straight_moves([[1.0, 0.0, 0.0], [1.0, 0.0, 0.0], [31.0, 0.0, 0.0]], 100.0)
    profile = profile_moves(moves, LIMITS)
    assert profile.entry_mm_s[0] == profile.exit_mm_s[2] == 0.0
    np.testing.assert_array_equal(profile.entry_mm_s[1:], profile.exit_mm_s[:-1])
    one = 30.0 / 100.0 + 100.0 / 1000.0
    assert profile.mean_mm_s(moves)[2] == pytest.approx(30.0 / one, rel=EXACT)
    assert profile.peak_mm_s[0] == pytest.approx(math.sqrt(1000.0 * 1.0), rel=EXACT)
    assert profile.mean_mm_s(moves)[1] == 0.0


def test_a_stated_acceleration_of_retractions():
    """M204 R holds for moves of the filament alone: 0.8 mm from rest to rest with 1250 mm/s²."""
    moves = read_gcode_lines(["M204 P1000 R1250", "M83", "G1 X1 E0.1 F600", "G1 E-0.8 F6000"], "f").moves
    time = profile_moves(moves, LIMITS).time_s
    assert time[1] == pytest.approx(2.0 * math.sqrt(0.8 / 1250.0), rel=EXACT)
