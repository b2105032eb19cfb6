"""
Time of moves under limits of speed and acceleration, with look-ahead over junctions.

Every move runs a trapezoid of speed: entry, cruise, exit. How fast a junction may be passed comes from
one of two rules. Junction deviation: the speed at which a circle that cuts the corner by that much is
passed with the acceleration at hand. Speed step: no axis may change its speed at once by more than its own
limit, at rest included. Look-ahead over the whole path then lowers junction speeds until each can be
reached and left.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from voidless.beads.stadium import filament_area
from voidless.toolpath.moves import Kind, Moves, Toolpath

if TYPE_CHECKING:
    from voidless.machines import Machine

__all__ = ["BuildTime", "MotionLimits", "build_time", "look_ahead", "move_times"]

Floats = NDArray[np.float64]

_NO_LIMIT = 1e12
"""Speed of moves without way, so that they limit no junction. [mm/s]"""


@dataclass(frozen=True)
class MotionLimits:
    """
    What limits motion.

    Attributes
    ----------
    speed_mm_s, acceleration_mm_s2 : tuple of float
        Of the axes X, Y, Z and the filament. [mm/s], [mm/s²]
    bead_mm_s2, travel_mm_s2 : float
        Acceleration along the path with and without deposit. [mm/s²]
    deviation_mm : float
        Junction deviation. [mm]
    step_mm_s : tuple of float or None
        Largest step of speed of X, Y, Z and the filament; where given it rules instead of the
        deviation. [mm/s]
    """

    speed_mm_s: tuple[float, ...]
    acceleration_mm_s2: tuple[float, ...]
    bead_mm_s2: float
    travel_mm_s2: float
    deviation_mm: float
    step_mm_s: tuple[float, ...] | None = None

    @classmethod
    def of(cls, machine: Machine) -> MotionLimits:
        """Return the limits that a machine's data state."""
        return cls(
            tuple(machine.speed_max_mm_s),
            tuple(machine.acceleration_max_mm_s2),
            machine.print_acceleration_mm_s2,
            machine.travel_acceleration_mm_s2,
            machine.junction_deviation_mm,
        )


@dataclass(frozen=True, eq=False)
class BuildTime:
    """
    Time of a build without homing and heating.

    Attributes
    ----------
    total_s : float
        All moves and pauses. [s]
    per_layer_s : (layers,) float array
        Time from a layer's first move to the next layer's. [s]
    by_kind : dict
        Time per kind of move, lower-case names of `Kind`. [s]
    """

    total_s: float
    per_layer_s: Floats
    by_kind: dict[str, float]


def _ways(moves: Moves) -> tuple[Floats, Floats]:
    """Return displacement of X, Y, Z, filament `(n, 4)` and the length that speeds refer to `(n,)`. [mm]"""
    filament = moves.volume_mm3 * moves.flow_factor / filament_area(moves.filament_diameter_mm)
    steps = np.column_stack([moves.steps_mm, filament])
    still = moves.length_mm == 0.0
    return steps, np.where(still, np.abs(filament), moves.length_mm)


def _capped(wanted: Floats, most: tuple[float, ...], steps: Floats, way: Floats) -> Floats:
    """Return a rate along the path lowered so that no axis exceeds its own."""
    with np.errstate(divide="ignore", invalid="ignore"):
        shares = np.where(steps != 0.0, np.asarray(most) * way[:, None] / np.abs(steps), np.inf)
    return np.asarray(np.minimum(wanted, shares.min(axis=1)))


def _stepped_squared(steps: Floats, way: Floats, most: tuple[float, ...]) -> Floats:
    """Return the squared speed `(n + 1,)` at which no axis steps by more than its limit. [mm²/s²]"""
    rate = np.divide(steps, way[:, None], out=np.zeros_like(steps), where=way[:, None] > 0.0)
    rest = np.zeros((1, 4))
    change = np.abs(np.diff(np.vstack([rest, rate, rest]), axis=0))
    with np.errstate(divide="ignore"):
        return np.asarray((np.asarray(most) / change).min(axis=1) ** 2)


def _junction_squared(steps: Floats, acceleration: Floats, limits: MotionLimits) -> Floats:
    """Return the squared speed `(n + 1,)` at which each junction may be passed; 0 at both ends. [mm²/s²]"""
    direction = steps[:, :3]
    norm = np.linalg.norm(direction, axis=1)
    unit = np.divide(direction, norm[:, None], out=np.zeros_like(direction), where=norm[:, None] > 0.0)
    # sin of half the inner angle: 1 straight on, 0 straight back
    half = np.sqrt(np.clip((1.0 + np.sum(unit[:-1] * unit[1:], axis=1)) / 2.0, 0.0, 1.0))
    least = np.minimum(acceleration[:-1], acceleration[1:])
    with np.errstate(divide="ignore"):
        squared = least * limits.deviation_mm * half / (1.0 - half)
    moving = norm > 0.0
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


def move_times(moves: Moves, limits: MotionLimits) -> tuple[Floats, Floats]:
    """
    Return the time of each move and the speeds at the junctions.

    Parameters
    ----------
    moves : Moves
        Moves in order; factors on speed and flow are applied.
    limits : MotionLimits
        What limits motion.

    Returns
    -------
    time_s : (n,) float array
        Time of each move, pauses included; homing counts nothing. [s]
    junction_mm_s : (n + 1,) float array
        Speed at each junction, 0 at both ends. [mm/s]

    Notes
    -----
    Trapezoids with one acceleration per move. Steps in the feed of filament at junctions are not
    limited, and the controller is taken to see the whole path: a short planning queue is slower.
    """
    if not len(moves):
        return np.zeros(0), np.zeros(1)
    steps, way = _ways(moves)
    still = (way == 0.0) | (moves.kind == Kind.DWELL) | (moves.kind == Kind.HOME)
    way = np.where(still, 0.0, way)
    steps = np.where(still[:, None], 0.0, steps)
    wanted = np.where(still, _NO_LIMIT, moves.speed_mm_s * moves.speed_factor)
    cruise = _capped(wanted, limits.speed_mm_s, steps, way)
    filament_only = (moves.length_mm == 0.0) & ~still
    own = np.where(moves.volume_mm3 > 0.0, limits.bead_mm_s2, limits.travel_mm_s2)
    own = np.where(filament_only, limits.acceleration_mm_s2[3], own)
    stated = np.where(np.isnan(moves.acceleration_mm_s2) | filament_only, own, moves.acceleration_mm_s2)
    acceleration = _capped(stated, limits.acceleration_mm_s2, steps, way)
    cruise = np.minimum(cruise, np.sqrt(acceleration * moves.radius_mm))
    if limits.step_mm_s is None:
        cap = _junction_squared(steps, acceleration, limits)
    else:
        cap = _stepped_squared(steps, way, limits.step_mm_s)
    cap[1:] = np.minimum(cap[1:], cruise**2)
    cap[:-1] = np.minimum(cap[:-1], cruise**2)
    squared = look_ahead(cap, 2.0 * acceleration * way)
    time = _trapezoid(way, np.sqrt(squared[:-1]), np.sqrt(squared[1:]), cruise, acceleration)
    return np.where(still, 0.0, time) + moves.dwell_s, np.sqrt(squared)


def _trapezoid(way: Floats, start: Floats, end: Floats, cruise: Floats, acceleration: Floats) -> Floats:
    """Return the time over a way with given speeds at both ends. [s]"""
    peak = np.minimum(cruise, np.sqrt(acceleration * way + (start**2 + end**2) / 2.0))
    ramps = (2.0 * peak**2 - start**2 - end**2) / (2.0 * acceleration)
    level = np.maximum(way - ramps, 0.0)  # rounding alone can make it negative
    cruising = np.divide(level, peak, out=np.zeros_like(level), where=peak > 0.0)  # no way takes no time
    return np.asarray(cruising + (2.0 * peak - start - end) / acceleration)


def build_time(path: Toolpath | Moves, machine: Machine | MotionLimits) -> BuildTime:
    """
    Return how long a build takes, in all, per layer and per kind of move.

    Parameters
    ----------
    path : Toolpath or Moves
        What is moved.
    machine : Machine or MotionLimits
        What limits it.

    Returns
    -------
    time : BuildTime
        Without homing and heating.
    """
    moves = path.moves if isinstance(path, Toolpath) else path
    limits = machine if isinstance(machine, MotionLimits) else MotionLimits.of(machine)
    time, _ = move_times(moves, limits)
    in_layer = moves.layer >= 0
    layers = int(moves.layer.max(initial=-1)) + 1
    per_layer = np.bincount(moves.layer[in_layer], weights=time[in_layer], minlength=layers).astype(float)
    kinds = np.bincount(moves.kind, weights=time, minlength=len(Kind))
    by_kind = {kind.name.lower(): float(kinds[kind]) for kind in Kind if kinds[kind] > 0.0}
    return BuildTime(float(time.sum()), per_layer, by_kind)
