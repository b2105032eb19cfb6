"""Growing columns of moves while a file is read, and the `Moves` that they become."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.beads.stadium import filament_area
from voidless.toolpath import scan_state as at
from voidless.toolpath.moves import Bools, Floats, Integers, Kind, Kinds, Moves
from voidless.toolpath.scan_state import Reading

__all__ = ["HEIGHT_MM", "Columns", "height_runs"]

HEIGHT_MM = 0.001
"""Heights are told apart at this resolution. [mm]"""
_REALS = 8
_STATE = 1 + at.REAL - at.HELD
_LEAST = 64


class Columns:
    """
    Columns that grow in place: kind, x, y, z, length, filament, speed, acceleration, bend.

    Attributes
    ----------
    kind : (capacity,) int array
        Codes of `Kind`, filled up to `size`.
    reals : list of (capacity,) float arrays
        The other columns; the last, `bend`, is 0 behind `size`.
    states : (capacity, 7) float array
        Number of the first move and what held from there on, filled up to `states_size`.
    pauses : list of (int, float)
        Number of the row and its pause. [1], [s]
    arcs : bool
        Whether there are arcs.
    rated : int
        One more than the row from which on the file states accelerations; 0 where it states none.
    """

    def __init__(self, capacity: int) -> None:
        rows = max(capacity, _LEAST)
        self.kind = np.empty(rows, dtype=np.int8)
        self.reals = [*(np.empty(rows) for _ in range(_REALS - 1)), np.zeros(rows)]
        self.states = np.empty((_LEAST, _STATE))
        self.pauses: list[tuple[int, float]] = []
        self.size = 0
        self.states_size = 0
        self.arcs = False
        self.rated = 0

    @property
    def _all(self) -> list[NDArray[Any]]:
        return [self.kind, *self.reals]

    @property
    def filled(self) -> tuple[Kinds, Floats]:
        """Kind and height of the moves so far, `(size,)` each. [1], [mm]"""
        return self.kind[: self.size], self.reals[2][: self.size]

    def grow(self, rows: int) -> None:
        """Make room for at least `rows` in all, half as much again as now."""
        if rows > len(self.kind):
            more = max(rows, len(self.kind) + len(self.kind) // 2)
            for array in self._all:
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
            for array, values in zip(self._all, zip(*reading.rows, strict=True), strict=True):
                array[self.size : size] = values
            self.size = size
            reading.rows.clear()
        if reading.pauses:
            self.pauses += reading.pauses
            reading.pauses.clear()
        self.arcs, self.rated = bool(reading.whole[at.ARCS]), reading.whole[at.RATED]

    def split(self, count: int, reading: Reading, capacity: int) -> Columns:
        """Return new columns with the rows from `count` on; these keep the rows before."""
        rest = Columns(max(capacity, self.size - count))
        rest.size, rest.arcs = self.size - count, self.arcs
        rest.rated = max(self.rated - count, 1) if self.rated else 0
        first = int(np.searchsorted(self.states[: self.states_size, 0], count, side="right")) - 1
        kept = self.states[max(first, 0) : self.states_size]
        rest.grow_states(len(kept))
        rest.states_size = len(kept)
        rest.states[: len(kept)] = kept
        rest.states[: len(kept), 0] -= count
        for ours, theirs in zip(self._all, rest._all, strict=True):
            theirs[: rest.size] = ours[count : self.size]
        rest.pauses = [(row - count, seconds) for row, seconds in self.pauses if row >= count]
        self.pauses = [(row, seconds) for row, seconds in self.pauses if row < count]
        self.size = count
        self.states_size = int(np.searchsorted(self.states[: self.states_size, 0], count))
        reading.whole[at.ROWS], reading.whole[at.STATES] = rest.size, rest.states_size
        reading.whole[at.RATED] = rest.rated
        return rest

    def _changes(self) -> Bools:
        """Return which bits of a state differ from those of the state before, `(states_size - 1, 7)`."""
        bits = self.states[: self.states_size].view(np.int64)
        return np.asarray(bits[1:] != bits[:-1])

    def _held(self, index: int, changes: Bools) -> Floats:
        """Return a number that held during each move; without memory of its own where it is one number."""
        column = 1 + index - at.HELD
        changed = np.flatnonzero(changes[:, column]) + 1
        if not len(changed):
            return _constant(self.states[0, column], self.size)
        begins = np.append(0, self.states[changed, 0].astype(np.int64))
        values = self.states[np.append(0, changed), column]
        return np.repeat(values, np.diff(begins, append=self.size))

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
        x, y, z, length, filament, speed, rate, bend = (array[: self.size] for array in self.reals)
        filament *= filament_area(diameter_mm)
        rate[: max(self.rated - 1, 0)] = np.nan
        dwell = _constant(0.0, self.size)
        if self.pauses:
            dwell = np.zeros(self.size)
            rows, seconds = zip(*self.pauses, strict=True)
            dwell[list(rows)] = seconds
        changes = self._changes()
        tool = self._held(at.TOOL, changes)
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
            fan_pct=self._held(at.FAN, changes),
            nozzle_c=self._held(at.NOZZLE, changes),
            dwell_s=dwell,
            radius_mm=_radius(length, z, start_mm[2], bend) if self.arcs else _constant(np.inf, self.size),
            acceleration_mm_s2=rate if self.rated else _constant(np.nan, self.size),
            speed_factor=self._held(at.SPEED_FACTOR, changes),
            flow_factor=self._held(at.FLOW_FACTOR, changes),
            start_mm=start_mm,
            filament_diameter_mm=diameter_mm,
            bed_c=self._held(at.BED, changes),
            tool=tool.astype(np.int64) if tool.any() else None,
            bend_rad=bend if self.arcs else None,
        )


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


def height_runs(kind: Kinds, z: Floats) -> tuple[Integers, NDArray[np.int64]]:
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
