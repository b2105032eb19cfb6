"""
The first half of the compiled byte scanner: bytes -> a table of lines, without knowing what the machine does.

It runs in a thread of its own, ahead of the half that carries the lines out (`scan_kernel`). A line that it does not
know, and everything doubtful, it leaves to the reader by words (`dialect.obey`), which is the one place that
says what is wrong with a file.
"""

# mypy: disable-error-code="no-untyped-def, untyped-decorator, no-untyped-call, misc"
# ruff: noqa: C901, SIM109 - compiled loops: one body each, and no tuples where two comparisons do

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

from voidless.toolpath.dialect import COMMANDS, HARMLESS
from voidless.toolpath.scan_state import LONGEST_LINE

__all__ = [
    "BY_WORDS",
    "CODES",
    "FAST",
    "NOTHING",
    "M",
    "U",
    "letter_of",
    "read_words",
    "roles",
    "split_lines",
]

CODES = 1000
M = CODES
WORDS, STRAIGHT, ARC, MODE, SET, FAN, RATE, NOZZLE, BED, COUNT = range(10)
_OWN = {
    "G0": STRAIGHT,
    "G1": STRAIGHT,
    "G2": ARC,
    "G3": ARC,
    "G92": SET,
    "M106": FAN,
    "M107": FAN,
    **dict.fromkeys(("G20", "G21", "G90", "G91", "M82", "M83"), MODE),
    "M204": RATE,
    "M104": NOZZLE,
    "M109": NOZZLE,
    "M140": BED,
    "M190": BED,
}


def roles() -> Any:
    """Return what the scanner does with each command, `(2000,)`: G words by number, M words from `M` on."""
    found = np.full(2 * CODES, WORDS, dtype=np.int8)
    found[M:] = COUNT
    for name in (*COMMANDS, *HARMLESS):
        if name[1:].isdigit():
            found[M * (name[0] == "M") + int(name[1:])] = _OWN.get(name, WORDS)
    return found


NOTHING, BY_WORDS = -1, -2
"""In place of a command: the line names none; the line is for the reader by words."""

FAST: dict[str, Any] = {"cache": True, "nogil": True, "error_model": "numpy"}
U = np.uint64
"""Places are cast to it where they index: unsigned numbers need no test for counting from the end."""

_POWERS = 10.0 ** np.arange(16)
_MOST_DIGITS = 15
_LARGEST = 1e9


def letter_of(sign: str) -> int:
    """Return the number of a letter, from 0."""
    return ord(sign) - ord("A")


L_E, L_F, L_G, L_M, L_N, L_X, L_Y, L_Z = map(letter_of, "EFGMNXYZ")


@njit(**FAST)
def _skip_line(data, place):
    """Return the place after the line, -1 if a NUL lies on the way."""
    while True:
        sign = data[U(place)]
        place += 1
        if sign == 10:
            return place
        if sign == 0:
            return -1
        if sign == 13 and data[U(place)] != 10:
            return place


@njit(**FAST)
def _skipread_words(data, place):
    """Return the place after a line whose words nobody reads, -1 if a NUL or a checksum stands in it."""
    while data[U(place)] != 59:
        if data[U(place)] == 42:
            return -1
        if data[U(place)] == 10 or data[U(place)] == 13 or data[U(place)] == 0:
            break
        place += 1
    return _skip_line(data, place)


@njit(**FAST)
def _after_checksum(data, start, star):
    """Return the place after a line whose checksum holds, -1 if it does not or anything else follows."""
    total = np.uint8(0)
    for place in range(start, star):
        total ^= data[U(place)]
    place = star + 1
    stated, digits = 0, 0
    while 48 <= data[U(place)] <= 57 and digits < 4:
        stated = 10 * stated + (data[U(place)] - 48)
        digits += 1
        place += 1
    if digits == 0 or stated != total:
        return -1
    while data[U(place)] == 32 or data[U(place)] == 9:
        place += 1
    if data[U(place)] == 59 or data[U(place)] == 10 or data[U(place)] == 13:
        return _skip_line(data, place)
    return -1


@njit(**FAST, inline="always")
def read_words(data, start, roles, value):
    """
    Read one line of words into `value`, by letter.

    Returns the place after the line (-1: by words), the bits of the letters found, the command (-1: none).
    """
    place, seen, command = start, 0, -1
    numbered = False
    while True:
        sign = data[U(place)]
        letter = (sign | 32) - 97
        if letter < 0 or letter > 25 or sign < 65:
            if sign == 32 or sign == 9:
                place += 1
                continue
            if sign == 10:
                return place + 1, seen, command
            if sign == 59:
                return _skip_line(data, place), seen, command
            if sign == 13:
                return place + (2 if data[U(place + 1)] == 10 else 1), seen, command
            if sign == 42:
                return _after_checksum(data, start, place), seen, command
            if sign != 40:
                return -1, 0, -1
            while sign != 41:
                place += 1
                sign = data[U(place)]
                if sign == 10 or sign == 13 or sign == 59 or sign == 42 or sign == 0:
                    return -1, 0, -1
            place += 1
            continue
        place += 1
        sign = data[U(place)]
        while sign == 32 or sign == 9:
            place += 1
            sign = data[U(place)]
        negative = sign == 45
        signed = negative or sign == 43
        if signed:
            place += 1
            sign = data[U(place)]
        mantissa, digits, decimals = np.int64(0), 0, 0
        while 48 <= sign <= 57:
            mantissa = mantissa * 10 + (sign - 48)
            digits += 1
            place += 1
            sign = data[U(place)]
        if sign == 46:
            place += 1
            sign = data[U(place)]
            while 48 <= sign <= 57:
                mantissa = mantissa * 10 + (sign - 48)
                decimals += 1
                place += 1
                sign = data[U(place)]
            digits += decimals
            if letter == L_N or letter == L_G or letter == L_M:
                return -1, 0, -1
        if digits == 0 or digits > _MOST_DIGITS:
            return -1, 0, -1
        if letter == L_G or letter == L_M:
            if command >= 0 or seen != 0 or signed or mantissa >= CODES:
                return -1, 0, -1
            command = int(mantissa) + (M if letter == L_M else 0)
            role = roles[command]
            if role == WORDS:
                return -1, 0, -1
            if role == COUNT:
                return _skipread_words(data, place), 0, command
            continue
        if letter == L_N and command < 0 and seen == 0 and not numbered and not signed:
            numbered = True
            continue
        number = mantissa / _POWERS[decimals]
        if number >= _LARGEST:
            return -1, 0, -1
        value[letter] = -number if negative else number
        seen |= 1 << letter
        if sign == 32:
            place += 1


@njit(**FAST)
def _line_end(data, place):
    """Return the place after a line, whatever stands in it."""
    while True:
        sign = data[U(place)]
        place += 1
        if sign == 10 or (sign == 13 and data[U(place)] != 10):
            return place


@njit(**FAST)
def split_lines(data, place, end, roles, after, seen, command, moved):
    """
    Split `data[place:end]`, which ends with a line's end, into lines; one more byte must be readable.

    Parameters
    ----------
    data : (m,) uint8 array
        Bytes of the file.
    place, end : int
        First byte, and the one after the last.
    roles : (2000,) int array
        What `roles` returned.
    after, seen, command : (capacity,) int arrays
        Filled line by line: the place after it, the bits of the letters found, the command, `NOTHING` or `BY_WORDS`.
    moved : (capacity, 5) float array
        Filled with the numbers after X, Y, Z, E and F, where they stand.

    Returns
    -------
    lines : int
        Lines that were split: all, or as many as there is room for.
    place : int
        First byte that is left.
    """
    value = np.zeros(26)
    line, room = 0, len(after)
    while place < end and line < room:
        behind, letters, what = read_words(data, place, roles, value)
        if behind < 0 or behind - place > LONGEST_LINE:
            behind, letters, what = _line_end(data, place), 0, BY_WORDS
        row = U(line)
        after[row], seen[row], command[row] = behind, letters, what
        moved[row, 0], moved[row, 1], moved[row, 2] = value[L_X], value[L_Y], value[L_Z]
        moved[row, 3], moved[row, 4] = value[L_E], value[L_F]
        place = behind
        line += 1
    return line, place
