"""Specimens side by side in one block: which columns belong to which, and what stands above each."""

from __future__ import annotations

from collections.abc import Sequence

from voidless.measure.curves.header import Header
from voidless.measure.curves.words import channel_of
from voidless.measure.files.rows import number

__all__ = ["captions", "own_columns", "side_by_side"]


def side_by_side(places: list[tuple[int, str]]) -> list[list[int]]:
    """
    Return groups of columns, one a specimen.

    Parameters
    ----------
    places : list of (int, str)
        Place and channel of each column that is read.

    Returns
    -------
    groups : list of list of int
        A pattern of channels that repeats is one specimen each time; a clock may be shared.
    """
    shared = [
        (place, channel)
        for place, channel in places
        if channel in ("time", "point") and sum(other == channel for _, other in places) == 1
    ]
    whole, places = [place for place, _ in places], [one for one in places if one not in shared]
    channels = [channel for _, channel in places]
    for width in range(2, len(channels) // 2 + 1):
        if (
            len(channels) % width == 0
            and channels == channels[:width] * (len(channels) // width)
            and "force" in channels[:width]
        ):
            numbers, clock = [place for place, _ in places], [place for place, _ in shared]
            return [numbers[start : start + width] + clock for start in range(0, len(numbers), width)]
    return [whole]


def own_columns(group: Sequence[int], groups: Sequence[Sequence[int]]) -> list[int]:
    """
    Return the columns of a specimen that it shares with no other.

    Parameters
    ----------
    group : sequence of int
        Places of its columns.
    groups : sequence of sequence of int
        Those of all specimens.

    Returns
    -------
    own : list of int
        Places, in their order.
    """
    return [place for place in group if sum(place in other for other in groups) == 1]


def captions(header: Header, groups: Sequence[Sequence[int]]) -> list[str]:
    """
    Return what stands above each of several groups of columns.

    Parameters
    ----------
    header : Header
        Names of the columns, and the lines above them.
    groups : sequence of sequence of int
        Places of the columns of each specimen.

    Returns
    -------
    captions : list of str
        Empty texts where no line names them all.
    """
    bounds = [group[0] for group in groups[1:]]
    for cells in reversed(header.above) if bounds else ():
        spans = [cells[start:stop] for start, stop in zip([0, *bounds], [*bounds, len(cells)], strict=True)]
        found = [
            [cell for cell in span if cell and number(cell) is None and channel_of(cell) != "specimen"]
            for span in spans
        ]
        if all(len(texts) == 1 for texts in found) and len({texts[0] for texts in found}) == len(found):
            return [texts[0] for texts in found]
    return _own_words([header.names[group[0]] for group in groups])


def _own_words(names: Sequence[str]) -> list[str]:
    """Return by which words the first columns of several groups differ, empty texts where they are not one each."""
    words = [name.split() for name in names]
    common = set(words[0]).intersection(*words[1:])
    own = [" ".join(word for word in each if word not in common) for each in words]
    return own if all(own) and len(set(own)) == len(own) > 1 else [""] * len(names)
