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

from voidless.toolpath.moves import Kind, Moves, Toolpath

if TYPE_CHECKING:
    from voidless.machines import Machine

__all__ = ["BuildTime", "MotionLimits", "SpeedProfile", "build_time", "profile_moves", "spent_time"]

Floats = NDArray[np.float64]

_WORTH_COMPILING = 400_000
"""Moves from which on the compiled form is used, whose start takes about a second. [1]"""


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


@dataclass(frozen=True, eq=False)
class SpeedProfile:
    """
    How each move really runs.

    Attributes
    ----------
    time_s : (n,) float array
        Time of each move, pauses included; homing counts nothing. [s]
    junction_mm_s : (n + 1,) float array
        Speed at each junction. [mm/s]
    peak_mm_s : (n,) float array
        Largest speed during each move; 0 where nothing moves. [mm/s]
    acceleration_mm_s2 : (n,) float array
        Acceleration along each move's path, up to the peak and down from it. [mm/s²]
    """

    time_s: Floats
    junction_mm_s: Floats
    peak_mm_s: Floats
    acceleration_mm_s2: Floats

    @property
    def entry_mm_s(self) -> Floats:
        """Speed at the start of each move, `(n,)`. [mm/s]"""
        return self.junction_mm_s[:-1]

    @property
    def exit_mm_s(self) -> Floats:
        """Speed at the end of each move, `(n,)`. [mm/s]"""
        return self.junction_mm_s[1:]

    def mean_mm_s(self, moves: Moves) -> Floats:
        """Return the real mean speed along each move's path, `(n,)`: length over time, 0 without path. [mm/s]"""
        moving = self.time_s - moves.dwell_s
        return np.divide(moves.length_mm, moving, out=np.zeros(len(moves)), where=moving > 0.0)


def profile_moves(moves: Moves, limits: MotionLimits, compiled: bool | None = None) -> SpeedProfile:
    """
    Return how each move really runs: time, entry, peak and exit speed.

    Parameters
    ----------
    moves : Moves
        Moves in order; factors on speed and flow are applied.
    limits : MotionLimits
        What limits motion.
    compiled : bool or None
        Whether the compiled form runs; None: from 400 000 moves on. The result is the same to rounding.

    Returns
    -------
    profile : SpeedProfile
        One entry per move.

    Notes
    -----
    Trapezoids with one acceleration per move. The result is the fastest motion within the limits, so that a
    larger limit never makes it slower. Under junction deviation steps in the feed of filament at junctions
    are not limited. The controller is taken to see the whole path: a short planning queue is slower.
    """
    if not len(moves):
        return SpeedProfile(np.zeros(0), np.zeros(1), np.zeros(0), np.zeros(0))
    fast = len(moves) >= _WORTH_COMPILING if compiled is None else compiled
    if fast:
        from voidless.toolpath.motion_kernel import run_compiled as run
    else:
        from voidless.toolpath.motion_arrays import run_arrays as run
    return SpeedProfile(
        *run(
            moves,
            limits.speed_mm_s,
            limits.acceleration_mm_s2,
            limits.bead_mm_s2,
            limits.travel_mm_s2,
            limits.deviation_mm,
            limits.step_mm_s,
        )
    )


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
    return spent_time(moves, profile_moves(moves, limits))


def spent_time(moves: Moves, profile: SpeedProfile) -> BuildTime:
    """
    Return the time of moves in all, per layer and per kind.

    Parameters
    ----------
    moves : Moves
        Moves in order.
    profile : SpeedProfile
        How they really run.

    Returns
    -------
    time : BuildTime
        Sums of `profile.time_s`.
    """
    time = profile.time_s
    in_layer = moves.layer >= 0
    layers = int(moves.layer.max(initial=-1)) + 1
    per_layer = np.bincount(moves.layer[in_layer], weights=time[in_layer], minlength=layers).astype(float)
    kinds = np.bincount(moves.kind, weights=time, minlength=len(Kind))
    by_kind = {kind.name.lower(): float(kinds[kind]) for kind in Kind if kinds[kind] > 0.0}
    return BuildTime(float(time.sum()), per_layer, by_kind)
