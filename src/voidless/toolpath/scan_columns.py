"""Growing columns of moves while a file is read, and the `Moves` that they become."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voidless.beads.stadium import filament_area
from voidless.toolpath import scan_state as at
from voidless.toolpath.moves import Floats, Integers, Kind, Moves
from voidless.toolpath.scan_state import Reading

__all__ = ["HEIGHT_MM", "Columns", "height_runs"]

HEIGHT_MM = 0.001
"""Heights are told apart at this resolution. [mm]"""
_REALS = 7
_STATE = 1 + at.REAL - at.HELD
_LEAST = 64


class Columns:
    """
    Columns that grow in place: kind, x, y, z, length, filament, speed, bend.

    Attributes
    ----------
    kind : (capacity,) int array
        Codes of `Kind`, filled up to `size`.
    reals : list of (capacity,) float arrays
        The other columns; the last, `bend`, is 0 behind `size`.
    states : (capacity, 10) float array
        Number of the first move and what held from there on, filled up to `states_size`.
    pauses : list of (int, float)
        Number of the row and its pause. [1], [s]
    """

    def __init__(self, capacity: int) -> None:
        rows = max(capacity, _LEAST)
        self.kind = np.empty(rows, dtype=np.int64)
        self.reals = [*(np.empty(rows) for _ in range(_REALS - 1)), np.zeros(rows)]
        self.states = np.empty((_LEAST, _STATE))
        self.pauses: list[tuple[int, float]] = []
        self.size = 0
        self.states_size = 0
        self.arcs = False

    @property
    def filled(self) -> tuple[Integers, Floats]:
        """Kind and height of the moves so far, `(size,)` each. [1], [mm]"""
        return self.kind[: self.size], self.reals[2][: self.size]

    def grow(self, rows: int) -> None:
        """Make room for at least `rows` in all, half as much again as now."""
        if rows > len(self.kind):
            more = max(rows, len(self.kind) + len(self.kind) // 2)
            for array in (self.kind, *self.reals):
                array.resize(more, refcheck=False)  # fills up with 0

    def grow_states(self, rows: int) -> None:
        """Make room for at least `rows` states in all."""
        if rows > len(self.states):
            self.states.resize((max(rows, 2 * len(self.states)), _STATE), refcheck=False)

    def take(self, reading: Reading) -> None:
        """Move what lines read by words have added into the columns."""
        if reading.states:
            size = self.states_size + len(reading.states)
            self.grow_states(size)
            self.states[self.states_size : size] = reading.states
            self.states_size = size
            reading.states.clear()
        if reading.rows:
            size = self.size + len(reading.rows)
            self.grow(size)
            for array, values in zip((self.kind, *self.reals), zip(*reading.rows, strict=True), strict=True):
                array[self.size : size] = values
            self.size = size
            reading.rows.clear()
        if reading.pauses:
            self.pauses += reading.pauses
            reading.pauses.clear()
        self.arcs = bool(reading.whole[at.ARCS])

    def split(self, count: int, reading: Reading, capacity: int) -> Columns:
        """Return new columns with the rows from `count` on; these keep the rows before."""
        rest = Columns(max(capacity, self.size - count))
        rest.size, rest.arcs = self.size - count, self.arcs
        first = int(np.searchsorted(self.states[: self.states_size, 0], count, side="right")) - 1
        kept = self.states[max(first, 0) : self.states_size]
        rest.grow_states(len(kept))
        rest.states_size = len(kept)
        rest.states[: len(kept)] = kept
        rest.states[: len(kept), 0] -= count
        for ours, theirs in zip((self.kind, *self.reals), (rest.kind, *rest.reals), strict=True):
            theirs[: rest.size] = ours[count : self.size]
        rest.pauses = [(row - count, seconds) for row, seconds in self.pauses if row >= count]
        self.pauses = [(row, seconds) for row, seconds in self.pauses if row < count]
        self.size = count
        self.states_size = int(np.searchsorted(self.states[: self.states_size, 0], count))
        reading.whole[at.ROWS], reading.whole[at.STATES] = rest.size, rest.states_size
        return rest

    def _held(self, index: int) -> Floats:
        """Return a number that held during each move; without memory of its own where it is one number."""
        values = self.states[: self.states_size, 1 + index - at.HELD]
        changed = (
            np.flatnonzero((values[1:] != values[:-1]) & ~(np.isnan(values[1:]) & np.isnan(values[:-1]))) + 1
        )
        if not len(changed):
            return _constant(values[0], self.size)
        begins = np.append(0, self.states[changed, 0].astype(np.int64))
        return np.repeat(values[np.append(0, changed)], np.diff(begins, append=self.size))

    def moves(self, layer: Integers, start_mm: tuple[float, float, float], diameter_mm: float) -> Moves:
        """
        Return what the columns hold; they are given away.

        Parameters
        ----------
        layer : (size,) int array
            Number of each move's layer.
        start_mm : tuple of float
            Position before the first move. [mm]
        diameter_mm : float
            Filament diameter. [mm]
        """
        kind = self.kind[: self.size]
        x, y, z, length, filament, speed, bend = (array[: self.size] for array in self.reals)
        filament *= filament_area(diameter_mm)
        dwell = _constant(0.0, self.size)
        if self.pauses:
            dwell = np.zeros(self.size)
            rows, seconds = zip(*self.pauses, strict=True)
            dwell[list(rows)] = seconds
        tool = self._held(at.TOOL)
        return Moves(
            kind=kind,
            x_mm=x,
            y_mm=y,
            z_mm=z,
            length_mm=length,
            volume_mm3=filament,
            speed_mm_s=speed,
            layer=layer,
            specimen=np.broadcast_to(np.int64(-1), self.size),
            fan_pct=self._held(at.FAN),
            nozzle_c=self._held(at.NOZZLE),
            dwell_s=dwell,
            radius_mm=_radius(length, z, start_mm[2], bend) if self.arcs else _constant(np.inf, self.size),
            acceleration_mm_s2=self._acceleration(kind, length),
            speed_factor=self._held(at.SPEED_FACTOR),
            flow_factor=self._held(at.FLOW_FACTOR),
            start_mm=start_mm,
            filament_diameter_mm=diameter_mm,
            bed_c=self._held(at.BED),
            tool=tool.astype(np.int64) if tool.any() else None,
            bend_rad=bend if self.arcs else None,
        )

    def _acceleration(self, kind: Integers, length: Floats) -> Floats:
        """Return the acceleration that the file states for each move; NaN where it states none. [mm/s²]"""
        bead, travel, draw = (self._held(index) for index in (at.BEAD_RATE, at.TRAVEL_RATE, at.DRAW_RATE))
        if all(column.strides == (0,) and np.isnan(column[:1]).all() for column in (bead, travel, draw)):
            return bead
        chosen = np.where(kind == Kind.BEAD, bead, travel)
        alone = np.flatnonzero((kind >= Kind.RETRACT) & (kind <= Kind.RESTORE))
        alone = alone[length[alone] == 0.0]
        chosen[alone] = draw[alone]
        return chosen


def _constant(value: float, count: int) -> Floats:
    """Return one number `count` times without memory of its own; read-only."""
    return np.broadcast_to(np.float64(value), count)


def _radius(length: Floats, z: Floats, start: float, bend: Floats) -> Floats:
    """Return the radius of curvature, which is what limits speed on an arc; infinite where straight. [mm]"""
    radius = np.full(len(length), np.inf)
    arcs = np.flatnonzero(bend)
    rise = z[arcs] - np.where(arcs > 0, z[arcs - 1], start)
    level = np.sqrt(np.maximum(length[arcs] ** 2 - rise**2, 0.0))
    radius[arcs] = length[arcs] ** 2 / (np.abs(bend[arcs]) * level)
    return radius


def height_runs(kind: Integers, z: Floats) -> tuple[Integers, NDArray[np.int64]]:
    """
    Return where runs of moves on one height start, and the height of each in steps of `HEIGHT_MM`.

    Moves that lay no bead belong to the bead that they lead to, the last ones to the bead before them.

    Parameters
    ----------
    kind : (n,) int array
        Codes of `Kind`.
    z : (n,) float array
        Height at the end of each move. [mm]

    Returns
    -------
    starts : (r,) int array
        First move of each run; empty where there is no bead.
    heights : (r,) int array
        Height of each run in micrometres. [um]
    """
    beads = np.flatnonzero(kind == Kind.BEAD)
    ends = np.append(np.flatnonzero(z[1:] != z[:-1]) + 1, len(z))
    laid = np.searchsorted(beads, ends)
    with_bead = np.flatnonzero(np.diff(laid, prepend=0))
    starts = np.append(0, beads[laid[with_bead[:-1]] - 1] + 1) if len(beads) else beads
    return starts, np.rint(z[ends[with_bead] - 1] / HEIGHT_MM).astype(np.int64)
