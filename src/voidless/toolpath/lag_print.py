"""The test print that shows pressure lag: straight lines along which the speed steps up and down again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from voidless.beads.stadium import bead_area, filament_area
from voidless.errors import InputError
from voidless.toolpath.moves import Kind, Moves, Toolpath

if TYPE_CHECKING:
    from voidless.machines import Machine

__all__ = ["LagPrint", "plan_lag_print"]

LINES = 5
SPACING_MM = 8.0
MARGIN_MM = 10.0
SLOW_SHARE = 0.2
"""Slow speed over fast speed: the larger the step, the more volume is missing after it."""
LIFT_MM = 5.0
_SHARES = (0.35, 0.65)
_SETTLED = 3.0
_LAG_EXPECTED_S = 0.1


@dataclass(frozen=True, eq=False)
class LagPrint:
    """
    A planned lag print.

    Attributes
    ----------
    toolpath : Toolpath
        Purge line, then the lines, on the first layer.
    lines : tuple of (int, int)
        First move of each line and the one after its last.
    length_mm : float
        Length of each line; positions along it are measured from its start. [mm]
    steps_mm : tuple of float
        Where the speed steps up and down again. [mm]
    speeds_mm_s : tuple of float
        Slow and fast speed. [mm/s]
    layer_mm, width_mm : float
        Layer thickness and width that each line is fed for. [mm]
    """

    toolpath: Toolpath
    lines: tuple[tuple[int, int], ...]
    length_mm: float
    steps_mm: tuple[float, float]
    speeds_mm_s: tuple[float, float]
    layer_mm: float
    width_mm: float


def _fast_speed(area_mm2: float, machine: Machine) -> float:
    """Return the fastest speed along X that drive, hot end and axis allow. [mm/s]"""
    melt = min(
        machine.max_rate_mm3_s, machine.speed_max_mm_s[3] * filament_area(machine.filament_diameter_mm)
    )
    return min(machine.speed_max_mm_s[0], machine.travel_speed_mm_s, melt / area_mm2)


def plan_lag_print(settings: Mapping[str, float], machine: Machine) -> LagPrint:
    """
    Return a print of five lines whose speed steps from slow to fast and back, fed for one width throughout.

    Parameters
    ----------
    settings : mapping
        Complete process settings in shop units; layer thickness, width, fan and nozzle temperature are used.
    machine : Machine
        Bed and limits; no speed, melt rate or acceleration exceeds them.

    Returns
    -------
    planned : LagPrint
        Toolpath for `write_gcode`, and what the reading needs.

    Raises
    ------
    InputError
        The bed is too short for lines on which the flow settles after each step.

    Notes
    -----
    After the step up the bead is too thin until the flow has caught up, over about speed x lag; after the step
    down it is too wide. The volume missing after the step up is lag x area x step of speed, whatever the ramp.
    """
    layer, width = settings["layer_mm"], settings["width_mm"]
    area = float(bead_area(layer, width))
    fast = _fast_speed(area, machine)
    slow = SLOW_SHARE * fast
    length = machine.bed_x_mm - 2.0 * MARGIN_MM
    steps = (_SHARES[0] * length, _SHARES[1] * length)
    needed = _SETTLED * _LAG_EXPECTED_S * fast
    if not (steps[1] - steps[0] >= needed and machine.bed_y_mm >= (LINES + 1) * SPACING_MM + 2.0 * MARGIN_MM):
        raise InputError(
            "lag print",
            f"the bed of {machine.bed_x_mm:g} x {machine.bed_y_mm:g} mm is too small",
            f"{needed / (_SHARES[1] - _SHARES[0]) + 2.0 * MARGIN_MM:.0f} mm along X for the flow to settle",
            "Lower the machine's max_rate_mm3_s or use a larger width for this print.",
        )
    rows, lines = _rows(length, steps, (slow, fast), layer, area, machine)
    toolpath = Toolpath(_moves(rows, settings, machine), (), layer, 1, width)
    return LagPrint(toolpath, lines, length, steps, (slow, fast), layer, width)


Row = tuple[Kind, float, float, float, float, float]
"""Kind, x, y, z, volume, speed."""


def _rows(
    length: float,
    steps: tuple[float, float],
    speeds: tuple[float, float],
    layer: float,
    area: float,
    machine: Machine,
) -> tuple[list[Row], tuple[tuple[int, int], ...]]:
    travel = min(machine.travel_speed_mm_s, *machine.speed_max_mm_s[:2])
    rise = min(machine.travel_speed_mm_s, machine.speed_max_mm_s[2])
    drawn = machine.retract_mm * filament_area(machine.filament_diameter_mm)
    draw = min(machine.retract_speed_mm_s, machine.speed_max_mm_s[3])
    slow, fast = speeds
    rows: list[Row] = [(Kind.TRAVEL, 0.0, 0.0, LIFT_MM, 0.0, rise)]
    lines = []
    for number in range(LINES + 1):
        y = MARGIN_MM + number * SPACING_MM
        rows += [
            (Kind.TRAVEL, MARGIN_MM, y, LIFT_MM, 0.0, travel),
            (Kind.TRAVEL, MARGIN_MM, y, layer, 0.0, rise),
        ]
        if number:
            rows.append((Kind.RESTORE, MARGIN_MM, y, layer, drawn, draw))
        first, before = len(rows), 0.0
        kind = Kind.RASTER if number else Kind.PURGE  # the first line fills the nozzle and is not measured
        for end, speed in zip((*steps, length), (slow, fast, slow), strict=True):
            rows.append((kind, MARGIN_MM + end, y, layer, area * (end - before), speed))
            before = end
        if number:
            lines.append((first, len(rows)))
        rows += [
            (Kind.RETRACT, MARGIN_MM + length, y, layer, -drawn, draw),
            (Kind.TRAVEL, MARGIN_MM + length, y, LIFT_MM, 0.0, rise),
        ]
    return rows, tuple(lines)


def _moves(rows: list[Row], settings: Mapping[str, float], machine: Machine) -> Moves:
    kind, x, y, z, volume, speed = (np.array(column, dtype=float) for column in zip(*rows, strict=True))
    ends = np.column_stack([x, y, z])
    number = len(rows)
    return Moves(
        kind=kind.astype(np.int64),
        x_mm=x,
        y_mm=y,
        z_mm=z,
        length_mm=np.linalg.norm(np.diff(np.vstack([np.zeros(3), ends]), axis=0), axis=1),
        volume_mm3=volume,
        speed_mm_s=speed,
        layer=np.zeros(number, dtype=np.int64),
        specimen=np.full(number, -1, dtype=np.int64),
        fan_pct=np.zeros(number),
        nozzle_c=np.full(number, float(settings["nozzle_c"])),
        dwell_s=np.zeros(number),
        radius_mm=np.full(number, np.inf),
        acceleration_mm_s2=np.full(number, np.nan),
        speed_factor=np.ones(number),
        flow_factor=np.ones(number),
        filament_diameter_mm=machine.filament_diameter_mm,
    )
