"""
TOML that people write: read with a size limit, and with the line of every key for error messages.

A `Document` is a table of such a file together with the places of its keys; `section` narrows it.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from voidless.errors import InputError
from voidless.quantities import suggest

__all__ = [
    "LARGEST_FILE",
    "Document",
    "finite",
    "known_keys",
    "merged",
    "parse_document",
    "read_document",
    "typed",
]

LARGEST_FILE = 1_000_000
"""Largest file that is read. [byte]"""
LONGEST_LINE = 4_000
"""Longest line that is read; the parser's time grows with the square of it. [character]"""
_SHOWN = 60  # characters of a wrong value that an error repeats
DEEPEST_TABLE = 24
"""Deepest nesting that is read; the program's own files need 4."""

_KEY = r"""(?:[A-Za-z0-9_-]+|"[^"\\]*"|'[^']*')"""
_DOTTED = rf"{_KEY}(?:[ \t]*\.[ \t]*{_KEY})*"
_HEADER = re.compile(rf"^[ \t]*\[\[?[ \t]*({_DOTTED})[ \t]*\]\]?")
_ENTRY = re.compile(rf"^[ \t]*({_DOTTED})[ \t]*=")
_AT = re.compile(r"\(at (?:line (\d+), column (\d+)|end of document)\)")

Key = tuple[str, ...]


@dataclass(frozen=True)
class Document:
    """
    A table of a TOML file and where its keys stand.

    Attributes
    ----------
    where : str
        Name of the file, as errors print it.
    data : mapping
        The table.
    lines : mapping of tuple to int
        Line of each key of the whole file, counted from 1; empty when the table came from code.
    prefix : tuple of str
        Path of `data` within the file.
    """

    where: str
    data: Mapping[str, Any]
    lines: Mapping[Key, int] = field(default_factory=dict)
    prefix: Key = ()

    def section(self, *path: str) -> Document:
        """
        Return the table at a path below this one; an absent one is empty.

        Raises
        ------
        InputError
            What stands at the path is not a table.
        """
        data: Any = self.data
        for depth, key in enumerate(path, start=1):
            data = data.get(key, {})
            if not isinstance(data, Mapping):
                name = ".".join((*self.prefix, *path[:depth]))
                raise InputError(
                    self.place(*path[:depth]), f"{name} is a single value", "a table", f"Write [{name}]."
                )
        return Document(self.where, data, self.lines, (*self.prefix, *path))

    def place(self, *path: str) -> str:
        """Return `file:line` of a key, or of the nearest table around it whose line is known."""
        whole = (*self.prefix, *path)
        for length in range(len(whole), 0, -1):
            if whole[:length] in self.lines:
                return f"{self.where}:{self.lines[whole[:length]]}"
        return self.where


def merged(base: Mapping[str, Any], over: Mapping[str, Any]) -> dict[str, Any]:
    """Return `base` with the entries of `over` put over it, table by table; neither is changed."""
    result = dict(base)
    for key, value in over.items():
        below = result.get(key)
        both = isinstance(below, Mapping) and isinstance(value, Mapping)
        result[key] = merged(below, value) if both and isinstance(below, Mapping) else value
    return result


def known_keys(table: Document, known: tuple[str, ...], below: Mapping[str, str] | None = None) -> None:
    """
    Check that a table holds known keys only.

    Parameters
    ----------
    table : Document
        What is checked.
    known : tuple of str
        Its keys.
    below : mapping or None
        Keys of tables in it that may have been written a level too high, with the name of that table.

    Raises
    ------
    InputError
        A key is not known; the table that it belongs to is named, or the nearest known one suggested.
    """
    for key in table.data:
        if key not in known:
            expected = "one of " + ", ".join(known)
            home = (below or {}).get(key)
            remedy = f"It belongs into the table `{home}`." if home else suggest(key, known)
            raise InputError(table.place(key), f"{key!r} is not a key here", expected, remedy)


def finite(value: Any, table: Document, *path: str) -> float:
    """
    Return a value of a table as a number.

    Raises
    ------
    InputError
        It is not a number, or not finite.
    """
    number = value if isinstance(value, int | float) and not isinstance(value, bool) else math.nan
    try:
        number = float(number)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise _wrong(value, "a finite number", table, path)
    return number


def typed(value: Any, kind: type, words: str, table: Document, *path: str) -> Any:
    """
    Return a value of a table if it is of a kind.

    Raises
    ------
    InputError
        It is of another kind; `words` say what was expected.
    """
    if not isinstance(value, kind):
        raise _wrong(value, words, table, path)
    return value


def _wrong(value: Any, words: str, table: Document, path: Key) -> InputError:
    name = ".".join((*table.prefix, *path))
    shown = repr(value) if isinstance(value, str) else str(value)  # "0.8" is a text, 0.8 a number
    what = f"{name} is missing" if value is None else f"{name} = {shown[:_SHOWN]}"
    return InputError(table.place(*path), what, words, "Correct the value.")


def read_document(path: Path, where: str | None = None) -> Document:
    """
    Return the table of a TOML file.

    Raises
    ------
    InputError
        The file is missing, too large, not UTF-8 or not TOML.
    """
    where = where or path.name
    if not path.is_file():  # a pipe or a device would keep the reader waiting
        raise InputError(where, "is not there, or is no file", "a readable file", "Check its name.")
    try:
        size = path.stat().st_size
        content = path.read_bytes() if size <= LARGEST_FILE else b""
    except OSError as fault:
        why = fault.strerror or type(fault).__name__
        raise InputError(where, f"cannot be read ({why})", "a readable file", "Check its name.") from fault
    if size > LARGEST_FILE:
        raise _too_large(where, size)
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError as fault:
        line = content[: fault.start].count(b"\n") + 1
        raise InputError(
            f"{where}:{line}",
            f"byte {content[fault.start]:#04x} is not UTF-8 text",
            "UTF-8",
            "Save the file as UTF-8.",
        ) from fault
    return parse_document(text, where)


def parse_document(text: str, where: str) -> Document:
    """
    Return the table that a TOML text holds.

    Raises
    ------
    InputError
        The text is too large, nested too deeply or not TOML; `where` names the line.
    """
    text = text.removeprefix("\ufeff")
    if len(text) > LARGEST_FILE:
        raise _too_large(where, len(text))
    rows = text.split("\n")
    for number, row in enumerate(rows, start=1):
        if len(row) > LONGEST_LINE:
            what = f"a line of {len(row)} characters"
            raise InputError(f"{where}:{number}", what, f"at most {LONGEST_LINE}", "Break the line.")
        if row.count(".") > DEEPEST_TABLE and _too_deep(row):
            raise _nested(f"{where}:{number}")
    try:
        data = tomllib.loads(text)
    except RecursionError as fault:
        raise _nested(where) from fault
    except ValueError as fault:  # tomllib lets faults of numbers and dates through as plain ValueError
        raise _not_toml(fault, where, len(rows)) from fault
    _check_depth(data, where)
    return Document(where, data, _lines(rows))


def _not_toml(fault: ValueError, where: str, last: int) -> InputError:
    message = str(fault)
    at = _AT.search(message)
    if at is None:
        place = where
    elif at[1]:
        place = f"{where}:{at[1]}"
        message = f"{message[: at.start()]}(column {at[2]})"
    else:
        place = f"{where}:{last}"
        message = f"{message[: at.start()]}(end of the file)"
    return InputError(place, message, "TOML in which every key stands once", "Correct this line.")


def _check_depth(data: Mapping[str, Any], where: str) -> None:
    level: list[Any] = [data]
    for _ in range(DEEPEST_TABLE):
        level = [
            below
            for item in level
            for below in (item.values() if isinstance(item, dict) else item)
            if isinstance(below, dict | list)
        ]
        if not level:
            return
    raise _nested(where)


def _too_large(where: str, size: int) -> InputError:
    return InputError(where, f"{size} bytes", f"at most {LARGEST_FILE} bytes", "Is this the right file?")


def _nested(where: str) -> InputError:
    return InputError(where, "tables nested too deeply", f"at most {DEEPEST_TABLE} levels", "Flatten them.")


def _too_deep(row: str) -> bool:
    return any(len(_split(key[0])) > DEEPEST_TABLE for key in re.finditer(_DOTTED, row))


def _lines(rows: list[str]) -> dict[Key, int]:
    """Return the line of each key by scanning the text; best effort, since it only serves messages."""
    found: dict[Key, int] = {}
    header: Key = ()
    inside: str | None = None
    for number, row in enumerate(rows, start=1):
        if inside is None:
            entry = _HEADER.match(row)
            if entry:
                header = path = _split(entry[1])
            else:
                entry = _ENTRY.match(row)
                path = (*header, *_split(entry[1])) if entry else ()
            for length in range(1, len(path) + 1):
                found.setdefault(path[:length], number)
        for mark in ('"""', "'''"):
            if inside in (None, mark) and row.count(mark) % 2:
                inside = None if inside else mark
                break
    return found


def _split(dotted: str) -> Key:
    return tuple(part.strip("\"'") for part in re.findall(_KEY, dotted))
