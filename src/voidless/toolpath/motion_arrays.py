"""Look-ahead motion as array arithmetic: at once there, fast enough for a planned build."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voidless.beads.stadium import filament_area
from voidless.toolpath.moves import Kind, Moves

__all__ = ["look_ahead", "run_arrays"]

Floats = NDArray[np.float64]
Rates = tuple[Floats, Floats]
"""Change of X, Y, Z and filament per way at a move's start and end, `(n, 4)` each. [1]"""

NO_LIMIT = 1e12
"""Speed of moves without way, so that they limit no junction. [mm/s]"""


def _rates(moves: Moves, filament: Floats, way: Floats) -> Rates:
    """Return the rates at start and end; they differ where the move is part of an arc."""
    steps = np.column_stack([moves.steps_mm, filament])
    steps[way == 0.0] = 0.0
    mean = np.divide(steps, way[:, None], out=np.zeros_like(steps), where=way[:, None] > 0.0)
    if moves.bend_rad is None:
        return mean, mean
    first, last = mean.copy(), mean.copy()
    round_ = np.flatnonzero((moves.bend_rad != 0.0) & (way > 0.0))
    chord = np.hypot(steps[round_, 0], steps[round_, 1])
    level = np.sqrt(np.maximum(1.0 - mean[round_, 2] ** 2, 0.0))
    for rates, side in ((first, -0.5), (last, 0.5)):
        turn = side * moves.bend_rad[round_]
        cosine, sine = np.cos(turn) * level / chord, np.sin(turn) * level / chord
        rates[round_, 0] = steps[round_, 0] * cosine - steps[round_, 1] * sine
        rates[round_, 1] = steps[round_, 0] * sine + steps[round_, 1] * cosine
    return first, last


def _capped(wanted: Floats, most: tuple[float, ...], share: Floats) -> Floats:
    """Return a rate along the path lowered so that no axis exceeds its own."""
    with np.errstate(divide="ignore"):
        return np.asarray(np.minimum(wanted, (np.asarray(most) / share).min(axis=1)))


def _stepped_squared(rates: Rates, most: tuple[float, ...]) -> Floats:
    """
    Return the squared speed `(n + 1,)` at which no axis steps by more than its limit. [mm²/s²]

    An axis that turns round passes through rest: its two steps count each by itself.
    """
    rest = np.zeros((1, 4))
    after, before = np.vstack([rates[0], rest]), np.vstack([rest, rates[1]])
    turned = after * before < 0.0
    change = np.where(turned, np.maximum(np.abs(after), np.abs(before)), np.abs(after - before))
    with np.errstate(divide="ignore"):
        return np.asarray((np.asarray(most) / change).min(axis=1) ** 2)


def _junction_squared(rates: Rates, moving: NDArray[np.bool_], acceleration: Floats, off: float) -> Floats:
    """Return the squared speed `(n + 1,)` at which each junction may be passed; 0 at both ends. [mm²/s²]"""
    before, after = rates[1][:-1, :3], rates[0][1:, :3]
    # sin of half the inner angle, 1 straight on and 0 straight back; exact near both, as its cosine is not
    half = np.minimum(0.5 * np.linalg.norm(after + before, axis=1), 1.0)
    missing = 0.25 * np.sum((after - before) ** 2, axis=1)  # 1 - half²
    least = np.minimum(acceleration[:-1], acceleration[1:])
    with np.errstate(divide="ignore", invalid="ignore"):
        squared = np.where(missing > 0.0, least * off * half * (1.0 + half) / missing, np.inf)
    return np.concatenate([[0.0], np.where(moving[:-1] & moving[1:], squared, 0.0), [0.0]])


def look_ahead(cap: Floats, gain: Floats) -> Floats:
    """
    Return the squared speeds at junctions that each can be reached and left.

    Parameters
    ----------
    cap : (n + 1,) float array
        Largest squared speed at each junction. [mm²/s²]
    gain : (n,) float array
        2 a L of each move, the most by which its squared speed can change. [mm²/s²]

    Returns
    -------
    squared : (n + 1,) float array
        The largest that satisfy all limits. [mm²/s²]
    """
    speeds, gains = cap.tolist(), gain.tolist()  # plain numbers: each step needs the one before
    for index in range(len(gains) - 1, -1, -1):
        reached = speeds[index + 1] + gains[index]
        if reached < speeds[index]:
            speeds[index] = reached
    for index, more in enumerate(gains):
        reached = speeds[index] + more
        if reached < speeds[index + 1]:
            speeds[index + 1] = reached
    return np.array(speeds)


def run_arrays(
    moves: Moves,
    speed_mm_s: tuple[float, ...],
    acceleration_mm_s2: tuple[float, ...],
    bead_mm_s2: float,
    travel_mm_s2: float,
    deviation_mm: float,
    step_mm_s: tuple[float, ...] | None,
) -> tuple[Floats, Floats, Floats, Floats]:
    """
    Return time of each move, speed at each junction, peak speed and acceleration of each move.

    Parameters are those of `motion.MotionLimits`; results are those of `motion.SpeedProfile`.
    """
    filament = moves.volume_mm3 * moves.flow_factor / filament_area(moves.filament_diameter_mm)
    alone = moves.length_mm == 0.0
    way = np.where(alone, np.abs(filament), moves.length_mm)
    still = (way == 0.0) | (moves.kind == Kind.DWELL) | (moves.kind == Kind.HOME)
    way = np.where(still, 0.0, way)
    rates = _rates(moves, filament, way)
    share = np.maximum(np.abs(rates[0]), np.abs(rates[1]))
    cruise = _capped(np.where(still, NO_LIMIT, moves.speed_mm_s * moves.speed_factor), speed_mm_s, share)
    own = np.where(moves.volume_mm3 > 0.0, bead_mm_s2, travel_mm_s2)
    own = np.where(alone, acceleration_mm_s2[3], own)
    stated = np.where(np.isnan(moves.acceleration_mm_s2), own, moves.acceleration_mm_s2)
    acceleration = _capped(stated, acceleration_mm_s2, share)
    cruise = np.minimum(cruise, np.sqrt(acceleration * moves.radius_mm))
    if step_mm_s is None:
        cap = _junction_squared(rates, ~alone & ~still, acceleration, deviation_mm)
    else:
        cap = _stepped_squared(rates, step_mm_s)
    cap[1:] = np.minimum(cap[1:], cruise**2)
    cap[:-1] = np.minimum(cap[:-1], cruise**2)
    squared = look_ahead(cap, 2.0 * acceleration * way)
    start, end = squared[:-1], squared[1:]
    peak = np.where(still, 0.0, np.minimum(cruise, np.sqrt(acceleration * way + (start + end) / 2.0)))
    junction = np.sqrt(squared)
    level = np.maximum(way - (2.0 * peak**2 - start - end) / (2.0 * acceleration), 0.0)  # rounding alone
    cruising = np.divide(level, peak, out=np.zeros_like(level), where=peak > 0.0)  # no way takes no time
    ramps = (2.0 * peak - junction[:-1] - junction[1:]) / acceleration
    return np.where(still, 0.0, cruising + ramps) + moves.dwell_s, junction, peak, acceleration
