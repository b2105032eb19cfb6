"""Toolpath -> G-code in plain words: absolute positions, relative feed, one move a line."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from voidless.beads.stadium import filament_area
from voidless.errors import InputError
from voidless.toolpath.cautions import BUILD_CAUTIONS
from voidless.toolpath.fill.types import PLACE_DIGITS
from voidless.toolpath.limits import check_limits, check_temperatures
from voidless.toolpath.moves import Moves, Toolpath

if TYPE_CHECKING:
    from voidless.machines import Machine

__all__ = ["file_name", "write_gcode"]

Floats = NDArray[np.float64]

_LONGEST_COMMENT = 120
_AXES = "XYZ"
_NO_FEED = 0.5e-5
"""Feeds are multiples of 1e-5; what is left of their difference is none. [mm]"""


def file_name(build: str, run: str) -> str:
    """Return the name of a build's G-code file, such as `B07_R05.gcode`."""
    return f"{build}_{run}.gcode"


def _comment(text: str) -> str:
    """Return a comment line of printable ASCII, since controllers read bytes."""
    plain = "".join(sign if " " <= sign <= "~" else "?" for sign in text)
    return f"; {plain[:_LONGEST_COMMENT]}"


def _feed_words(moves: Moves) -> Floats:
    """
    Return the filament of each move rounded to 10 nm. [mm]

    Rounding errors are carried over to the next move, so that the sum stays exact.
    """
    total = np.concatenate([[0.0], np.cumsum(moves.volume_mm3 / filament_area(moves.filament_diameter_mm))])
    return np.diff(np.round(total, 5))


def _short(value: float, decimals: int) -> str:
    """Return a number to so many decimals without zeros that say nothing: a file has a million numbers."""
    text = f"{value:.{decimals}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _move_lines(moves: Moves, machine: Machine) -> list[str]:
    """Return one line per move, words only where they change; fan words where its duty changes; pauses."""
    lines: list[str] = []
    words, numbers = ["", "", ""], [math.nan] * 3
    speed, duty = -1.0, 0.0
    feeds = _feed_words(moves).tolist()
    columns = (
        moves.x_mm,
        moves.y_mm,
        moves.z_mm,
        moves.speed_mm_s,
        moves.fan_pct,
        moves.layer,
        moves.dwell_s,
    )
    rows = zip(*(column.tolist() for column in columns), feeds, strict=True)
    layer = -1
    for x, y, z, wanted, fan, number, pause, feed in rows:
        if number != layer:
            lines.append(f"; layer {number + 1}")
            layer = number
        if fan != duty and machine.fan:
            lines.append(f"M106 S{round(255.0 * fan / 100.0)}" if fan > 0.0 else "M107")
            duty = fan
        if pause > 0.0:
            lines.append(f"G4 S{pause:.3f}")
        text = ""
        for axis, value in enumerate((x, y, z)):
            if value != numbers[axis]:  # else its word is the same
                numbers[axis] = value
                word = f" {_AXES[axis]}{_short(value, PLACE_DIGITS)}"
                if word != words[axis]:
                    words[axis] = word
                    text += word
        lays = abs(feed) > _NO_FEED
        if lays:
            text += f" E{_short(feed, 5)}"
        if not text:
            continue
        if wanted != speed:
            text += f" F{math.floor(wanted * 600.0 + 1e-6) / 10.0:g}"  # down: never above the limit
            speed = wanted
        lines.append(("G1" if lays else "G0") + text)
    return lines


def _heat(settings: Mapping[str, float], machine: Machine, wait: bool) -> list[str]:
    """Return the words that set bed, nozzle and chamber, with or without waiting for them."""
    bed, nozzle, chamber = ("M190", "M109", "M191") if wait else ("M140", "M104", "M141")
    lines = [f"{bed} S{settings['bed_c']:g}", f"{nozzle} S{settings['nozzle_c']:g}"]
    if machine.chamber_max_c > 0.0:
        lines.insert(1, f"{chamber} S{settings['chamber_c']:g}")
    return lines


def _refuse_excess(toolpath: Toolpath, settings: Mapping[str, float], machine: Machine) -> None:
    excess = check_temperatures(settings["nozzle_c"], settings["bed_c"], settings["chamber_c"], machine)
    excess += check_limits(toolpath.moves, machine)
    if excess:
        raise InputError("make", "; ".join(excess), f"all within {machine.name}", "Lower it.")


def write_gcode(
    toolpath: Toolpath, machine: Machine, settings: Mapping[str, float], header: Sequence[str]
) -> str:
    """
    Return a build as G-code.

    Parameters
    ----------
    toolpath : Toolpath
        What `plan_build` made.
    machine : Machine
        Start and end code, limits.
    settings : mapping
        Complete process settings in shop units.
    header : sequence of str
        Lines for the head of the file: build, run, campaign.

    Returns
    -------
    text : str
        ISO 6983 words, lines ended by a single line feed; the same input gives the same text.

    Raises
    ------
    InputError
        A move or a temperature exceeds what the machine states.

    Notes
    -----
    Positions to 1 µm, filament to 10 nm with rounding errors carried over, speeds rounded down to
    0.1 mm/min. Bed and nozzle are set before the machine's start code and waited for after it.
    """
    _refuse_excess(toolpath, settings, machine)
    placed = [
        f"{p.position}: {p.kind} at X{p.centre_mm[0]:.1f} Y{p.centre_mm[1]:.1f}" for p in toolpath.placements
    ]
    lines = [_comment(text) for text in dict.fromkeys((*header, *placed, *BUILD_CAUTIONS))]
    lines += ["G21", "G90", "M83", *_heat(settings, machine, wait=False)]
    lines += machine.start_gcode.strip().splitlines()
    lines += _heat(settings, machine, wait=True)
    lines += ["G21", "G90", "M83", "G92 E0", "M107"]
    lines += _move_lines(toolpath.moves, machine)
    off = ["M141 S0"] if machine.chamber_max_c > 0.0 else []
    lines += ["M107", "M104 S0", "M140 S0", *off, *machine.end_gcode.strip().splitlines()]
    return "\n".join(lines) + "\n"
