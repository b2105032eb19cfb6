"""Collects the moves of a build: travels, retractions, purge line, sections, speeds within the limits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from voidless.beads.stadium import bead_area, filament_area
from voidless.toolpath.fill.types import PLACE_DIGITS, Pattern
from voidless.toolpath.layout import EDGE_MM
from voidless.toolpath.moves import Kind, Moves

if TYPE_CHECKING:
    from voidless.machines import Machine

__all__ = ["LIFT_MM", "PURGE_LENGTH_MM", "PURGE_MM3", "RETRACT_ABOVE_MM", "Recorder"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

LIFT_MM = 5.0
"""Height at which the nozzle crosses the empty bed before the purge line and above the part after it. [mm]"""
RETRACT_ABOVE_MM = 2.0
"""Longer travels draw the filament back first. [mm] Common practice, no source."""
PURGE_MM3 = 30.0
"""Volume of the purge line. [mm³] Common practice, no source."""
PURGE_LENGTH_MM = 100.0
"""Longest purge line. [mm]"""


@dataclass
class Recorder:
    """
    The build while it is being planned.

    Parameters
    ----------
    settings : mapping
        Complete process settings in shop units.
    machine : Machine
        Bed, limits, retraction.
    """

    settings: Mapping[str, float]
    machine: Machine
    here: tuple[float, float, float] = (0.0, 0.0, 0.0)
    layer: int = -1
    _columns: dict[str, list[NDArray[np.float64]]] = field(default_factory=dict)

    @property
    def _z_speed(self) -> float:
        return min(self.machine.travel_speed_mm_s, self.machine.speed_max_mm_s[2])

    @property
    def _draw(self) -> tuple[float, float]:
        """Volume and speed of a retraction, the speed within the extruder's limit. [mm³], [mm/s]"""
        volume = self.machine.retract_mm * filament_area(self.machine.filament_diameter_mm)
        return volume, min(self.machine.retract_speed_mm_s, self.machine.speed_max_mm_s[3])

    def _add(self, kind: Integers, points: Floats, volume: Floats, speed: Floats, specimen: int) -> None:
        """Add moves to `points` `(n, 3)`. [mm]"""
        added = {
            "kind": kind,
            "x_mm": points[:, 0],
            "y_mm": points[:, 1],
            "z_mm": points[:, 2],
            "volume_mm3": volume,
            "speed_mm_s": speed,
            "layer": np.full(len(kind), self.layer),
            "specimen": np.full(len(kind), specimen),
        }
        for name, values in added.items():
            self._columns.setdefault(name, []).append(values)
        self.here = (float(points[-1, 0]), float(points[-1, 1]), float(points[-1, 2]))

    def _one(self, kind: Kind, point: tuple[float, float, float], volume: float, speed: float) -> None:
        row = np.array([point], dtype=float)
        self._add(np.array([int(kind)]), row, np.array([volume]), np.array([speed]), -1)

    def _speeds(self, kind: Integers, steps: Floats, volume: Floats) -> Floats:
        """Return the commanded speed of each move within the limits of axes, extruder and hot end. [mm/s]"""
        machine = self.machine
        length = np.linalg.norm(steps, axis=1)
        most = min(
            machine.speed_max_mm_s[3] * filament_area(machine.filament_diameter_mm), machine.max_rate_mm3_s
        )
        speed = np.where(volume > 0.0, self.settings["speed_mm_s"], machine.travel_speed_mm_s)
        amounts = np.column_stack([np.abs(steps), volume])
        limits = (*machine.speed_max_mm_s[:3], most)
        for amount, limit in zip(amounts.T, limits, strict=True):
            share = np.divide(limit * length, amount, out=np.full(len(length), np.inf), where=amount > 0.0)
            speed = np.minimum(speed, share)
        drawing = (kind == Kind.RETRACT) | (kind == Kind.RESTORE)
        return np.where(drawing, self._draw[1], speed)

    def purge(self) -> None:
        """Add the way to the front edge of the bed and the purge line."""
        layer = self.settings["layer_mm"]
        length = min(PURGE_LENGTH_MM, self.machine.bed_x_mm - 2 * EDGE_MM)
        start, end = EDGE_MM, EDGE_MM + length
        plane_speed = min(self.machine.travel_speed_mm_s, *self.machine.speed_max_mm_s[:2])
        self._one(Kind.TRAVEL, (0.0, 0.0, LIFT_MM), 0.0, self._z_speed)
        self._one(Kind.TRAVEL, (start, EDGE_MM, LIFT_MM), 0.0, plane_speed)
        self._one(Kind.TRAVEL, (start, EDGE_MM, layer), 0.0, self._z_speed)
        steps = np.array([[length, 0.0, 0.0]])
        limit = float(self._speeds(np.array([int(Kind.PURGE)]), steps, np.array([PURGE_MM3]))[0])
        rate = float(bead_area(layer, self.settings["width_mm"])) * self.settings["speed_mm_s"]
        speed = min(limit, rate * length / PURGE_MM3)  # no faster melt than the build itself asks for
        self._one(Kind.PURGE, (end, EDGE_MM, layer), PURGE_MM3, speed)

    def section(self, pattern: Pattern, centre_mm: tuple[float, float], specimen: int, layer: int) -> None:
        """Add one specimen's section of one layer, its centre to the places of a file, after rising to it."""
        self.layer = layer
        z = (layer + 1) * self.settings["layer_mm"]
        if z != self.here[2]:
            self._one(Kind.TRAVEL, (self.here[0], self.here[1], z), 0.0, self._z_speed)
        kind, points, area, drawn = self._drawn_back(
            pattern, pattern.points + np.round(centre_mm, PLACE_DIGITS)
        )
        deposit = area * self.settings["layer_mm"] * self.settings["flow_pct"] / 100.0
        spatial = np.column_stack([points, np.full(len(points), z)])
        steps = np.diff(np.vstack([self.here, spatial]), axis=0)
        self._add(kind, spatial, deposit + drawn, self._speeds(kind, steps, deposit), specimen)

    def _drawn_back(self, pattern: Pattern, points: Floats) -> tuple[Integers, Floats, Floats, Floats]:
        """Return kinds, points, areas and drawn volumes with a retraction round every long travel."""
        starts = np.vstack([self.here[:2], points[:-1]])
        far = (pattern.kind == Kind.TRAVEL) & (np.hypot(*(points - starts).T) > RETRACT_ABOVE_MM)
        repeat = np.where(far, 3, 1)
        source = np.repeat(np.arange(len(far)), repeat)
        place = np.arange(len(source)) - np.repeat(np.cumsum(repeat) - repeat, repeat)
        before, after = far[source] & (place == 0), far[source] & (place == 2)
        kind = np.select([before, after], [int(Kind.RETRACT), int(Kind.RESTORE)], pattern.kind[source])
        ends = np.where(before[:, None], starts[source], points[source])
        drawn = self._draw[0] * (after.astype(float) - before.astype(float))
        return kind, ends, pattern.area_mm2[source], drawn

    def finish(self) -> Moves:
        """Return all moves, after drawing back and lifting off."""
        x, y, z = self.here
        volume, speed = self._draw
        self._one(Kind.RETRACT, (x, y, z), -volume, speed)
        lifted = min(z + LIFT_MM, self.machine.bed_z_mm)
        if lifted > z:
            self._one(Kind.TRAVEL, (x, y, lifted), 0.0, self._z_speed)
        columns = {name: np.concatenate(parts) for name, parts in self._columns.items()}
        kind, layer, specimen = (columns.pop(name).astype(np.int64) for name in ("kind", "layer", "specimen"))
        ends = np.column_stack([columns["x_mm"], columns["y_mm"], columns["z_mm"]])
        number = len(ends)
        return Moves(
            kind=kind,
            x_mm=columns["x_mm"],
            y_mm=columns["y_mm"],
            z_mm=columns["z_mm"],
            length_mm=np.linalg.norm(np.diff(np.vstack([np.zeros(3), ends]), axis=0), axis=1),
            volume_mm3=columns["volume_mm3"],
            speed_mm_s=columns["speed_mm_s"],
            layer=layer,
            specimen=specimen,
            fan_pct=np.where(layer > 0, float(self.settings["fan_pct"]), 0.0),
            nozzle_c=np.full(number, float(self.settings["nozzle_c"])),
            dwell_s=np.zeros(number),
            radius_mm=np.full(number, np.inf),
            acceleration_mm_s2=np.full(number, np.nan),
            speed_factor=np.ones(number),
            flow_factor=np.ones(number),
            filament_diameter_mm=self.machine.filament_diameter_mm,
        )
