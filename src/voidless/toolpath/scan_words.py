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

from voidless.compiling import njit
from voidless.toolpath.dialect import COMMANDS, HARMLESS
from voidless.toolpath.scan_state import LONGEST_LINE

__all__ = [
    "BY_WORDS",
    "CODES",
    "FAST",
    "NOTHING",
    "M",
    "U",
    "bits",
    "letter_of",
    "roles",
    "split_lines",
]

CODES = 1000
M = CODES
WORDS, STRAIGHT, ARC, MODE, SET, FAN, RATE, NOZZLE, BED, FACTOR, PASS, COUNT = range(12)
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
    "M220": FACTOR,
    "M221": FACTOR,
    **dict.fromkeys(HARMLESS, PASS),
}


def roles() -> Any:
    """Return what the scanner does with each command, `(2000,)`: G words by number, M words from `M` on."""
    found = np.full(2 * CODES, COUNT, dtype=np.int8)
    for name in (*COMMANDS, *HARMLESS):
        if name[1:].isdigit():
            found[M * (name[0] == "M") + int(name[1:])] = _OWN.get(name, WORDS)
    return found


NOTHING, BY_WORDS = -1, -2
"""In place of a command: the line names none; the line is for the reader by words."""

FAST: dict[str, Any] = {"cache": True, "nogil": True, "error_model": "numpy"}
U = np.uint64
"""Places are cast to it where they index: unsigned numbers need no test for counting from the end."""

_TEN = U(10)
_POINT, _SPACE = ord(".") - ord("0"), ord(" ") - ord("0")
"""A sign less 0 is a digit where, taken without its sign, it is below ten: one comparison."""
_POWERS = 10.0 ** np.arange(16)
_MOST_DIGITS = 15
_LARGEST = 1e9


def letter_of(sign: str) -> int:
    """Return the number of a letter, from 0."""
    return ord(sign) - ord("A")


def bits(letters: str) -> int:
    """Return the bits that stand for letters."""
    return sum(1 << letter_of(letter) for letter in letters)


_OF_LINE = bits("XYZEF")
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
def _after_words(data, place):
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


@njit(**FAST)
def _after_bracket(data, place):
    """Return the place after a comment in brackets, -1 if it does not end before anything else begins."""
    sign = data[U(place)]  # the opening one
    while sign != 41:
        place += 1
        sign = data[U(place)]
        if sign == 10 or sign == 13 or sign == 40 or sign == 59 or sign == 42 or sign == 0:
            return -1
    return place + 1


@njit(**FAST)
def _line_end(data, place):
    """Return the place after a line, whatever stands in it."""
    while True:
        sign = data[U(place)]
        place += 1
        if sign == 10 or (sign == 13 and data[U(place)] != 10):
            return place


@njit(**FAST)
def split_lines(data, place, end, roles, after, letters, commands, moved, rest, values):
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
    after, letters, commands : (capacity,) int arrays
        Filled line by line: the place after it, the bits of the letters found, the command, `NOTHING` or `BY_WORDS`.
    moved : (capacity, 5) float array
        Filled with the numbers after X, Y, Z, E and F, where they stand.
    rest : (capacity,) int array
        Filled with the row of `values` that holds all numbers of the line, -1 where `moved` does.
    values : (rare, 26) float array
        Filled with numbers by letter, for lines that are no straight moves.

    Returns
    -------
    lines : int
        Lines that were split: all, or as many as there is room for.
    place : int
        First byte that is left.

    Notes
    -----
    One body: a call that takes arrays counts references to them, which costs as much as half of a line.
    """
    value = np.zeros(26)
    line, rare = 0, 0
    while place < end and line < len(after) and rare < len(values):
        start, behind = place, -1  # by words, unless the end of the line is reached
        seen, command, numbered = 0, NOTHING, False
        while True:
            sign = data[U(place)]
            letter = (sign | 32) - 97
            if letter < 0 or letter > 25 or sign < 65:
                if sign == 32 or sign == 9:
                    place += 1
                    continue
                if sign == 40:
                    place = _after_bracket(data, place)
                    if place > 0:
                        continue
                elif sign == 10:
                    behind = place + 1
                elif sign == 59:
                    behind = _skip_line(data, place)
                elif sign == 13:
                    behind = place + (2 if data[U(place + 1)] == 10 else 1)
                elif sign == 42:
                    behind = _after_checksum(data, start, place)
                break
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
            first, mantissa, decimals = place, np.int64(0), 0
            digit = np.int64(sign) - 48
            while U(digit) < _TEN:
                mantissa = mantissa * 10 + digit
                place += 1
                digit = np.int64(data[U(place)]) - 48
            digits = place - first
            named = letter == L_G or letter == L_M
            if digit == _POINT:
                if named or letter == L_N:
                    break
                place += 1
                first = place
                digit = np.int64(data[U(place)]) - 48
                while U(digit) < _TEN:
                    mantissa = mantissa * 10 + digit
                    place += 1
                    digit = np.int64(data[U(place)]) - 48
                decimals = place - first
                digits += decimals
            if digits == 0 or digits > _MOST_DIGITS:
                break
            if named:
                if command >= 0 or seen != 0 or signed or mantissa >= CODES:
                    break
                command = int(mantissa) + (M if letter == L_M else 0)
                role = roles[command]
                if role == WORDS:
                    break
                if role == COUNT and letter == L_M:  # text may follow
                    behind = _after_words(data, place)
                    break
                continue
            if letter == L_N and command < 0 and seen == 0 and not numbered and not signed:
                numbered = True
                continue
            number = mantissa / _POWERS[decimals]
            if number >= _LARGEST:
                break
            value[letter] = -number if negative else number
            seen |= 1 << letter
            if digit == _SPACE:
                place += 1
        if behind < 0 or behind - start > LONGEST_LINE:
            behind, seen, command = _line_end(data, start), 0, BY_WORDS
        row = U(line)
        after[row], letters[row], commands[row], rest[row] = behind, seen, command, -1
        moved[row, 0], moved[row, 1], moved[row, 2] = value[L_X], value[L_Y], value[L_Z]
        moved[row, 3], moved[row, 4] = value[L_E], value[L_F]
        if seen & ~_OF_LINE or (command >= 0 and roles[command] != STRAIGHT):
            rest[row] = rare
            for index in range(26):
                values[rare, index] = value[index]
            rare += 1
        place = behind
        line += 1
    return line, place
