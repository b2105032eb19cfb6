"""
Pressure lag: what really leaves the nozzle, against what the drive feeds.

The polymer between drive and nozzle gives like a spring and flows like a dashpot. One constant, the lag,
tells how much of it is stored: flow = stored volume / lag. So the flow follows the drive by
lag dQ/dt = Q_fed - Q, and a drive that draws back first takes the stored volume, then leaves a gap that it
must fill again before anything flows.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.toolpath.motion import SpeedProfile
from voidless.toolpath.moves import Moves

__all__ = ["Deposit", "deposit_lagged"]

Floats = NDArray[np.float64]

_WORTH_COMPILING = 100_000


@dataclass(frozen=True, eq=False)
class Deposit:
    """
    Volume that really leaves the nozzle.

    Attributes
    ----------
    volume_mm3 : (n,) float array
        Deposited during each move, travels and pauses included. [mm³]
    stored_mm3 : (n + 1,) float array
        Stored in front of the nozzle before each move and after the last; negative for a gap. [mm³]
    """

    volume_mm3: Floats
    stored_mm3: Floats


def _run(fed, rates, times, lag, stored, deposited):  # type: ignore[no-untyped-def]  # noqa: C901 - one loop, so that it compiles
    """
    Fill `stored` and `deposited` from the volume fed by each move, the rates `(n, 4)` at its corners in time
    (start, after speeding up, before slowing down, end) and the times between them and of the pause.

    Exact for rates that change linearly in time and keep their sign within a move. Plain numbers only: it also
    runs compiled.
    """
    held = stored[0]
    for move in range(len(fed)):
        out = 0.0
        for phase in range(4):
            left = times[move, phase]
            if not left > 0.0:
                continue
            rate = rates[move, phase] if phase < 3 else 0.0
            slope = (rates[move, phase + 1] - rate) / left if phase < 3 else 0.0
            falling = rate <= 0.0 and rate + slope * left <= 0.0
            if held > 0.0 or (held == 0.0 and not falling):
                gone = left
                if lag > 0.0:
                    rest = -math.expm1(-left / lag)
                    after = held * (1.0 - rest) + lag * (rate * rest + slope * (left - lag * rest))
                    if after < 0.0 and falling:
                        low, high = 0.0, left  # halve until the moment it is empty
                        for _ in range(60):
                            gone = 0.5 * (low + high)
                            rest = -math.expm1(-gone / lag)
                            if held * (1.0 - rest) + lag * (rate * rest + slope * (gone - lag * rest)) > 0.0:
                                low = gone
                            else:
                                high = gone
                        after = 0.0
                else:
                    after = 0.0
                    if falling:
                        gone = 0.0
                out += held - after + gone * (rate + 0.5 * slope * gone)
                held = max(after, 0.0)
                left -= gone
                rate += slope * gone
                if left <= 0.0:
                    continue
            total = left * (rate + 0.5 * slope * left)
            if held + total <= 0.0:
                held += total
                continue
            fill = -2.0 * held / (rate + math.sqrt(max(rate * rate - 2.0 * slope * held, 0.0)))
            rate += slope * fill
            left -= fill
            if lag > 0.0:
                rest = -math.expm1(-left / lag)
                held = lag * (rate * rest + slope * (left - lag * rest))
            else:
                held = 0.0
            out += left * (rate + 0.5 * slope * left) - held
        deposited[move] = out
        stored[move + 1] = held


@cache
def _compiled() -> Callable[..., None]:
    from voidless.compiling import njit

    run: Callable[..., None] = njit(cache=True, nogil=True)(_run)
    return run


def _phases(moves: Moves, profile: SpeedProfile) -> tuple[Floats, Floats, Floats]:
    """Return the volume fed `(n,)`, rates at the corners in time `(n, 4)` and times between them `(n, 4)`."""
    fed = moves.volume_mm3 * moves.flow_factor
    speeds = np.column_stack([profile.entry_mm_s, profile.peak_mm_s, profile.peak_mm_s, profile.exit_mm_s])
    up = (speeds[:, 1] - speeds[:, 0]) / profile.acceleration_mm_s2
    down = (speeds[:, 2] - speeds[:, 3]) / profile.acceleration_mm_s2
    moving = profile.time_s - moves.dwell_s
    level = np.maximum(moving - up - down, 0.0)  # rounding alone can make it negative
    times = np.column_stack([up, level, down, moves.dwell_s])
    times[moving <= 0.0, :3] = 0.0
    way = (
        up * (speeds[:, 0] + speeds[:, 1]) / 2
        + level * speeds[:, 1]
        + down * (speeds[:, 2] + speeds[:, 3]) / 2
    )
    per_way = np.divide(fed, way, out=np.zeros_like(fed), where=way > 0.0)
    return fed, speeds * per_way[:, None], times


def deposit_lagged(
    moves: Moves, profile: SpeedProfile, lag_s: float, stored_mm3: float = 0.0, compiled: bool | None = None
) -> Deposit:
    """
    Return the volume that really leaves the nozzle during each move.

    Parameters
    ----------
    moves : Moves
        Moves in order; the factor on flow is applied.
    profile : SpeedProfile
        How they really run, from `profile_moves`.
    lag_s : float
        Pressure lag, 0 for none. [s]
    stored_mm3 : float
        Stored in front of the nozzle before the first move. [mm³]
    compiled : bool or None
        Whether the compiled form runs; None: from 100 000 moves on. The result is the same to rounding.

    Returns
    -------
    deposit : Deposit
        Deposited per move and stored between moves.

    Raises
    ------
    InputError
        The lag is negative or not a number.

    Notes
    -----
    lag dQ/dt = Q_fed - Q, integrated exactly over the ramps and the level part of each move's trapezoid; the
    flow follows the stored volume S by Q = S / lag while S > 0 and stands still while S < 0. Whatever is fed is
    deposited or stored: sum of `volume_mm3` + last - first of `stored_mm3` = sum fed. A linear model: the lag of
    real melts falls somewhat with the rate (shear thinning) and rises with the length of soft path.
    """
    if not 0.0 <= lag_s < math.inf:
        raise InputError(
            "deposit", f"lag_s = {lag_s:g} s is no lag", "0 s or more", "Correct the machine's lag_s."
        )
    fed, rates, times = _phases(moves, profile)
    stored, deposited = np.empty(len(fed) + 1), np.empty(len(fed))
    stored[0] = stored_mm3
    fast = len(fed) >= _WORTH_COMPILING if compiled is None else compiled
    run: Any = _compiled() if fast else _run
    run(fed, rates, times, float(lag_s), stored, deposited)
    return Deposit(deposited, stored)
