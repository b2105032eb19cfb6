"""What a G-code text asks of a machine, limit by limit, read back from the words as written."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

from voidless.toolpath.layer_time import is_sequential
from voidless.toolpath.layout import SPACING_MM, nearest_mm
from voidless.toolpath.limits import LimitRow, limit_rows
from voidless.toolpath.moves import Toolpath
from voidless.toolpath.reader import read_gcode_bytes

if TYPE_CHECKING:
    from voidless.machines import Machine

__all__ = ["limits_listing"]

_WRITTEN_MM = 0.001
"""Positions are written to three decimals. [mm]"""


def limits_listing(
    text: str, toolpath: Toolpath, settings: Mapping[str, float], machine: Machine
) -> tuple[LimitRow, ...]:
    """
    Return every limit with the extremes of a build beside it.

    Parameters
    ----------
    text : str
        The build's G-code, as `write_gcode` gives it.
    toolpath : Toolpath
        The plan, for what stands where.
    settings : mapping
        Process settings in shop units.
    machine : Machine
        What limits the build.

    Returns
    -------
    rows : tuple of LimitRow
        Positions, speeds, melt rate and nozzle of the moves that the reader finds in the text; bed and chamber;
        distance of the specimens, and what head and gantry need where one specimen follows another; words that
        the reader does not know.
    """
    back = read_gcode_bytes(text.encode(), "build", machine.filament_diameter_mm)
    rows = [
        *limit_rows(back.moves, machine, _WRITTEN_MM),
        _upper("bed", "C", settings["bed_c"], machine.bed_max_c),
    ]
    if machine.chamber_max_c > 0.0:
        rows.append(_upper("chamber", "C", settings["chamber_c"], machine.chamber_max_c))
    gap = nearest_mm(toolpath.placements)
    sequential = is_sequential(toolpath)
    if math.isfinite(gap):
        least = max(SPACING_MM, machine.head_radius_mm or 0.0) if sequential else SPACING_MM
        rows.append(
            LimitRow("distance of specimens", "mm", gap, gap, least, math.inf, int(not gap >= least - 1e-9))
        )
    if sequential:
        highest = max(placed.size_mm[2] for placed in toolpath.placements[:-1])
        rows.append(_upper("finished height", "mm", highest, machine.gantry_height_mm or 0.0))
    rows.append(_upper("unknown words", "1", float(sum(back.unknown.values())), 0.0))
    return tuple(rows)


def _upper(name: str, unit: str, value: float, most: float) -> LimitRow:
    return LimitRow(name, unit, value, value, -math.inf, most, int(not value <= most))
