"""One line of G-code as words (RS-274 / ISO 6983): a letter and a number each."""

from __future__ import annotations

import re
from typing import NamedTuple

from voidless.errors import InputError

__all__ = ["Word", "checksum_holds", "split_words", "strip_line"]

# E is a word, never an exponent: `y98.563e0.21253` are two words.
_WORD = re.compile(r"\s*([A-Za-z])\s*([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)?)")
_LARGEST = 1e9
"""No length, speed or temperature of a machine comes near; larger numbers are faults of the file."""
_NUMBERED = re.compile(r"\s*[Nn]\s*[0-9]+\s*")


class Word(NamedTuple):
    """A letter in upper case and its number; None where only the letter stands. `column` counts from 1."""

    letter: str
    value: float | None
    column: int


def _without_comments(line: str) -> str:
    """Return a line with blanks for comments in parentheses, which may nest, and cut at a semicolon outside of them."""
    if "(" not in line:
        return line.partition(";")[0]
    shown, depth = [], 0
    for sign in line:
        if sign == ";" and not depth:
            break
        depth += sign == "("
        shown.append(" " if depth else sign)
        depth -= sign == ")" and depth > 0
    return "".join(shown)


def checksum_holds(line: str) -> bool:
    """Return whether the checksum after `*`, if there is one, is the exclusive or of the bytes before it."""
    text, star, stated = _without_comments(line).partition("*")
    total = 0
    for byte in line[: len(text)].encode("latin-1", errors="replace"):
        total ^= byte
    digits = stated.strip()
    return not star or (digits.isdigit() and int(digits) == total)


def strip_line(line: str) -> str:
    """Return a line without comments, checksum and line number; columns stay where they were."""
    text = _without_comments(line).partition("*")[0].rstrip()
    numbered = _NUMBERED.match(text) if text[:1] in " \tNn" else None
    return " " * numbered.end() + text[numbered.end() :] if numbered else text


def split_words(text: str, where: str, first_only: bool = False) -> list[Word]:
    """
    Return the words of a stripped line.

    Parameters
    ----------
    text : str
        What `strip_line` returned.
    where : str
        File and line that an error names.
    first_only : bool
        Whether to stop after the first word.

    Raises
    ------
    InputError
        Something on the line is neither a word nor a space; the error names the column.
    """
    words: list[Word] = []
    place, end = 0, len(text)
    while place < end:
        found = _WORD.match(text, place)
        if found is None:
            if text[place:].isspace():
                break
            raise _malformed(text, place, where)
        letter, number = found.groups()
        try:
            value = float(number) if number else None
        except ValueError:  # a sign alone
            raise _malformed(text, found.start(2), where) from None
        if value is not None and not abs(value) < _LARGEST:
            raise _malformed(text, found.start(2), where)
        words.append(Word(letter.upper(), value, found.start(1) + 1))
        if first_only:
            break
        place = found.end()
    return words


def _malformed(text: str, place: int, where: str) -> InputError:
    place += len(text[place:]) - len(text[place:].lstrip())
    shown = text[place:].split()[0][:30]
    return InputError(
        f"{where}:{place + 1}", f"{shown!r} is not a number", "a decimal number", "Correct the file there."
    )
