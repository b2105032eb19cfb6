"""Labels of runs and builds: a letter and a number of two digits or more, never reused."""

from __future__ import annotations

import re

from voidless.errors import InputError

__all__ = ["BUILD", "RUN", "canonical_label", "label_of", "number_of"]

RUN = "R"
BUILD = "B"

_NUMBERED = re.compile(r"([A-Za-z])0*([1-9][0-9]{0,8})", re.ASCII)
_LONGEST = 64


def label_of(letter: str, number: int) -> str:
    """
    Return the label of a number.

    Examples
    --------
    >>> label_of(RUN, 7), label_of(RUN, 100)
    ('R07', 'R100')
    """
    return f"{letter}{number:02d}"


def number_of(label: str, letter: str) -> int | None:
    """
    Return the number that a label carries; None for a label of the user's own kind.

    Examples
    --------
    >>> number_of("b7", BUILD), number_of("left-2", BUILD)
    (7, None)
    """
    found = _NUMBERED.fullmatch(label.strip())
    if found is None or found[1].upper() != letter:
        return None
    return int(found[2])


def canonical_label(label: str, letter: str) -> str:
    """
    Return the one spelling of a label, so that `b7`, `B7` and `B07` are the same build.

    Raises
    ------
    InputError
        The label is empty, longer than 64 characters or holds a control character.

    Examples
    --------
    >>> canonical_label(" b7", BUILD)
    'B07'
    """
    text = label.strip()
    if not text or len(text) > _LONGEST or not text.isprintable():
        raise InputError(
            "label",
            f"{text[:80]!r} cannot be the label of a run or build",
            f"1 to {_LONGEST} printable characters, such as {label_of(letter, 1)}",
            "Correct the label.",
        )
    number = number_of(text, letter)
    return text if number is None else label_of(letter, number)
