"""What a G-code text asks of a machine, limit by limit, read back from the words as written."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from voidless.toolpath.layer_time import is_sequential
from voidless.toolpath.layout import SPACING_MM, nearest_mm
from voidless.toolpath.limits import LimitRow, as_read, excess_in_words, limit_rows
from voidless.toolpath.moves import Toolpath
from voidless.toolpath.reader import read_gcode_bytes
from voidless.toolpath.scan import obey_line
from voidless.toolpath.scan_state import Reading

if TYPE_CHECKING:
    from voidless.machines import Machine

__all__ = ["limits_listing", "own_code_notes"]

_NO_MOVES = frozenset({"bed", "chamber", "distance of specimens", "finished height", "unknown words"})
"""Rows that no move of the own code changes."""
_WRITTEN_MM = 0.001
"""By how much positions may be off as written, at most. [mm]"""


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
        the reader does not know, those of the machine's own start and end code aside.
    """
    own = _unread(machine)  # first: an error then names the own code
    back = read_gcode_bytes(text.encode(), "build", machine.filament_diameter_mm)
    rows = [
        *limit_rows(as_read(back.moves), machine, _WRITTEN_MM),
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
    strange = Counter(back.unknown) - own
    rows.append(_upper("unknown words", "1", float(strange.total()), 0.0))
    return tuple(rows)


def own_code_notes(rows: Iterable[LimitRow], machine: Machine) -> list[str]:
    """
    Return in words what the machine's own start and end code exceeds, and which of its words nobody checked.

    Parameters
    ----------
    rows : iterable of LimitRow
        Of `limits_listing`. `write_gcode` refuses a plan that exceeds the machine, so what a move exceeds there is
        the own code's doing.
    machine : Machine
        Start and end code.
    """
    excess = [excess_in_words(row) for row in rows if not row.within and row.name not in _NO_MOVES]
    notes = [f"start or end code of {machine.name}: {words}; check it by hand" for words in excess]
    if unread := _unread(machine):
        shown = ", ".join(f"{word} ({count})" for word, count in sorted(unread.items()))
        notes.append(
            f"start and end code of {machine.name} hold words that are not read, and not checked: {shown}"
        )
    return notes


def _unread(machine: Machine) -> Counter[str]:
    """Return the words of start and end code that the reader does not know."""
    found = Counter[str]()
    for name, code in (("start_gcode", machine.start_gcode), ("end_gcode", machine.end_gcode)):
        reading = Reading(f"{name} of {machine.name}")
        for line in code.splitlines():
            obey_line(reading, line)
        found += reading.unknown
    return found


def _upper(name: str, unit: str, value: float, most: float) -> LimitRow:
    return LimitRow(name, unit, value, value, -math.inf, most, int(not value <= most))
