"""Stretches of moves of one specimen, cut out of plans and joined in another order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from voidless.beads.stadium import filament_area
from voidless.toolpath.moves import Kind, Moves
from voidless.toolpath.recorder import LIFT_MM

if TYPE_CHECKING:
    from voidless.machines import Machine

__all__ = ["Stretch", "cut", "head_of", "join", "park", "taken"]

Floats = NDArray[np.float64]

_ROWS = [f.name for f in fields(Moves) if f.name not in ("start_mm", "filament_diameter_mm")]


def taken(moves: Moves, chosen: Any, start_mm: tuple[float, float, float]) -> Moves:
    """Return some of the moves, one after the other, from a position. [mm]"""
    columns: dict[str, Any] = {name: _some(getattr(moves, name), chosen) for name in _ROWS}
    return Moves(**columns, start_mm=start_mm, filament_diameter_mm=moves.filament_diameter_mm)


def _some(column: Any, chosen: Any) -> Any:
    return None if column is None else column[chosen]


def _together(parts: Sequence[Moves]) -> Moves:
    columns: dict[str, Any] = {}
    for name in _ROWS:
        values = [getattr(part, name) for part in parts]
        columns[name] = None if any(value is None for value in values) else np.concatenate(values)
    return Moves(**columns, start_mm=parts[0].start_mm, filament_diameter_mm=parts[0].filament_diameter_mm)


@dataclass(frozen=True, eq=False)
class Stretch:
    """
    Moves of one specimen in one layer or several, from a first bead to a last.

    Attributes
    ----------
    moves : Moves
        They start at `moves.start_mm`, with the melt ready to flow.
    specimen, layer : int
        Number on the bed and of the first layer, from 0.
    """

    moves: Moves
    specimen: int
    layer: int

    @property
    def end_mm(self) -> tuple[float, float, float]:
        """Position after the last move. [mm]"""
        return tuple(float(getattr(self.moves, f"{axis}_mm")[-1]) for axis in "xyz")  # type: ignore[return-value]


def _position(moves: Moves, index: int) -> tuple[float, float, float]:
    """Return the position before a move. [mm]"""
    if index == 0:
        return moves.start_mm
    return (float(moves.x_mm[index - 1]), float(moves.y_mm[index - 1]), float(moves.z_mm[index - 1]))


def cut(moves: Moves, numbers: Sequence[int], by_layer: bool) -> list[Stretch]:
    """
    Return the stretches of a plan in its order, each from its first bead to its last.

    Parameters
    ----------
    moves : Moves
        Of a planned build.
    numbers : sequence of int
        Number that each of its specimens gets on the bed that they are for.
    by_layer : bool
        Whether to cut between layers too, or between specimens alone.
    """
    beads = np.flatnonzero(moves.deposits & (moves.layer >= 0) & (moves.specimen >= 0))
    label = moves.specimen[beads] * (int(moves.layer.max()) + 1) + (moves.layer[beads] if by_layer else 0)
    starts = np.flatnonzero(np.concatenate([[True], np.diff(label) != 0]))
    stops = np.concatenate([starts[1:], [len(beads)]]) - 1
    found = []
    for begin, end in zip(beads[starts].tolist(), beads[stops].tolist(), strict=True):
        number = numbers[int(moves.specimen[begin])]
        part = taken(moves, slice(begin, end + 1), _position(moves, begin))
        found.append(Stretch(_numbered(part, number), number, int(moves.layer[begin])))
    return found


def _numbered(moves: Moves, specimen: int) -> Moves:
    columns: dict[str, Any] = {name: getattr(moves, name) for name in _ROWS}
    columns["specimen"] = np.full(len(moves), specimen)
    return Moves(**columns, start_mm=moves.start_mm, filament_diameter_mm=moves.filament_diameter_mm)


def head_of(moves: Moves) -> Moves:
    """Return what a plan does before its first specimen: the way to the purge line and the line."""
    purge = np.flatnonzero(moves.kind == Kind.PURGE)
    return taken(moves, slice(0, int(purge[-1]) + 1), moves.start_mm)


class _Linker:
    """Makes moves between stretches within a machine's limits."""

    def __init__(self, machine: Machine) -> None:
        self._plane = min(machine.travel_speed_mm_s, *machine.speed_max_mm_s[:2])
        self._rise = min(machine.travel_speed_mm_s, machine.speed_max_mm_s[2])
        self._drawn = machine.retract_mm * filament_area(machine.filament_diameter_mm)
        self._draw_speed = min(machine.retract_speed_mm_s, machine.speed_max_mm_s[3])
        self._top = machine.bed_z_mm

    def moves(
        self,
        like: Moves,
        layer: int,
        specimen: int,
        steps: Sequence[tuple[Kind, tuple[float, float, float], float]],
        start: tuple[float, float, float],
    ) -> Moves:
        """Return steps (kind, position, pause) with the state of the first of the moves `like`."""
        one = taken(like, slice(0, 1), start)
        ends = np.array([point for _, point, _ in steps])
        way = np.diff(np.vstack([start, ends]), axis=0)
        kind = np.array([int(step[0]) for step in steps])
        columns: dict[str, Any] = {name: _repeated(getattr(one, name), len(steps)) for name in _ROWS}
        drawing = (kind == Kind.RESTORE).astype(float) - (kind == Kind.RETRACT)
        speed = np.where(way[:, 2] != 0.0, self._rise, self._plane)
        columns |= {
            "kind": kind,
            "x_mm": ends[:, 0],
            "y_mm": ends[:, 1],
            "z_mm": ends[:, 2],
            "length_mm": np.linalg.norm(way, axis=1),
            "volume_mm3": self._drawn * drawing,
            "speed_mm_s": np.where(drawing != 0.0, self._draw_speed, speed),
            "dwell_s": np.array([pause for _, _, pause in steps]),
            "layer": np.full(len(steps), layer),
            "specimen": np.full(len(steps), specimen),
            "radius_mm": np.full(len(steps), np.inf),
        }
        return Moves(**columns, start_mm=start, filament_diameter_mm=like.filament_diameter_mm)

    def link(self, before: tuple[float, float, float], after: Stretch, over: float) -> Moves:
        """Return the way to a stretch: drawn back, up to a height that clears all, across, down, ready."""
        x, y, z = after.moves.start_mm
        high = max(over, before[2], z)
        steps = [(Kind.RETRACT, before, 0.0)]
        if high > before[2]:
            steps.append((Kind.TRAVEL, (before[0], before[1], high), 0.0))
        steps.append((Kind.TRAVEL, (x, y, high), 0.0))
        if high > z:
            steps.append((Kind.TRAVEL, (x, y, z), 0.0))
        steps.append((Kind.RESTORE, (x, y, z), 0.0))
        return self.moves(after.moves, after.layer, after.specimen, steps, before)


def _repeated(column: Any, number: int) -> Any:
    return None if column is None else np.repeat(column, number)


def join(head: Moves, stretches: Sequence[Stretch], machine: Machine) -> Moves:
    """
    Return stretches in the order given, with ways between them, after a head and before lifting off.

    Parameters
    ----------
    head : Moves
        What comes first, such as the purge line (`head_of`).
    stretches : sequence of Stretch
        At least one.
    machine : Machine
        Limits, retraction, height.

    Returns
    -------
    moves : Moves
        The melt is drawn back on every way between stretches, and the nozzle clears by 5 mm (or what the
        machine's height leaves) all that was printed so far wherever it goes down to begin a specimen.
    """
    linker = _Linker(machine)
    parts, here, top = [head], _position(head, len(head)), 0.0
    for stretch in stretches:
        z = stretch.moves.start_mm[2]
        over = min(top + LIFT_MM, machine.bed_z_mm) if top > z else z
        parts += [linker.link(here, stretch, over), stretch.moves]
        here, top = stretch.end_mm, max(top, float(stretch.moves.z_mm.max()))
    lifted = (here[0], here[1], min(top + LIFT_MM, machine.bed_z_mm))
    steps = [(Kind.RETRACT, here, 0.0)]
    if lifted[2] > here[2]:
        steps.append((Kind.TRAVEL, lifted, 0.0))
    last = stretches[-1]
    parts.append(linker.moves(taken(last.moves, slice(-1, None), here), last.layer, -1, steps, here))
    return _together(parts)


def park(
    moves: Moves,
    after: Sequence[int],
    pause_s: Sequence[float],
    place_mm: tuple[float, float],
    machine: Machine,
) -> Moves:
    """
    Return moves with pauses beside the specimens: drawn back, lifted, waited, and back to where it went on.

    Parameters
    ----------
    moves : Moves
        A plan.
    after : sequence of int
        Ascending numbers of the moves after which to pause.
    pause_s : sequence of float
        How long to wait at the place each time. [s]
    place_mm : (float, float)
        Where to wait. [mm]
    machine : Machine
        Limits, retraction, height.
    """
    linker, parts, begin = _Linker(machine), [], 0
    for index, pause in zip(after, pause_s, strict=True):
        here = _position(moves, index + 1)
        parts.append(taken(moves, slice(begin, index + 1), _position(moves, begin)))
        high = min(here[2] + LIFT_MM, machine.bed_z_mm)
        aside = (*place_mm, high)
        steps = [
            (Kind.RETRACT, here, 0.0),
            (Kind.TRAVEL, (here[0], here[1], high), 0.0),
            (Kind.TRAVEL, aside, 0.0),
            (Kind.DWELL, aside, pause),
            (Kind.TRAVEL, (here[0], here[1], high), 0.0),
            (Kind.TRAVEL, here, 0.0),
            (Kind.RESTORE, here, 0.0),
        ]
        like = taken(moves, slice(index, index + 1), here)
        parts.append(linker.moves(like, int(moves.layer[index]), -1, steps, here))
        begin = index + 1
    parts.append(taken(moves, slice(begin, None), _position(moves, begin)))
    return _together(parts)
