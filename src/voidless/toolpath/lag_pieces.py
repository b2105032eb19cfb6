"""Moves cut into short pieces that run as the whole: for what changes along a bead."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.toolpath.motion import SpeedProfile
from voidless.toolpath.moves import Moves

__all__ = ["cut_moves"]

Floats = NDArray[np.float64]


def _ramps(profile: SpeedProfile, way: Floats) -> tuple[Floats, Floats]:
    """Return the way over which each move speeds up, and that after which it slows down. [mm]"""
    double = 2.0 * profile.acceleration_mm_s2
    up = (profile.peak_mm_s**2 - profile.entry_mm_s**2) / double
    down = way - (profile.peak_mm_s**2 - profile.exit_mm_s**2) / double
    return up, np.maximum(down, up)


def cut_moves(
    moves: Moves, profile: SpeedProfile, longest_mm: float
) -> tuple[Moves, SpeedProfile, NDArray[np.int64]]:
    """
    Return moves cut into pieces, how each piece runs, and the move that each is part of.

    Parameters
    ----------
    moves : Moves
        Moves in order.
    profile : SpeedProfile
        How they really run.
    longest_mm : float
        Longest piece; moves without path are left whole. [mm]

    Returns
    -------
    pieces : Moves
        Pieces in order, cut evenly; a pause stays with the last piece of its move.
    profile : SpeedProfile
        Speeds and times of the pieces, exactly those of the whole.
    source : (m,) int array
        Number of the move that each piece is part of.

    Raises
    ------
    InputError
        The longest piece is not above 0.
    """
    if not longest_mm > 0.0:
        raise InputError("cut", f"longest_mm = {longest_mm:g} mm", "above 0 mm", "Name a length.")
    count = np.maximum(np.ceil(moves.length_mm / longest_mm - 1e-9), 1.0).astype(np.int64)
    source = np.repeat(np.arange(len(moves)), count)
    number = np.arange(len(source)) - np.repeat(np.cumsum(count) - count, count)
    last = number + 1 == count[source]
    share = (number + 1.0) / count[source]
    starts = np.column_stack([moves.x_mm, moves.y_mm, moves.z_mm]) - moves.steps_mm
    ends = starts[source] + moves.steps_mm[source] * share[:, None]
    for column, exact in enumerate((moves.x_mm, moves.y_mm, moves.z_mm)):
        ends[last, column] = exact
    columns: dict[str, Any] = {
        name: value[source]
        for name, value in vars(moves).items()
        if isinstance(value, np.ndarray) and name in type(moves).__dataclass_fields__
    }
    for name in ("length_mm", "volume_mm3", "bend_rad"):
        if name in columns:
            columns[name] = columns[name] / count[source]
    columns |= {"x_mm": ends[:, 0], "y_mm": ends[:, 1], "z_mm": ends[:, 2]}
    columns["dwell_s"] = np.where(last, columns["dwell_s"], 0.0)
    return replace(moves, **columns), _cut_profile(moves, profile, source, share, last), source


def _cut_profile(
    moves: Moves, profile: SpeedProfile, source: NDArray[np.int64], share: Floats, last: NDArray[np.bool_]
) -> SpeedProfile:
    """Return how pieces run that end after a share of their moves."""
    way = moves.length_mm
    up, down = _ramps(profile, way)
    rate, entry, leave = (
        profile.acceleration_mm_s2[source],
        profile.entry_mm_s[source],
        profile.exit_mm_s[source],
    )
    peak, total = profile.peak_mm_s[source], (profile.time_s - moves.dwell_s)[source]
    place = share * way[source]
    level = np.clip(place, up[source], down[source]) - up[source]
    climbing = np.sqrt(entry**2 + 2.0 * rate * np.minimum(place, up[source]))
    falling = np.sqrt(leave**2 + 2.0 * rate * np.maximum(way[source] - np.maximum(place, down[source]), 0.0))
    speed = np.where(place <= up[source], climbing, np.where(place >= down[source], falling, peak))
    moving = peak > 0.0
    cruising = np.divide(level, peak, out=np.zeros_like(level), where=moving)
    ramps = np.where(place <= up[source], climbing - entry, peak - entry) + np.where(
        place >= down[source], peak - falling, 0.0
    )
    passed = np.where(last, total, ramps / rate + cruising)
    first = np.append(True, last[:-1])
    before = np.where(first, 0.0, np.append(0.0, passed[:-1]))
    begin = np.where(first, 0.0, np.append(0.0, place[:-1]))
    start = np.where(first, entry, np.append(0.0, speed[:-1]))
    end = np.where(last, leave, speed)
    holds_peak = (begin < down[source]) & (place > up[source]) | (up[source] >= begin) & (up[source] <= place)
    largest = np.where(holds_peak | (first & last), peak, np.maximum(start, end))
    dwell = np.where(last, moves.dwell_s[source], 0.0)
    return SpeedProfile(
        passed - before + dwell, np.append(start, leave[-1:]), np.where(moving, largest, 0.0), rate
    )
