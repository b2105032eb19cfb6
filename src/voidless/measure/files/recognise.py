"""What a file is taken for: by content first, by name second."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import PurePosixPath

from voidless.measure.curves.blocks import find_blocks
from voidless.measure.curves.words import channel_of
from voidless.measure.files.archive import is_zip, member_names
from voidless.measure.files.camera_raw import is_camera_raw
from voidless.measure.files.limits import check_size
from voidless.measure.files.photo import photo_format
from voidless.measure.files.rows import find_header
from voidless.measure.files.sheets import is_spreadsheet
from voidless.measure.files.text import Text, decode, looks_binary
from voidless.measure.images.sheet import is_picture_sheet
from voidless.measure.readers import TABLES
from voidless.measure.results import Kind
from voidless.measure.tables.columns import is_result_table
from voidless.measure.tensile.blocks import is_summary
from voidless.measure.weighing.columns import is_weighings

__all__ = ["CAMERA_RAW", "Taken", "recognise", "table_kind"]

CAMERA_RAW = "a raw file of a camera"

_GCODE = re.compile(r"^[ \t]*(?:N\d+[ \t]*)?(?:G[0-9]+|M[0-9]+|T[0-9])\b", re.MULTILINE)
_GCODE_LINES = 5
_HEAD_CHARS = 200_000
_HALF = 0.5
"""Share of a table's needed columns from which it is named as the nearest. [1] Our choice."""
_BENDING = frozenset({"flex", "flexure", "flexural", "bend", "bending", "iso178", "d790"})


@dataclass(frozen=True)
class Taken:
    """What a file is taken for and by what it was recognised."""

    kind: Kind
    why: str


def recognise(name: str, data: bytes) -> Taken:
    """
    Return what a file is taken for.

    Parameters
    ----------
    name : str
        Name of the file; its ending counts only where the content leaves a choice.
    data : bytes
        Its content.

    Returns
    -------
    taken : Taken
        Kind and reason; `Kind.UNKNOWN` where nothing fits.

    Raises
    ------
    InputError
        The file is empty, too large or damaged.
    """
    check_size(name, len(data))
    if is_camera_raw(name, data):
        return Taken(Kind.PHOTO, CAMERA_RAW)
    if kind := photo_format(data):
        return Taken(Kind.PHOTO, f"begins as {kind}")
    if is_zip(data):
        return _recognise_zip(name, data)
    if data.startswith(b"%PDF"):
        return Taken(Kind.UNKNOWN, "a PDF; export its numbers as CSV")
    if looks_binary(data):
        return Taken(Kind.UNKNOWN, _binary_reason(data))
    return _recognise_text(name, decode(name, data))


def _recognise_zip(name: str, data: bytes) -> Taken:
    if is_spreadsheet(name, data):
        return Taken(Kind.SPREADSHEET, "a workbook (Office Open XML)")
    names = member_names(name, data)
    if any(member.lower().endswith(".model") for member in names):
        return Taken(Kind.UNKNOWN, "a 3D model, not a measurement")
    if "[Content_Types].xml" in names:
        return Taken(Kind.UNKNOWN, "an office document that is no workbook; save the table as xlsx or CSV")
    return Taken(Kind.ARCHIVE, f"a zip archive with {len(names)} member(s)")


def _binary_reason(data: bytes) -> str:
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        return "an old binary office file; save it as xlsx or CSV"
    if data.startswith((b"\x1f\x8b", b"7z\xbc\xaf", b"Rar!")):
        return "packed in a way that is not read; pack it as zip"
    return "binary content of no known kind"


def table_kind(header: tuple[str, ...]) -> Taken | None:
    """
    Return what table column names head.

    Parameters
    ----------
    header : tuple of str
        Normalised column names.

    Returns
    -------
    taken : Taken or None
        None where they head none that is known.
    """
    if not any(cell[:1].isalpha() for cell in header):
        return None  # a row of numbers
    for table in TABLES:
        if table.heads(header):
            return Taken(table.kind, table.why)
    if is_weighings(header):
        return Taken(Kind.WEIGHINGS, "columns of masses")
    if is_result_table(header):
        return Taken(Kind.RESULT_TABLE, "columns of a result table")
    return None


def _table(lines: list[str]) -> Taken | None:
    """Return what table the first lines head, looking at each line once."""
    found: list[Taken] = []

    def judge(header: tuple[str, ...]) -> bool:
        taken = table_kind(header)
        if taken is not None:
            found.append(taken)
        return taken is not None

    find_header(lines, judge)
    return found[0] if found else None


def _holds_forces(lines: list[str]) -> bool:
    """Return whether rows of numbers stand below a line that names a force."""
    heads = (line for block in find_blocks(lines) for _, line in block.head)
    return any(channel_of(cell) == "force" for line in heads for cell in re.split(r"[;,\t|]", line))


def _recognise_text(name: str, text: Text) -> Taken:
    head = text.text[:_HEAD_CHARS]
    lines = head.split("\n")
    if is_picture_sheet(head):
        return Taken(Kind.PICTURE_SHEET, "states a measure of pictures, and its frames")
    if is_summary(head):
        return Taken(Kind.STRENGTH_SUMMARY, "blocks of trials with a maximum force each")
    found = _table(lines)
    # A machine lists the sizes of its specimens above their curves.
    if found and not (found.kind is Kind.SECTIONS and _holds_forces(lines)):
        return found
    moves = len(_GCODE.findall(head))
    if moves >= _GCODE_LINES or (
        moves and PurePosixPath(name).suffix.lower() in {".gcode", ".gco", ".g", ".nc"}
    ):
        return Taken(Kind.GCODE, "lines of machine commands")
    if find_blocks(lines):
        bent = _BENDING & set(re.split(r"[^0-9a-z]+", PurePosixPath(name).name.lower()))
        if bent:
            return Taken(Kind.FLEXURE_CURVE, f"rows of numbers, and {min(bent)!r} in the name")
        return Taken(Kind.MACHINE_CURVE, "rows of numbers below column names")
    return Taken(Kind.UNKNOWN, f"neither a result table nor rows of numbers{_nearest(lines)}")


def _nearest(lines: list[str]) -> str:
    """Return words on the table whose columns come nearest to a line's, empty where none is half there."""
    found: list[tuple[float, str]] = [(_HALF, "")]

    def judge(header: tuple[str, ...]) -> bool:
        if any(cell.startswith(("mass_air", "mass_water")) for cell in header):
            found.append((1.0, "; nearest to weighings, whose columns are mass_air_g and mass_water_g, in g"))
        for table in TABLES:
            layout = table.layout
            share, missing = layout.lacks(header) if layout is not None and len(header) > 1 else (0.0, ())
            if layout is not None and missing and share > found[-1][0]:
                lacking, columns = ", ".join(missing), layout.expected
                found.append(
                    (share, f"; nearest to a table of {table.kind.value} ({columns}), without {lacking}")
                )
        return False

    find_header(lines, judge)
    return found[-1][1]
