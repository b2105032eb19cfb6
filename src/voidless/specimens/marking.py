"""A number sunk into a specimen or raised on it, outside of its gauge and of the faces that are measured."""

from __future__ import annotations

from dataclasses import replace

from voidless.errors import InputError
from voidless.specimens.kind import MarkPlace, SpecimenKind
from voidless.specimens.stack import Stack, box

__all__ = ["DEPTH_MM", "LEAST_DOT_MM", "fits", "marked"]

DEPTH_MM = 0.4
"""How deep numbers are sunk, or how far they stand out. [mm] This project's own choice."""
LEAST_DOT_MM = 0.5
"""Smallest dot that can still be read on a print. [mm] This project's own choice, some nozzle diameter."""
_MOST_DOT_MM = 1.2

_SIGNS = {
    "0": ("###", "#.#", "#.#", "#.#", "###"),
    "1": (".#.", "##.", ".#.", ".#.", "###"),
    "2": ("##.", "..#", ".#.", "#..", "###"),
    "3": ("##.", "..#", ".#.", "..#", "##."),
    "4": ("#.#", "#.#", "###", "..#", "..#"),
    "5": ("###", "#..", "##.", "..#", "##."),
    "6": (".##", "#..", "###", "#.#", "###"),
    "7": ("###", "..#", ".#.", ".#.", ".#."),
    "8": ("###", "#.#", ".#.", "#.#", "###"),
    "9": ("###", "#.#", "###", "..#", "##."),
    "-": ("...", "...", "###", "...", "..."),
}
"""Digits as dots, three wide and five high."""

Rectangle = tuple[float, float, float, float]


def _sinkable(text: str) -> bool:
    return not set(text) - set(_SIGNS) and any(sign.isdigit() for sign in text)


def _rows(text: str) -> list[list[str]]:
    """Return the ways to set a text: in one row, or one row for each group between hyphens."""
    groups = [group for group in text.split("-") if group]
    return [[text], groups] if len(groups) > 1 else [[text]]


def _dot(rows: list[str], place: MarkPlace) -> float:
    """Return the largest dot at which rows of text fit, a dot between signs and rows. [mm]"""
    wide = 4 * max(len(row) for row in rows) - 1
    high = 6 * len(rows) - 1
    return min(place.size_mm[0] / wide, place.size_mm[1] / high, _MOST_DOT_MM)


def _best(text: str, place: MarkPlace) -> tuple[float, list[str]]:
    return max(((_dot(rows, place), rows) for rows in _rows(text)), key=lambda found: found[0])


def fits(kind: SpecimenKind, text: str) -> bool:
    """Return whether a kind has a place at which a text can be read; a text that cannot be sunk fits nowhere."""
    return _sinkable(text) and any(_best(text, place)[0] >= LEAST_DOT_MM for place in kind.mark_places)


def _runs(rows: list[str], dot: float) -> list[Rectangle]:
    """Return the dots of rows, joined along each line, as left, right, bottom, top about the middle. [mm]"""
    high = 6 * len(rows) - 1
    found = []
    for number, row in enumerate(rows):
        wide = 4 * len(row) - 1
        for line in range(5):
            dots = ".".join(_SIGNS[sign][line] for sign in row) + "."
            top = (high / 2.0 - 6 * number - line) * dot
            start = None
            for column, sign in enumerate(dots):
                if sign == "#" and start is None:
                    start = column
                if sign == "." and start is not None:
                    found.append(((start - wide / 2.0) * dot, (column - wide / 2.0) * dot, top - dot, top))
                    start = None
    return found


def _bodies(place: MarkPlace, runs: list[Rectangle], depth: float, raised: bool) -> tuple[Stack, ...]:
    x, y, z = place.centre_mm
    if place.face == "front":
        return tuple(box((x + a, x + b), (y, y + depth), (z + c, z + d)) for a, b, c, d in runs)
    heights = (z, z + depth) if raised else (z - depth, z)
    return tuple(box((x + a, x + b), (y + c, y + d), heights) for a, b, c, d in runs)


def marked(kind: SpecimenKind, text: str, raised: bool = False, depth_mm: float = DEPTH_MM) -> SpecimenKind:
    """
    Return a specimen that carries a number.

    Parameters
    ----------
    kind : SpecimenKind
        What is marked.
    text : str
        Digits, and hyphens between groups of them, such as `7-3` for the third specimen of build 7.
    raised : bool
        Whether the number stands out, which few places allow; else it is sunk.
    depth_mm : float
        How far. On a face that looks up it comes out in whole layers. [mm]

    Returns
    -------
    kind : SpecimenKind
        With more holes, or more bodies; gauge, features and sections for reduction are the same.

    Raises
    ------
    InputError
        The text has other signs, or the kind has no place at which it can be read.
    """
    if not _sinkable(text):
        raise InputError(kind.name, f"mark {text!r}", "digits and hyphens", "Use numbers.")
    if not 0.0 < depth_mm <= 1.0:
        raise InputError(kind.name, f"mark of {depth_mm} mm depth", "above 0, at most 1 mm", "")
    places = [place for place in kind.mark_places if place.raised or not raised]
    for place in places:
        dot, rows = _best(text, place)
        if dot >= LEAST_DOT_MM:
            strokes = _bodies(place, _runs(rows, dot), depth_mm, raised)
            if raised:
                return replace(kind, bodies=(*kind.bodies, *strokes))
            return replace(kind, holes=(*kind.holes, *strokes))
    way = "raised" if raised else "sunk"
    raise InputError(
        kind.name,
        f"no place for the {way} mark {text!r}",
        f"room for dots of {LEAST_DOT_MM} mm outside of gauge and measured faces",
        "Write on the specimen by hand, or shorten the mark.",
    )
