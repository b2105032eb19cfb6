"""
Feeding ahead of the pressure lag: the drive fills the store before the nozzle is faster, and empties it.

Flow follows what is stored in front of the nozzle, flow = stored / lag (`lag.py`). So a flow that is to change with the
speed of the nozzle asks for a store that changes with it: each piece of a bead is fed what it lays and by how much the
store grows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from voidless.beads.stadium import filament_area
from voidless.errors import InputError
from voidless.toolpath.lag import deposit_lagged
from voidless.toolpath.lag_pieces import cut_moves
from voidless.toolpath.motion import MotionLimits, SpeedProfile, profile_moves
from voidless.toolpath.moves import Moves, Toolpath

if TYPE_CHECKING:
    from voidless.machines import Machine

__all__ = ["FedAhead", "feed_ahead", "feed_build"]

Floats = NDArray[np.float64]

_PIECE_MM = 0.1
"""Longest piece that is fed by itself. [mm]"""
_ABOUT_MM = 0.3
"""Way over which wanted width is averaged: what is shorter no store can follow. [mm]"""
_APART_MM = 2.0
"""From which way without a bead on the store is emptied; shorter ones are passed with it. [mm]"""


_SAME = 0.005
"""Up to which difference of what they are fed per way neighbouring pieces of a straight line are written as one. [1]"""


@dataclass(frozen=True, eq=False)
class FedAhead:
    """
    A build fed ahead of a pressure lag.

    Attributes
    ----------
    toolpath : Toolpath
        The same ways, in pieces.
    misplaced_without_pct, misplaced_pct : float
        Share of the melt that leaves the nozzle elsewhere than it should, by the lag alone, without and with feeding
        ahead, told apart over 0.1 mm. [%]
    """

    toolpath: Toolpath
    misplaced_without_pct: float
    misplaced_pct: float


def feed_build(toolpath: Toolpath, machine: Machine, lag_s: float) -> FedAhead:
    """
    Return a build fed ahead of a pressure lag, within the limits of hot end and extruder.

    Parameters
    ----------
    toolpath : Toolpath
        A planned build.
    machine : Machine
        Limits and motion.
    lag_s : float
        Pressure lag. [s]

    Raises
    ------
    InputError
        As `feed_ahead`.
    """
    moves = toolpath.moves
    profile = profile_moves(moves, MotionLimits.of(machine))
    drive = machine.speed_max_mm_s[3] * filament_area(machine.filament_diameter_mm)
    fed = feed_ahead(moves, profile, lag_s, min(machine.max_rate_mm3_s, drive))
    pieces, run, _ = cut_moves(moves, profile, _PIECE_MM)
    wanted = np.where(pieces.deposits, pieces.volume_mm3, 0.0)

    def misplaced(some: Moves) -> float:
        laid = deposit_lagged(some, run, lag_s).volume_mm3
        return 50.0 * float(np.abs(laid - wanted).sum() / wanted.sum())

    before = misplaced(pieces)
    if lag_s == 0.0:
        return FedAhead(toolpath, before, before)
    return FedAhead(replace(toolpath, moves=_merged(fed)), before, misplaced(fed))


def _merged(moves: Moves) -> Moves:
    """Return moves whose straight, evenly fed neighbours are one."""
    way = moves.length_mm
    unit = np.divide(
        moves.steps_mm, way[:, None], out=np.zeros_like(moves.steps_mm), where=way[:, None] > 0.0
    )
    rate = np.divide(moves.volume_mm3, way, out=np.zeros_like(way), where=way > 0.0)
    same = (way[1:] > 0.0) & (np.abs(np.diff(unit, axis=0)).max(axis=1) < 1e-9) & (moves.dwell_s[:-1] == 0.0)
    same &= np.abs(np.diff(rate)) <= _SAME * np.abs(rate[1:])
    for name in ("kind", "layer", "specimen", "speed_mm_s", "radius_mm", "fan_pct"):
        values = getattr(moves, name)
        same &= values[1:] == values[:-1]
    last = np.flatnonzero(np.append(~same, True))  # of each, the last piece tells where it ends
    columns: dict[str, Any] = {
        name: values[last]
        for name in moves.__dataclass_fields__
        if isinstance(values := getattr(moves, name), np.ndarray) and values.shape == way.shape
    }
    first = np.concatenate([[0], last[:-1] + 1])
    columns |= {name: np.add.reduceat(getattr(moves, name), first) for name in ("length_mm", "volume_mm3")}
    return replace(moves, **columns)


def feed_ahead(moves: Moves, profile: SpeedProfile, lag_s: float, most_mm3_s: float) -> Moves:
    """
    Return moves cut into pieces and fed so that what leaves the nozzle is near to what each was to lay.

    Parameters
    ----------
    moves : Moves
        Moves in order, fed what they are to lay.
    profile : SpeedProfile
        How they run, from `profile_moves`.
    lag_s : float
        Pressure lag. [s]
    most_mm3_s : float
        Fastest feed; what a piece may not be fed is fed to the next ones. [mm³/s]

    Returns
    -------
    moves : Moves
        The same way at the same speeds. Each string of beads is fed as much in all as before, but what the fastest feed
        leaves over; pieces that slow down may be fed less than nothing.

    Raises
    ------
    InputError
        The lag is negative or not a number, or the fastest feed is not above 0.

    Notes
    -----
    The store that a string begins with is filled during its first pieces, in which the nozzle already moves, and
    retractions are left as they are.
    """
    if not (0.0 <= lag_s < math.inf and most_mm3_s > 0.0):
        expected = "a lag of 0 s or more and a feed above 0 mm3/s"
        raise InputError("feed", f"lag_s = {lag_s:g} s, {most_mm3_s:g} mm3/s", expected, "")
    if lag_s == 0.0:
        return moves
    pieces, run, source = cut_moves(moves, profile, _PIECE_MM)
    way, laid = pieces.length_mm, np.where(pieces.deposits, pieces.volume_mm3, 0.0)
    plane = np.hypot(*pieces.steps_mm[:, :2].T) > 0.0
    apart = (pieces.volume_mm3 < 0.0) | ~plane | (~pieces.deposits & (moves.length_mm[source] > _APART_MM))
    wanted = _about(np.where(apart, 0.0, way), np.where(apart, 0.0, laid))
    edge = np.append(True, apart) | np.append(apart, True)
    store = np.where(edge, 0.0, lag_s * wanted * np.append(run.entry_mm_s, 0.0))
    fed = np.where(apart, pieces.volume_mm3, pieces.volume_mm3 + np.diff(store))
    quickest = np.divide(way, run.peak_mm_s, out=np.zeros_like(way), where=run.peak_mm_s > 0.0)
    speed = np.where(
        apart | (way == 0.0), pieces.speed_mm_s, run.peak_mm_s
    )  # so that the feed is as fast as it says
    return replace(pieces, volume_mm3=_limited(fed, most_mm3_s * quickest, apart), speed_mm_s=speed)


def _about(way: Floats, laid: Floats) -> Floats:
    """Return the volume per way about each end of the pieces, first start included. [mm²]"""
    along, volume = (np.concatenate([[0.0], np.cumsum(each)]) for each in (way, laid))
    ahead, behind = (np.interp(along + side * _ABOUT_MM / 2.0, along, volume) for side in (1.0, -1.0))
    return np.asarray((ahead - behind) / _ABOUT_MM)


def _limited(fed: Floats, most: Floats, apart: NDArray[np.bool_]) -> Floats:
    """Return volumes none of which is above its limit; the rest goes to the next pieces of the string."""
    result, left = fed.copy(), 0.0
    for number in np.flatnonzero((fed > most) & ~apart).tolist():
        if result[number] <= most[number]:
            continue
        left, result[number] = result[number] - most[number], most[number]
        following = number + 1
        while left > 0.0 and following < len(fed) and not apart[following]:
            room = max(0.0, most[following] - max(result[following], 0.0)) if most[following] > 0.0 else 0.0
            given = min(left, room)
            result[following] += given
            left -= given
            following += 1
    return result
