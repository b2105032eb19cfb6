"""
G-code of any common dialect -> moves.

Read are: absolute and relative positions and feed (G90, G91, M82, M83), G92, inches, volumetric feed (M200),
arcs (I J and R, helical), firmware retraction, dwell, line numbers and checksums, lower case, missing
spaces, both styles of comment, tools, temperatures, fan, stated limits (M201, M203 to M205), factors (M220,
M221). Unless a file says otherwise it is taken as millimetres, absolute positions and absolute feed. Feed is
relative while M83 or G91 holds. Other words are counted, never fatal.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass
from io import BytesIO, RawIOBase
from pathlib import Path

import numpy as np

from voidless.errors import InputError
from voidless.toolpath import scan_state as at
from voidless.toolpath.moves import Integers, Kind, Moves
from voidless.toolpath.scan import WORTH_COMPILING, blocks, obey_line, steps
from voidless.toolpath.scan_columns import Columns, height_runs
from voidless.toolpath.scan_state import Reading, Values

__all__ = ["Program", "read_gcode", "read_gcode_bytes", "read_gcode_lines", "stream_gcode"]

_USUAL_DIAMETER_MM = 1.75
_BYTES_A_MOVE = 24
_MOST_WITHOUT_BEAD = 1_000_000
_ORIGIN = (0.0, 0.0, 0.0)


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


def _program(reading: Reading, moves: Moves) -> Program:
    """Return what is known once these moves are read."""
    problems = [
        f"{words} (line {line})" if count == 1 else f"{words} ({count} times, first in line {line})"
        for words, (count, line) in reading.problems.items()
    ]
    if reading.whole[at.BEHIND]:
        problems.append(
            f"the program ends in line {reading.whole[at.ENDED]} (M2 or M30); "
            f"{reading.whole[at.BEHIND]} lines behind it are not carried out"
        )
    first = int(np.argmax(moves.length_mm > 0.0))  # once stated, a speed holds
    if np.isinf(moves.speed_mm_s[first]) and moves.length_mm[first] > 0.0:
        problems.append("moves before the first speed word; taken as fast as the limits allow")
    stated = {name: dict(values) for name, values in reading.stated.items()}
    return Program(moves, stated, reading.diameter, dict(reading.unknown), tuple(problems))


def _layers(size: int, starts: Integers, number: Integers, without: int = -1) -> Integers:
    """Return each move's layer from the runs on one height; `without` throughout where no bead is laid."""
    if not len(starts):
        return np.full(size, without, dtype=np.int64)
    return np.repeat(number, np.diff(starts, append=size))


def _whole(reading: Reading, columns: Columns, diameter: float | None) -> Program:
    """Return the program of a file that has been read to its end; layers are ranks of height."""
    if not columns.size:
        raise InputError(reading.name, "holds no move", "G-code with G0 to G3", "Check the file.")
    starts, heights = height_runs(*columns.filled)
    _, number = np.unique(heights, return_inverse=True)
    layer = _layers(columns.size, starts, number)
    moves = columns.moves(layer, _ORIGIN, diameter or reading.diameter or _USUAL_DIAMETER_MM)
    return _program(reading, moves)


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
        A number is malformed (line and column are named), a line is longer than a mebibyte or not text, or
        there is no move at all.
    """
    reading, columns = Reading(name), Columns(0)
    for line in lines:
        obey_line(reading, line)
    columns.take(reading)
    return _whole(reading, columns, filament_diameter_mm)


def read_gcode(
    path: Path,
    filament_diameter_mm: float | None = None,
    compiled: bool | None = None,
    progress: Callable[[float], None] = lambda _: None,
) -> Program:
    """
    Return what a G-code file says.

    Parameters
    ----------
    path : Path
        File of plain text; bytes that are no ASCII may stand in comments.
    filament_diameter_mm : float or None
        Filament diameter; None takes the file's own where it states one, else 1.75. [mm]
    compiled : bool or None
        Whether the compiled scanner reads it; None: from 1.5 MB on. The result is the same.
    progress : function
        Called with the share of the file that is read.

    Raises
    ------
    InputError
        As `read_gcode_lines`, or the file cannot be opened.
    """
    path = Path(path)
    try:
        size = path.stat().st_size
        with path.open("rb", buffering=0) as file:
            return _read(file, path.name, size, filament_diameter_mm, compiled, progress)
    except OSError as fault:
        raise _unreadable(path, fault) from fault


def read_gcode_bytes(
    data: bytes, name: str, filament_diameter_mm: float | None = None, compiled: bool | None = None
) -> Program:
    """
    Return what a G-code file says whose bytes are at hand.

    Parameters
    ----------
    data : bytes
        The whole file.
    name : str
        File name that errors and problems carry.
    filament_diameter_mm, compiled
        As `read_gcode`.

    Raises
    ------
    InputError
        As `read_gcode_lines`.
    """
    return _read(BytesIO(data), name, len(data), filament_diameter_mm, compiled)


def _read(
    file: RawIOBase | BytesIO,
    name: str,
    size: int,
    diameter: float | None,
    compiled: bool | None,
    progress: Callable[[float], None] = lambda _: None,
) -> Program:
    _refuse_packed(file, name)
    fast = size >= WORTH_COMPILING if compiled is None else compiled
    reading, columns = Reading(name), Columns(size // _BYTES_A_MOVE)
    with closing(
        steps(blocks(file, name), fast)
    ) as pieces:  # a stop by hand ends the thread that reads ahead, too
        for step in pieces:
            step(reading, columns)
            progress(min(1.0, file.tell() / max(size, 1)))
    return _whole(reading, columns, diameter)


def _refuse_packed(file: RawIOBase | BytesIO, name: str) -> None:
    """Refuse archives by their first bytes: what is in them is to be taken out first."""
    head = file.read(4) or b""
    file.seek(0)
    if head[:2] == b"\x1f\x8b" or head == b"PK\x03\x04":
        kind = "a ZIP archive" if head[:1] == b"P" else "a gzip archive"
        raise InputError(name, f"is {kind}", "G-code as plain text", "Unpack it and name the file inside.")


def stream_gcode(
    path: Path, filament_diameter_mm: float | None = None, compiled: bool | None = None
) -> Iterator[Program]:
    """
    Return a G-code file part by part, in memory that does not grow with the file.

    Parameters
    ----------
    path, filament_diameter_mm, compiled
        As `read_gcode`.

    Yields
    ------
    program : Program
        The next moves, which start where the last ended, with limits, unknown words and problems found so far.

    Raises
    ------
    InputError
        As `read_gcode`, when the place is reached.

    Notes
    -----
    Put together the parts are what `read_gcode` returns, but for two things that only the whole file tells:
    layers are numbered as their heights first appear, and a filament diameter that a file states counts from
    there on. Moves between beads are held back until the bead comes that they lead to, a million at most.
    """
    path = Path(path)
    try:
        fast = path.stat().st_size >= WORTH_COMPILING if compiled is None else compiled
        with path.open("rb", buffering=0) as file:
            _refuse_packed(file, path.name)
            yield from _stream(file, path.name, filament_diameter_mm, fast)
    except OSError as fault:
        raise _unreadable(path, fault) from fault


def _stream(file: RawIOBase, name: str, diameter: float | None, fast: bool) -> Iterator[Program]:
    reading, columns = Reading(name), Columns(0)
    start, seen, last = _ORIGIN, dict[int, int](), -1
    waiting: Moves | None = None  # the last part must carry what is found behind the last move
    for step in steps(blocks(file, name), fast):
        step(reading, columns)
        beads = np.flatnonzero(columns.filled[0] == Kind.BEAD)
        count = int(beads[-1]) + 1 if len(beads) else 0
        if not count and columns.size < _MOST_WITHOUT_BEAD:
            continue
        if waiting is not None:
            yield _program(reading, waiting)
        full, columns = columns, columns.split(count or columns.size, reading, count)
        waiting, last = _part(full, seen, last, start, diameter or reading.diameter or _USUAL_DIAMETER_MM)
        start = (float(waiting.x_mm[-1]), float(waiting.y_mm[-1]), float(waiting.z_mm[-1]))
    if waiting is not None and columns.size:
        yield _program(reading, waiting)
    if columns.size:
        waiting, _ = _part(columns, seen, last, start, diameter or reading.diameter or _USUAL_DIAMETER_MM)
    if waiting is None:
        raise InputError(name, "holds no move", "G-code with G0 to G3", "Check the file.")
    yield _program(reading, waiting)


def _part(
    columns: Columns, seen: dict[int, int], last: int, start: tuple[float, float, float], diameter: float
) -> tuple[Moves, int]:
    """Return the moves of a part of a file, layers by first appearance of their heights, and the last layer."""
    starts, heights = height_runs(*columns.filled)
    number = np.array([seen.setdefault(height, len(seen)) for height in heights.tolist()], dtype=np.int64)
    layer = _layers(columns.size, starts, number, last)
    return columns.moves(layer, start, diameter), int(layer[-1])


def _unreadable(path: Path, fault: OSError) -> InputError:
    return InputError(str(path), f"cannot be read ({fault.strerror})", "a G-code file", "Check the name.")
