"""
What paths leave open, filled by short ways aside.

A round front leaves the tips of corners open, the notches between ends of beads, and where a loop closes. The bead
that is laid there last goes aside without laying anything, lays what lacks on a short way, and comes back.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.toolpath.fill.sweep import Lattice
from voidless.toolpath.fill.types import Fill, Floats, Walk, joined_walks
from voidless.toolpath.moves import Kind

__all__ = ["with_spots"]

_LEAST = 0.004
"""Smaller spots are left to the beads beside. [pitches squared]"""
_SIZE, _BARE_SIZE = 0.85, 0.7
"""Larger ones are taken in parts, smaller ones where no contour is: they lie in a row along the outline. [pitches]"""
_FAR = 2.0
"""How far a bead goes aside at most. [pitches]"""
_TOUCH = 0.75
"""How far from its path a bead has melt that bounds a spot. [pitches]"""
_SAMPLES = 12
"""Places of a spot that are looked at."""
_TRIES = np.linspace(0.0, 0.4, 17)
"""Places tried from the spot's middle inwards. [pitches]"""
_OPEN = 0.6
"""How near to its middle a spot has to be open to the outside to count as open. [pitches]"""


@dataclass(frozen=True)
class _Aside:
    """After which piece, the ends of the short bead and its area."""

    piece: int
    start: tuple[float, float]
    end: tuple[float, float]
    area_mm2: float


def with_spots(walk: Walk, lattice: Lattice, fill: Fill) -> Walk:
    """
    Return a walk that goes aside to what it leaves open.

    Parameters
    ----------
    walk : Walk
        Short pieces with their areas.
    lattice : Lattice
        Places that are still free.
    fill : Fill
        Pitch and widths.

    Returns
    -------
    walk : Walk
        With travels and short beads added.
    """
    clumps = _clumps(lattice, fill)
    if not clumps:
        return walk
    from scipy.spatial import cKDTree

    numbers = np.flatnonzero(walk.laid)
    middles = (walk.starts + walk.points)[numbers] / 2.0
    tree = cKDTree(middles)
    asides = []
    for rows, columns in clumps:
        places = lattice.points_mm(rows, columns)
        near = np.sort(numbers[tree.query_ball_point(places.mean(axis=0), _FAR * fill.pitch_mm)])
        if len(near):
            asides.append(_aside(places, (rows, columns), walk, near, lattice, fill))
    return _inserted(walk, asides)


def _clumps(lattice: Lattice, fill: Fill) -> list[tuple[NDArray[np.int64], NDArray[np.int64]]]:
    """Return rows and columns of the places of each spot."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components
    from scipy.spatial import cKDTree

    found = np.flatnonzero(lattice.free.view(np.bool_))
    if not len(found):
        return []
    rows, columns = np.divmod(found, lattice.free.shape[1])
    pairs = cKDTree(np.column_stack([rows, columns])).query_pairs(1.5, output_type="ndarray")
    links = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(found), len(found)))
    number, spot = connected_components(links, directed=False)
    spot = np.asarray(spot, dtype=np.int64)
    size = (_SIZE if fill.contours else _BARE_SIZE) * fill.pitch_mm / lattice.place_mm
    low = np.full((number, 2), np.iinfo(np.int64).max)
    np.minimum.at(low, spot, np.column_stack([rows, columns]))
    part = (
        ((rows - low[spot, 0]) // size).astype(np.int64),
        ((columns - low[spot, 1]) // size).astype(np.int64),
    )
    _, group_of = np.unique(np.column_stack([spot, *part]), axis=0, return_inverse=True)
    order = np.argsort(group_of, kind="stable")
    groups = np.split(order, np.flatnonzero(np.diff(group_of[order])) + 1)
    least = _LEAST * (fill.pitch_mm / lattice.place_mm) ** 2
    return [(rows[group], columns[group]) for group in groups if len(group) >= least]


def _aside(
    places: Floats, cells: tuple[NDArray[np.int64], NDArray[np.int64]], walk: Walk,
    near: NDArray[np.int64], lattice: Lattice, fill: Fill,
) -> _Aside:  # fmt: skip
    """Return how a spot is filled from the last of the beads about it."""
    middle = places.mean(axis=0)
    starts, ends = walk.starts[near], walk.points[near]
    touches = np.zeros(len(near), dtype=bool)
    for place in places[:: max(1, len(places) // _SAMPLES)]:
        touches |= _apart(place, starts, ends) <= _TOUCH * fill.pitch_mm
    if not touches.any():
        touches[np.argmin(_apart(middle, starts, ends))] = True
    latest = int(np.flatnonzero(touches).max())  # all about the spot is laid
    area = len(places) * lattice.place_mm**2
    target, unit = _target(places, cells, lattice, fill.pitch_mm)
    if not fill.contours:
        unit = np.array([-unit[1], unit[0]])  # along the outline, as the neighbours in their row
    way = unit * float(fill.dab_mm(np.array(area))) / 2.0
    return _Aside(int(near[latest]), tuple((target + way).tolist()), tuple((target - way).tolist()), area)


def _apart(place: Floats, starts: Floats, ends: Floats) -> Floats:
    """Return how far straight beads pass from a place. [mm]"""
    step = ends - starts
    share = np.clip(np.sum((place - starts) * step, axis=1) / np.sum(step**2, axis=1), 0.0, 1.0)
    return np.asarray(np.hypot(*(place - starts - share[:, None] * step).T))


def _target(
    places: Floats, cells: tuple[NDArray[np.int64], NDArray[np.int64]], lattice: Lattice, pitch: float
) -> tuple[Floats, Floats]:
    """
    Return from where most of the melt finds a spot, not what is outside of the region, and the way inwards from there.

    A spot without an open side is filled from its middle.
    """
    rows, columns = cells
    middle = places.mean(axis=0)
    reach = int(1.2 * pitch / lattice.place_mm)
    low_row, low_column = max(0, int(rows.min()) - reach), max(0, int(columns.min()) - reach)
    window = np.s_[low_row : rows.max() + reach + 1, low_column : columns.max() + reach + 1]
    free, outside = lattice.free[window] == 1, lattice.inside[window] == 0
    own = np.zeros(free.shape, dtype=bool)
    own[rows - low_row, columns - low_column] = True
    open_rows, open_columns = np.nonzero(free | outside)
    about = lattice.points_mm(open_rows + low_row, open_columns + low_column)
    beyond = about[outside[open_rows, open_columns]]
    beyond = beyond[np.hypot(*(beyond - middle).T) < _OPEN * pitch]
    inward = middle - beyond.mean(axis=0) if len(beyond) else np.zeros(2)
    size = float(np.hypot(*inward))
    if not size > 0.0:
        return middle, np.array([1.0, 0.0])
    unit, hit = inward / size, own[open_rows, open_columns]
    found = []
    for step in _TRIES:
        squared = np.sum((about - (middle + step * pitch * unit)) ** 2, axis=1)
        found.append(int(hit[np.argpartition(squared, len(rows) - 1)[: len(rows)]].sum()))
    return middle + _TRIES[int(np.argmax(found))] * pitch * unit, unit


def _inserted(walk: Walk, asides: list[_Aside]) -> Walk:
    """Return a walk with its ways aside."""
    by_piece: dict[int, list[_Aside]] = {}
    for aside in sorted(asides, key=lambda one: one.piece):
        by_piece.setdefault(aside.piece, []).append(aside)
    parts, done = [], 0
    for piece, some in by_piece.items():
        parts += [walk.part(done, piece + 1), _way_aside(walk, piece, some)]
        done = piece + 1
    return joined_walks([*parts, walk.part(done, len(walk.kind))])


def _way_aside(walk: Walk, piece: int, asides: list[_Aside]) -> Walk:
    """Return the moves after a piece, and back unless a travel follows."""
    ends, areas = [], []
    for aside in asides:
        ends += [aside.start, aside.end]
        areas += [0.0, aside.area_mm2]
    if piece + 1 < len(walk.kind) and walk.kind[piece + 1] != Kind.TRAVEL:
        ends.append(tuple(walk.points[piece].tolist()))
        areas.append(0.0)
    area = np.array(areas)
    kind = np.where(area > 0.0, walk.kind[piece], int(Kind.TRAVEL)).astype(np.int64)
    return Walk(kind, np.array(ends), np.where(area > 0.0, walk.radius_mm[piece], 0.0), area)
