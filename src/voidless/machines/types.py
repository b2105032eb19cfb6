"""A machine as frozen values, and the table of its numbers with their possible ranges."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

__all__ = ["AXES", "AXIS_NUMBERS", "CLEARANCES", "NUMBERS", "Axes", "Machine"]

_ASSUMED = "Assumed"
"""How notes of values begin that are common rather than known."""

Axes = tuple[float, float, float, float]

AXES = ("x", "y", "z", "e")
"""Order of the values per axis."""

NUMBERS: dict[str, tuple[float, float]] = {
    "nozzle_diameter_mm": (0.05, 5.0),
    "filament_diameter_mm": (0.5, 5.0),
    "melt_zone_length_mm": (1.0, 500.0),
    "melt_zone_mm3": (1.0, 1e5),
    "heater_w": (1.0, 5000.0),
    "nozzle_max_c": (100.0, 500.0),
    "bed_max_c": (0.0, 250.0),
    "chamber_max_c": (0.0, 250.0),
    "max_rate_mm3_s": (0.1, 5000.0),
    "print_acceleration_mm_s2": (1.0, 1e5),
    "travel_acceleration_mm_s2": (1.0, 1e5),
    "travel_speed_mm_s": (1.0, 2000.0),
    "junction_deviation_mm": (0.0001, 1.0),
    "retract_mm": (0.0, 20.0),
    "retract_speed_mm_s": (0.1, 200.0),
    "bed_x_mm": (10.0, 5000.0),
    "bed_y_mm": (10.0, 5000.0),
    "bed_z_mm": (10.0, 5000.0),
    "lag_s": (0.0, 5.0),
}
"""Numbers of a machine and the range outside which they are errors of entry. [unit in the name]"""

CLEARANCES: dict[str, tuple[float, float]] = {
    "head_radius_mm": (1.0, 500.0),
    "gantry_height_mm": (1.0, 1000.0),
}
"""The same for room that the moving parts need; a machine may leave them unsaid, and then prints together only."""

AXIS_NUMBERS: dict[str, tuple[float, float]] = {
    "speed_max_mm_s": (0.1, 5000.0),
    "acceleration_max_mm_s2": (1.0, 1e6),
}
"""The same for numbers that have one value per axis, in the order of `AXES`."""


@dataclass(frozen=True)
class Machine:
    """
    A printer: geometry, limits, motion, and how far its settings scatter.

    Attributes
    ----------
    name, title : str
        Library name (`bench-0.4`) and what a person calls it.
    melt_zone_length_mm, melt_zone_mm3 : float
        Heated length of the melt path and the volume of filament in it. [mm], [mm3]
    max_rate_mm3_s : float
        Largest volumetric rate that the hot end is trusted to melt. [mm3/s]
    speed_max_mm_s, acceleration_max_mm_s2 : (float, float, float, float)
        Limits of the axes x, y, z, e. [mm/s], [mm/s2]
    chamber_max_c : float
        Highest chamber temperature; 0 for a machine that heats no chamber. [degC]
    lag_s : float
        Delay between commanded and real melt flow. [s]
    fan : bool
        Whether there is a part-cooling fan.
    head_radius_mm : float or None
        How far the hot end and what moves with it reach sideways from the nozzle, below the gantry. [mm]
    gantry_height_mm : float or None
        Height of the lowest part of the gantry above the nozzle's tip; what is higher than this must not stand
        finished beside a specimen that is begun. [mm]
    start_gcode, end_gcode : str
        Code before and after the build; temperatures are set by the writer.
    usual : mapping of str to float
        Usual settings that belong to the machine. [unit of the setting]
    setting_sd : mapping of str to float
        Standard deviation, from build to build, of what a setting really was. [unit of the setting]
    notes : mapping of str to str
        Where a value comes from, by field name; `all` speaks for the rest.
    fan_stall_pct : float
        Highest duty at which the fan was seen to stand still; 0 where nobody looked. [%]
    offsets : mapping of str to (float, float)
        What this very machine was measured to do: mean and standard deviation of a constant of the twin
        (`nozzle_offset_k`, `flow_offset_log`). [unit in the name]
    """

    name: str
    title: str
    nozzle_diameter_mm: float
    filament_diameter_mm: float
    melt_zone_length_mm: float
    melt_zone_mm3: float
    heater_w: float
    nozzle_max_c: float
    bed_max_c: float
    chamber_max_c: float
    max_rate_mm3_s: float
    speed_max_mm_s: Axes
    acceleration_max_mm_s2: Axes
    print_acceleration_mm_s2: float
    travel_acceleration_mm_s2: float
    travel_speed_mm_s: float
    junction_deviation_mm: float
    retract_mm: float
    retract_speed_mm_s: float
    bed_x_mm: float
    bed_y_mm: float
    bed_z_mm: float
    lag_s: float
    fan: bool
    head_radius_mm: float | None = None
    gantry_height_mm: float | None = None
    fan_stall_pct: float = 0.0
    start_gcode: str = ""
    end_gcode: str = ""
    usual: Mapping[str, float] = field(default_factory=dict)
    setting_sd: Mapping[str, float] = field(default_factory=dict)
    notes: Mapping[str, str] = field(default_factory=dict)
    offsets: Mapping[str, tuple[float, float]] = field(default_factory=dict)

    @property
    def lag_assumed(self) -> bool:
        """Whether nobody stated or measured the pressure lag of this very machine."""
        return self.notes.get("lag_s", _ASSUMED).startswith(_ASSUMED)

    @property
    def filament_area_mm2(self) -> float:
        """Cross-section of the filament. [mm2]"""
        return math.pi * self.filament_diameter_mm**2 / 4.0
