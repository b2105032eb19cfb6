"""Moves as arrays: kinds of move, moves, and a planned toolpath."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, fields, replace
from enum import IntEnum
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.beads.stadium import filament_area

__all__ = ["Kind", "Moves", "Placement", "Toolpath"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Kinds = NDArray[np.signedinteger[Any]]
Bools = NDArray[np.bool_]


class Kind(IntEnum):
    """What a move is for."""

    TRAVEL = 0
    CONTOUR = 1
    RASTER = 2
    TURN = 3
    PURGE = 4
    BEAD = 5
    """A bead whose role is not known, as in files read."""
    RETRACT = 6
    RESTORE = 7
    DWELL = 8
    HOME = 9


@dataclass(frozen=True, eq=False)
class Moves:
    """
    Moves in order, one entry per move, positions at the end of each.

    Attributes
    ----------
    kind : (n,) int array
        Codes of `Kind`, of any width.
    x_mm, y_mm, z_mm : (n,) float array
        Position at the end of the move. [mm]
    length_mm : (n,) float array
        Length of the path in space; along the arc where a move is part of one. [mm]
    volume_mm3 : (n,) float array
        Volume of solid filament that is fed, negative where it is drawn back. [mm³]
    speed_mm_s : (n,) float array
        Speed as commanded: along the path, or of the filament where nothing else moves. [mm/s]
    layer, specimen : (n,) int array
        Number of the layer and of the specimen on the bed, from 0; -1 where there is none.
    fan_pct, nozzle_c : (n,) float array
        State during the move; NaN where it is not known. [%], [°C]
    dwell_s : (n,) float array
        Pause before the move's end. [s]
    radius_mm : (n,) float array
        Radius of the arc that the move is part of; infinite where it is straight. [mm]
    acceleration_mm_s2 : (n,) float array
        Acceleration that a file states for the move; NaN where the machine's own rules. [mm/s²]
    speed_factor, flow_factor : (n,) float array
        Factors that a file applies on top (M220, M221); not contained in the other columns. [1]
    start_mm : tuple of float
        Position before the first move. [mm]
    filament_diameter_mm : float
        Diameter by which volume and filament length are converted. [mm]
    bed_c : (n,) float array or None
        Temperature that the bed is set to; NaN where it is not known, None where it is not kept. [°C]
    tool : (n,) int array or None
        Number of the tool; None where the first is used throughout.
    bend_rad : (n,) float array or None
        Angle by which the path turns along the move, anticlockwise positive, where it is part of an arc; None
        where no arc's tangents are known. [rad]

    Notes
    -----
    Columns may be read-only, and those that hold one number throughout may take no memory of their own.
    """

    kind: Kinds
    x_mm: Floats
    y_mm: Floats
    z_mm: Floats
    length_mm: Floats
    volume_mm3: Floats
    speed_mm_s: Floats
    layer: Integers
    specimen: Integers
    fan_pct: Floats
    nozzle_c: Floats
    dwell_s: Floats
    radius_mm: Floats
    acceleration_mm_s2: Floats
    speed_factor: Floats
    flow_factor: Floats
    start_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    filament_diameter_mm: float = 1.75
    bed_c: Floats | None = None
    tool: Integers | None = None
    bend_rad: Floats | None = None

    def __len__(self) -> int:
        return len(self.kind)

    @cached_property
    def steps_mm(self) -> Floats:
        """Displacement of each move, `(n, 3)`. [mm]"""
        steps = np.empty((len(self), 3))
        for column, axis, start in zip(
            steps.T, (self.x_mm, self.y_mm, self.z_mm), self.start_mm, strict=True
        ):
            column[:1] = axis[:1] - start
            np.subtract(axis[1:], axis[:-1], out=column[1:])
        return steps

    @property
    def filament_mm(self) -> Floats:
        """Filament fed by each move, `(n,)`. [mm]"""
        return np.asarray(self.volume_mm3 / filament_area(self.filament_diameter_mm))

    @cached_property
    def deposits(self) -> Bools:
        """Which moves lay a bead: filament advances while X or Y moves, `(n,)`."""
        moving = np.zeros(len(self), dtype=bool)
        for axis, start in ((self.x_mm, self.start_mm[0]), (self.y_mm, self.start_mm[1])):
            moving[:1] |= axis[:1] != start
            moving[1:] |= axis[1:] != axis[:-1]
        return np.asarray((self.volume_mm3 > 0.0) & moving & (self.kind != Kind.HOME))

    def starts_mm(self, rows: Integers) -> Floats:
        """Return where these moves begin, `(k, 3)`. [mm]"""
        starts = np.column_stack([axis[rows - 1] for axis in (self.x_mm, self.y_mm, self.z_mm)])
        starts[rows == 0] = self.start_mm
        return starts

    def stretches(self, rows: int = 1 << 17) -> Iterator[Moves]:
        """Yield the moves in stretches of so many, without copies: sums over stretches take little memory."""
        columns = [f.name for f in fields(self) if f.name not in ("start_mm", "filament_diameter_mm")]
        for first in range(0, len(self), rows):
            part = slice(first, first + rows)
            start = self.start_mm
            if first:
                last = first - 1
                start = (float(self.x_mm[last]), float(self.y_mm[last]), float(self.z_mm[last]))
            known = {name: column[part] for name in columns if (column := getattr(self, name)) is not None}
            yield replace(self, **known, start_mm=start)


@dataclass(frozen=True)
class Placement:
    """
    A specimen on the bed.

    Attributes
    ----------
    position : int
        Number on the bed, from 1.
    kind : str
        Name in the specimen catalogue.
    centre_mm : tuple of float
        Centre in X and Y. [mm]
    size_mm : tuple of float
        Size in X, Y and Z. [mm]
    """

    position: int
    kind: str
    centre_mm: tuple[float, float]
    size_mm: tuple[float, float, float]


@dataclass(frozen=True, eq=False)
class Toolpath:
    """
    A planned build.

    Attributes
    ----------
    moves : Moves
        Everything between the machine's start and end code.
    placements : tuple of Placement
        What stands where.
    layer_mm : float
        Layer thickness. [mm]
    layers : int
        Number of layers of the highest specimen.
    pitch_mm : float
        Full-fill pitch that the plan started from. [mm]
    notes : tuple of str
        What the plan could not do as asked, in plain words.
    """

    moves: Moves
    placements: tuple[Placement, ...]
    layer_mm: float
    layers: int
    pitch_mm: float
    notes: Sequence[str] = field(default=())
