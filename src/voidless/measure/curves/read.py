"""A file of a machine to its curves."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError, QuestionError
from voidless.measure.curves.beside import captions, own_columns, side_by_side
from voidless.measure.curves.blocks import MIN_POINTS, Block, find_blocks
from voidless.measure.curves.header import Header, facts_beside, parse_header
from voidless.measure.curves.numbers import (
    check_widths,
    columns_of,
    delimiter_of,
    filled_part,
    split_head,
    split_line,
    without_holes,
)
from voidless.measure.curves.oddities import NAMES_EXPECTED, check_force, unknown_names, without_end_mark
from voidless.measure.curves.sheets import sheet_blocks, specimen_facts
from voidless.measure.curves.units import Column, columns_with_units, geometry
from voidless.measure.curves.words import channel_of
from voidless.measure.files.archive import is_zip, unpack
from voidless.measure.files.labels import stem_of
from voidless.measure.files.sheets import is_spreadsheet, read_sheets
from voidless.measure.files.text import decode

__all__ = ["Curve", "read_curves", "scan_curves"]

Floats = NDArray[np.float64]

GAP_STEPS = 5
"""Longest gap between parts of one record, in steps of its time. [1]"""

NAMES = {
    "force": "force_n",
    "time": "time_s",
    "travel": "travel_mm",
    "extension": "extension_mm",
    "strain": "strain",
    "stress": "stress_mpa",
}
"""Channels by the names under which curves carry them; strain is a plain number."""


@dataclass(frozen=True)
class Curve:
    """
    One specimen's record as the machine wrote it.

    Attributes
    ----------
    name : str
        Name of the file without its ending, with the sheet or a number where it holds several.
    channels : mapping of str to (n,) float array
        `force_n`, `time_s`, `travel_mm` (crosshead), `extension_mm`, `strain` [1], `stress_mpa`.
    units_from : mapping of str to str
        How the unit of each channel is known.
    facts : mapping of str to float
        `section_mm2`, `thickness_mm`, `width_mm`, `gauge_length_mm`, `span_mm`, `speed_mm_min` as stated.
    unitless : tuple of str
        Dimensions that the header states without a unit, as written; they are not used.
    stated : mapping of str to str
        Everything the header states, as written.
    warnings : tuple of str
        What a person should know.
    caption : str
        What stands above the curve's own columns where several specimens lie side by side; empty elsewhere.
    steps : mapping of str to float
        What the last printed digit of each of `facts` stands for. [unit in the name]
    """

    name: str
    channels: Mapping[str, Floats] = field(repr=False)
    units_from: Mapping[str, str] = field(default_factory=dict)
    facts: Mapping[str, float] = field(default_factory=dict)
    unitless: tuple[str, ...] = ()
    stated: Mapping[str, str] = field(default_factory=dict, repr=False)
    warnings: tuple[str, ...] = ()
    caption: str = ""
    steps: Mapping[str, float] = field(default_factory=dict, repr=False)


@dataclass
class _Scan:
    """Curves and questions of one file, while it is read."""

    where: str
    units: Mapping[str, str]
    curves: list[Curve] = field(default_factory=list)
    questions: list[QuestionError] = field(default_factory=list)


def read_curves(data: bytes, name: str, units: Mapping[str, str] | None = None) -> list[Curve]:
    """
    Return the curves that a file holds, forces in N, lengths in mm, times in s.

    Parameters
    ----------
    data : bytes
        Text of any common dialect, xlsx, or either in a zip archive.
    name : str
        Name of the file.
    units : mapping of str to str or None
        Units that a person answers, by column or header label, where the file states none.

    Returns
    -------
    curves : list of Curve
        One a specimen, in the order of the file.

    Raises
    ------
    QuestionError
        The file states no unit for a channel.
    InputError
        The file cannot be read as a curve.
    """
    curves, questions = scan_curves(data, name, units)
    if questions:
        raise questions[0]
    return curves


def scan_curves(
    data: bytes, name: str, units: Mapping[str, str] | None = None
) -> tuple[list[Curve], list[QuestionError]]:
    """
    Return the curves that a file holds and what must be asked before they can be used.

    Parameters
    ----------
    data : bytes
        As in `read_curves`.
    name : str
        Name of the file.
    units : mapping of str to str or None
        Units that a person answers.

    Returns
    -------
    found : (list of Curve, list of QuestionError)
        A channel whose unit is asked for is left out of its curve.

    Raises
    ------
    InputError
        The file cannot be read as a curve.
    """
    if is_zip(data) and not is_spreadsheet(name, data):
        members = [scan_curves(member.data, member.name, units) for member in unpack(name, data)]
        curves = [curve for found, _ in members for curve in found]
        return curves, _unique([question for _, found in members for question in found])
    scan = _Scan(name, units or {})
    if is_zip(data):
        _scan_sheets(scan, data)
    else:
        _scan_text(scan, data)
    if not scan.curves and not scan.questions:
        raise InputError(
            name, f"no {MIN_POINTS} rows of numbers", "a curve with column names", "Check what was exported."
        )
    return scan.curves, _unique(scan.questions)


def _unique(questions: Sequence[QuestionError]) -> list[QuestionError]:
    return list({(question.where, question.option): question for question in questions}.values())


def _scan_text(scan: _Scan, data: bytes) -> None:
    text = decode(scan.where, data)
    blocks = find_blocks(text.lines)
    header: Header | None = None
    delimiter = ""
    for block in blocks:
        delimiter = delimiter_of(block)
        width = len(split_line(block.rows[0], delimiter))
        head = [split_head(line, delimiter) for _, line in block.head]
        found = parse_header(head, width)
        header = (
            found if found.names or header is None else replace(header, facts={**header.facts, **found.facts})
        )
        _take_block(scan, _clocked(header) if block.clock else header, block, delimiter)
    scan.curves = _continued(scan.curves)
    stem = stem_of(scan.where)
    told_apart = len({curve.name for curve in scan.curves}) == len(scan.curves)
    names = [stem if told_apart else f"{stem}#{count}" for count in range(1, len(scan.curves) + 1)]
    scan.curves = [
        replace(curve, name=name + curve.name, warnings=(*text.warnings, *curve.warnings))
        for name, curve in zip(names, scan.curves, strict=True)
    ]


def _clocked(header: Header) -> Header:
    """Return a header whose first column, read as hours, minutes and seconds, is in seconds."""
    if not header.names or channel_of(header.names[0]) not in ("time", ""):
        return header
    return replace(
        header, names=(header.names[0] or "Time", *header.names[1:]), units=("s", *header.units[1:])
    )


def _continued(curves: Sequence[Curve]) -> list[Curve]:
    """Join blocks of one record written in parts: same channels and facts, and time goes on."""
    joined: list[Curve] = []
    for curve in curves:
        if joined and _goes_on(joined[-1], curve):
            parts = joined[-1]
            channels = {
                key: np.concatenate([parts.channels[key], curve.channels[key]]) for key in curve.channels
            }
            words = "rows of numbers in several parts whose time goes on were joined to one record"
            joined[-1] = replace(
                parts, channels=channels, warnings=tuple(dict.fromkeys((*parts.warnings, words)))
            )
        else:
            joined.append(curve)
    return joined


def _goes_on(first: Curve, second: Curve) -> bool:
    same = first.channels.keys() == second.channels.keys() and first.facts == second.facts
    if not same or first.name or second.name or "time_s" not in first.channels:
        return False
    before, after = first.channels["time_s"], second.channels["time_s"]
    gap = float(after[0] - before[-1])
    return 0 < gap <= GAP_STEPS * float(np.median(np.diff(before)))


def _take_block(scan: _Scan, header: Header, block: Block, delimiter: str) -> None:
    where = f"{scan.where}:{block.lines[0]}"
    if not any(channel_of(name) for name in header.names):
        raise InputError(where, f"rows of numbers {unknown_names(block, delimiter)}", *NAMES_EXPECTED)
    named = max(place for place, name in enumerate(header.names, 1) if name)
    check_widths(block, delimiter, named, scan.where)
    wanted = [place for place, name in enumerate(header.names) if channel_of(name)]
    groups = side_by_side([(place, channel_of(header.names[place])) for place in wanted])
    words: tuple[str, ...] = ()
    try:
        found = columns_of(block, delimiter, wanted, scan.where)
        columns = dict(zip(wanted, found.T, strict=True))
        parts = [{place: columns[place] for place in group} for group in groups]
    except InputError:
        parts, words = _each_with_holes(block, delimiter, groups, header, scan.where)
    decimals = {place: _decimals(block, delimiter, place) for place in wanted}
    before = len(scan.curves)
    _take_columns(scan, header, parts, decimals, where)
    scan.curves[before:] = [
        replace(curve, warnings=(*curve.warnings, *words)) for curve in scan.curves[before:]
    ]


def _each_with_holes(
    block: Block, delimiter: str, groups: Sequence[Sequence[int]], header: Header, where: str
) -> tuple[list[dict[int, Floats]], tuple[str, ...]]:
    """Return the columns of each specimen that has readings, and what to say of those missed and of empty places."""
    parts: list[dict[int, Floats]] = []
    missed: set[int] = set()
    words: list[str] = []
    for group in groups:
        own = own_columns(group, groups)
        part = filled_part(block, delimiter, own)
        if not part.rows and len(groups) > 1:
            names = ", ".join(repr(header.names[place]) for place in own)
            words.append(f"columns {names} hold no reading; no specimen is taken from them")
            continue
        found, lines = _with_holes(part if part.rows else block, delimiter, group, where)
        parts.append(found)
        missed.update(lines)
    if missed:
        shown = ", ".join(map(str, sorted(missed)))
        words.append(f"line {shown}: a cell is empty, a missed reading; the row is left out")
    return parts, tuple(words)


def _with_holes(
    part: Block, delimiter: str, group: Sequence[int], where: str
) -> tuple[dict[int, Floats], tuple[int, ...]]:
    """Return one specimen's columns without rows of missed readings, and the lines of these."""
    missed: tuple[int, ...] = ()
    try:
        found = columns_of(part, delimiter, group, where)
    except InputError:
        sound, missed = without_holes(part, delimiter, group)
        if not missed or not sound.rows:  # without a row left, the first bad cell says more
            raise
        found = columns_of(sound, delimiter, group, where)
    return dict(zip(group, found.T, strict=True)), missed


def _decimals(block: Block, delimiter: str, place: int) -> int:
    rows = [split_line(row, delimiter) for row in (*block.rows[:MIN_POINTS], *block.rows[-MIN_POINTS:])]
    cells = [cells[place] for cells in rows if place < len(cells)]
    return max((len(cell.replace(",", ".").partition(".")[2]) for cell in cells), default=0)


def _take_columns(
    scan: _Scan,
    header: Header,
    groups: Sequence[Mapping[int, Floats]],
    decimals: Mapping[int, int],
    where: str,
) -> None:
    """Add one curve per specimen of a block: side by side, one below the other, or told apart by a column."""
    places = [list(group) for group in groups]
    stated = facts_beside(header, [group[0] for group in places]) if len(places) > 1 else [{}]
    for columns, caption, own in zip(groups, captions(header, places), stated, strict=True):
        numbered = [
            Column(header.names[at], channel_of(header.names[at]), header.units[at], values, decimals[at])
            for at, values in columns.items()
        ]
        for part, suffix in _one_each(numbered):
            mine = replace(header, facts={**header.facts, **own})
            _take_curve(scan, mine, part, f"-{caption}{suffix}" if caption else suffix, where)
            scan.curves[-1] = replace(scan.curves[-1], caption=caption)


def _one_each(columns: list[Column]) -> list[tuple[list[Column], str]]:
    specimens = next((column.values for column in columns if column.channel == "specimen"), None)
    if specimens is None:
        return [(columns, "")]
    return [
        ([replace(column, values=column.values[specimens == value]) for column in columns], f"-{value:g}")
        for value in np.unique(specimens)
    ]


def _take_curve(scan: _Scan, header: Header, columns: list[Column], suffix: str, where: str) -> None:
    columns, warnings = without_end_mark(columns, where)
    found = columns_with_units(columns, header, scan.units, where)
    if found.question:
        scan.questions.append(found.question)
    stated = geometry(header, scan.units, where)
    channels = {NAMES[channel]: values for channel, values in found.values.items()}
    check_force(channels, where)
    points = header.facts.get("points")
    if points is not None and points.value != columns[0].values.size:
        warnings.append(f"{where}: {columns[0].values.size} points, the header says {points.value:g}")
    time = channels.get("time_s")
    if time is not None and np.any(np.diff(time) < 0):
        warnings.append(f"{where}: time runs backwards at {int(np.sum(np.diff(time) < 0))} point(s)")
    origin = {NAMES[channel]: words for channel, words in found.origin.items()}
    scan.curves.append(
        Curve(
            suffix,
            channels,
            origin,
            stated.values,
            stated.unitless,
            dict(header.stated),
            (*warnings, *found.warnings),
            steps=stated.steps,
        )
    )


def _scan_sheets(scan: _Scan, data: bytes) -> None:
    sheets = read_sheets(scan.where, data)
    specimens = specimen_facts(sheets)
    for sheet in sheets:
        for found in sheet_blocks(sheet):
            where = f"{scan.where}, sheet {sheet.title}:{found.line}"
            header = parse_header(found.head, found.width)
            wanted = [place for place, name in enumerate(header.names) if channel_of(name)]
            if not wanted:
                continue
            own = [facts for name, facts in specimens.items() if name and name in sheet.title]
            shared = list(specimens.values()) if len(specimens) == 1 and not own else own
            merged = {**(shared[0] if len(shared) == 1 else {}), **header.facts}
            groups = side_by_side([(place, channel_of(header.names[place])) for place in wanted])
            ends = [found.filled(own_columns(group, groups)) if len(groups) > 1 else None for group in groups]
            parts = [
                {place: found.column(place, where, end) for place in group}
                for group, end in zip(groups, ends, strict=True)
            ]
            before = len(scan.curves)
            _take_columns(scan, replace(header, facts=merged), parts, dict.fromkeys(wanted, 15), where)
            scan.curves[before:] = [
                replace(curve, name=f"{stem_of(scan.where)} {sheet.title}{curve.name}")
                for curve in scan.curves[before:]
            ]
