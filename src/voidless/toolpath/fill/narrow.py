"""
Beads within their limits of width: where little is left to fill, part of the way is passed without laying anything.

A nozzle that turns a corner, or closes a loop, comes where its bead has room for less than the narrowest bead. There
the bead is laid as wide as allowed on a shorter way, about the middle of what it has to fill.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voidless.toolpath.fill.types import Fill, Floats, Walk, joined_walks
from voidless.toolpath.moves import Kind

__all__ = ["without_narrow"]

_WORTH = 0.01
"""How much too much a stretch may lay before it is laid on a shorter way. [pitches squared]"""
_MOST = 2
"""Most pieces that are laid as one."""
_SHORTEST = 0.08
"""Shorter beads are left out, and their area goes to the pieces beside. [pitches]"""
_MIDDLE = 1.25
"""Width of such a bead. [narrowest]"""


def without_narrow(walk: Walk, fill: Fill) -> Walk:
    """
    Return a walk none of whose beads is narrower than allowed.

    Parameters
    ----------
    walk : Walk
        Short pieces with their areas.
    fill : Fill
        Pitch and narrowest bead.

    Returns
    -------
    walk : Walk
        Its areas sum to the same. Travels that are added do not leave the paths.
    """
    length, area = walk.length_mm, walk.area_mm2.copy()
    walk = Walk(walk.kind, walk.points, walk.radius_mm, area)
    least = fill.narrowest_mm * length
    low = walk.laid & (area < least * (1.0 - 1e-9))
    edges = np.diff(np.concatenate([[0], low.astype(np.int8), [0]]))
    stretches = zip(np.flatnonzero(edges == 1).tolist(), np.flatnonzero(edges == -1).tolist(), strict=True)
    short = [(k, min(k + _MOST, last)) for first, last in stretches for k in range(first, last, _MOST)]
    parts: list[Walk] = []
    done = 0
    for first, last in short:
        stretch = slice(first, last)
        total, missing = float(area[stretch].sum()), float((least[stretch] - area[stretch]).sum())
        if missing <= _WORTH * fill.pitch_mm**2:
            area[stretch] = least[stretch]
            _pass_on(area, walk, least, first, last, -missing)
            continue
        way = total / (_MIDDLE * fill.narrowest_mm)
        if way < _SHORTEST * fill.pitch_mm:
            _pass_on(area, walk, least, first, last, total)
            way = 0.0
        parts += [walk.part(done, first), _short(walk, first, last, way)]
        done = last
    parts.append(walk.part(done, len(area)))
    return joined_walks(parts)


def _pass_on(area: Floats, walk: Walk, least: Floats, first: int, last: int, more: float) -> None:
    """Give area to, or take it from, the pieces before and after a stretch, as far as they are wide enough."""
    beside = [k for k in (first - 1, last) if 0 <= k < len(area) and walk.laid[k] and area[k] > least[k]]
    for place, k in enumerate(beside):
        part = more / (len(beside) - place)
        part = max(part, least[k] - area[k])
        area[k] += part
        more -= part


def _short(walk: Walk, first: int, last: int, way: float) -> Walk:
    """Return a stretch whose area is laid on a way of given length about its middle."""
    points = walk.points[first - 1 : last]
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    if way <= 0.0:
        number = last - first
        return Walk(_travels(number), points[1:], np.zeros(number), np.zeros(number))
    weight = walk.area_mm2[first:last]
    middle = float(np.sum(weight * (along[1:] + along[:-1]) / 2.0) / weight.sum())
    begin = min(max(middle - way / 2.0, 0.0), along[-1] - way)
    marks = np.unique(np.concatenate([along, [begin, begin + way]]))[1:]
    placed = np.column_stack([np.interp(marks, along, points[:, k]) for k in (0, 1)])
    step = np.diff(marks, prepend=0.0)
    laid = (marks > begin + 1e-12) & (marks <= begin + way + 1e-12)
    share = np.where(laid, step / way, 0.0)
    kind = np.where(laid, walk.kind[last - 1], int(Kind.TRAVEL))
    return Walk(kind, placed, np.where(laid, walk.radius_mm[first], 0.0), share * float(weight.sum()))


def _travels(number: int) -> NDArray[np.int64]:
    return np.full(number, int(Kind.TRAVEL), dtype=np.int64)
