"""
G-code of any common dialect -> moves.

Read are: absolute and relative positions and feed (G90, G91, M82, M83), G92, inches, volumetric feed (M200),
arcs (I J and R, helical), firmware retraction, dwell, line numbers and checksums, lower case, missing
spaces, both styles of comment, temperatures, fan, stated limits (M201, M203 to M205), factors (M220, M221).
Unless a file says otherwise it is taken as millimetres, absolute positions and absolute feed. Feed is
relative while M83 or G91 holds. Other words are counted, never fatal.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from voidless.beads.stadium import filament_area
from voidless.errors import InputError
from voidless.toolpath.dialect import COLUMNS, Reading, Values, obey
from voidless.toolpath.moves import Kind, Moves

__all__ = ["Program", "read_gcode", "read_gcode_lines"]

_LONGEST_LINE = 65_536
_HEIGHT_DECIMALS = 3
_USUAL_DIAMETER_MM = 1.75


@dataclass(frozen=True, eq=False)
class Program:
    """
    What a G-code file says.

    Attributes
    ----------
    moves : Moves
        Every move; `layer` counts distinct heights of beads from 0.
    stated : dict
        Limits that the file states: `speed_mm_s`, `acceleration_mm_s2`, `step_mm_s` per axis letter,
        `deviation_mm` under the letter J.
    diameter_mm : float or None
        Filament diameter that the file states with volumetric feed. [mm]
    unknown : dict
        Words that were not read, with how often they occur.
    problems : tuple of str
        What is doubtful about the file, in plain words.
    """

    moves: Moves
    stated: dict[str, Values]
    diameter_mm: float | None
    unknown: dict[str, int]
    problems: tuple[str, ...]


def _numbered_layers(table: NDArray[np.float64]) -> NDArray[np.int64]:
    """Return each move's layer, the rank of its bead's height; other moves lead to the next bead."""
    beads = np.flatnonzero(table[:, 0] == Kind.BEAD)
    layer = np.full(len(table), -1, dtype=np.int64)
    if len(beads):
        _, number = np.unique(np.round(table[beads, 3], _HEIGHT_DECIMALS), return_inverse=True)
        following = np.minimum(np.searchsorted(beads, np.arange(len(table))), len(beads) - 1)
        layer = np.asarray(number)[following].astype(np.int64)
    return layer


def _moves(state: Reading, diameter: float) -> Moves:
    table = np.frombuffer(state.rows, dtype=float).reshape(-1, len(COLUMNS))
    columns = dict(zip(COLUMNS, np.ascontiguousarray(table.T), strict=True))
    kind = columns.pop("kind").astype(np.int64)
    volume = columns.pop("filament_mm") * filament_area(diameter)
    return Moves(
        kind=kind,
        volume_mm3=volume,
        layer=_numbered_layers(table),
        specimen=np.full(len(kind), -1, dtype=np.int64),
        start_mm=(0.0, 0.0, 0.0),
        filament_diameter_mm=diameter,
        **columns,
    )


def read_gcode_lines(lines: Iterable[str], name: str, filament_diameter_mm: float | None = None) -> Program:
    """
    Return what lines of G-code say.

    Parameters
    ----------
    lines : iterable of str
        Lines with or without their ends.
    name : str
        File name that errors and problems carry.
    filament_diameter_mm : float or None
        Filament diameter; None takes the file's own where it states one, else 1.75. [mm]

    Returns
    -------
    program : Program
        Moves and what else the file states.

    Raises
    ------
    InputError
        A number is malformed (line and column are named), a line is longer than 65536 characters or not
        text, or there is no move at all.
    """
    state = Reading(name)
    for line in lines:
        state.line += 1
        if len(line) >= _LONGEST_LINE or "\0" in line:
            raise InputError(state.where, "is not a line of text", "G-code as plain text", "Check the file.")
        obey(state, line)
    if not state.rows:
        raise InputError(name, "holds no move", "G-code with G0 to G3", "Check the file.")
    diameter = filament_diameter_mm or state.diameter or _USUAL_DIAMETER_MM
    problems = [text if count == 1 else f"{text} ({count} times)" for text, count in state.problems.items()]
    moves = _moves(state, diameter)
    if np.isinf(moves.speed_mm_s[moves.length_mm > 0.0]).any():
        problems.append("moves before the first speed word; taken as fast as the limits allow")
    return Program(moves, state.stated, state.diameter, dict(state.unknown), tuple(problems))


def read_gcode(path: Path, filament_diameter_mm: float | None = None) -> Program:
    """
    Return what a G-code file says.

    Parameters
    ----------
    path : Path
        File of plain text; bytes that are no UTF-8 are taken as Latin-1 would be.
    filament_diameter_mm : float or None
        Filament diameter; None takes the file's own where it states one, else 1.75. [mm]

    Raises
    ------
    InputError
        As `read_gcode_lines`, or the file cannot be opened.
    """
    try:
        with Path(path).open(encoding="latin-1") as file:
            return read_gcode_lines(
                iter(lambda: file.readline(_LONGEST_LINE), ""), Path(path).name, filament_diameter_mm
            )
    except OSError as fault:
        raise InputError(
            str(path), f"cannot be read ({fault.strerror})", "a G-code file", "Check the name."
        ) from fault
