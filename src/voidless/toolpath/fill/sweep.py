"""
Beads are laid in a region one after the other; what each finds free within its radius is what it fills.

Its melt then takes the free places nearest to it, step by step, as the deposit map has it, so that the next beads find
what is really left: what one lays amiss the others about it make good. So areas follow from paths and their order, at
starts, turns, corners and ends alike. Places lie on a lattice that is turned against the axes and the raster, so that
no straight edge runs along it: then counting them is exact to a few.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.beads.spread import REACH_NOZZLES
from voidless.toolpath.fill.narrow import on_parts
from voidless.toolpath.fill.types import MARGIN, ROUNDED_MM2, Fill, Floats, Walk
from voidless.toolpath.moves import Kind
from voidless.toolpath.region import rings_of

__all__ = ["Lattice", "cut", "laid_walk", "lattice_over", "places_in_order"]

_TURN = math.atan(2.0 / (1.0 + math.sqrt(5.0)))
"""Angle of the lattice: its slope, and that of a line at 45 degrees on it, are worst to approach by fractions. [rad]"""
_SLIM_TURN = math.atan(1.0 / (9.0 + (1.0 + math.sqrt(5.0)) / 2.0))
"""Angle of the lattice to the long way of a region that would else be looked at less finely, for its box. [rad]"""
_PLACE = 1.0 / 28.0
"""Distance of places. [pitches]"""
_MOST = 3e7
"""Most places; larger sections are looked at less finely. [1]"""
_EVEN, _COUNT = 0.003, 3.0
"""How far a piece may be from what it finds along a straight way before it counts as different, [1] and [places]."""
_STEP = 1.5
"""Way over which melt is laid at a time. [places]"""
_AWAY = 0.5
"""Longer pieces of the raster lie away from its ends. [pitches]"""
_SHORTEST = 0.08
"""Shorter beads are left out, and their room is left to the next ones. [pitches]"""
_WORTH = 0.005
"""How much too much a bead may lay before it is laid on part of its way. [pitches squared]"""
_MIDDLE = 1.25
"""Width of a bead on part of its way. [narrowest]"""


@dataclass(frozen=True, eq=False)
class Lattice:
    """
    Places of a region.

    Attributes
    ----------
    free : (rows, columns) uint8 array
        1 where a place is free.
    inside : (rows, columns) uint8 array
        1 where it is inside of the region.
    turn : (2, 2) float array
        Turns coordinates of the plan by `xy @ turn`. [1]
    origin_mm : (2,) float array
        Corner of the lattice in the turned frame. [mm]
    place_mm : float
        Distance of places. [mm]
    """

    free: NDArray[np.uint8]
    inside: NDArray[np.uint8]
    turn: Floats
    origin_mm: Floats
    place_mm: float

    def at(self, points_mm: Floats) -> Floats:
        """Return column and row of points. [places]"""
        return np.asarray((points_mm @ self.turn - self.origin_mm) / self.place_mm)

    def points_mm(self, rows: NDArray[np.int64], columns: NDArray[np.int64]) -> Floats:
        """Return the middles of places `(n, 2)`. [mm]"""
        turned = np.column_stack([columns + 0.5, rows + 0.5]) * self.place_mm + self.origin_mm
        return np.asarray(turned @ self.turn.T)


def _turned(angle: float) -> Floats:
    """Return what turns coordinates of the plan `xy @ turn` into those of a lattice at an angle."""
    cosine, sine = math.cos(angle), math.sin(angle)
    return np.array([[cosine, -sine], [sine, cosine]])


def _box_mm2(region: Any, turn: Floats, margin_mm: float) -> float:
    """Return the area of the box about a region in the turned frame, with a margin."""
    points = np.vstack(rings_of(region)) @ turn
    return float(np.prod(points.max(axis=0) - points.min(axis=0) + 2.0 * margin_mm))


def _long_way(region: Any) -> float:
    """Return the angle of the longer side of the least box about a region. [rad]"""
    from shapely import minimum_rotated_rectangle

    corners = np.asarray(minimum_rotated_rectangle(region).exterior.coords)
    sides = np.diff(corners[:3], axis=0)
    x, y = sides[int(np.argmax(np.hypot(*sides.T)))].tolist()
    return math.atan2(y, x)


def lattice_over(
    region: Any, fill: Fill, place_pitches: float = _PLACE, aside_mm: float = 0.0, marked: bool = True
) -> Lattice:
    """
    Return the places of a region, all free, so far apart at least, with room for beads that lie so far outside.

    If they are not to be marked, places outside of the region are free, too.
    """
    from voidless.toolpath.fill.sweep_kernel import mark_inside  # compiled, slow to import

    margin, place = 2.0 * fill.pitch_mm + aside_mm, place_pitches * fill.pitch_mm
    turn = _turned(_TURN)
    if _box_mm2(region, turn, margin) > _MOST * place**2:
        turn = min(
            turn, _turned(_long_way(region) - _SLIM_TURN), key=lambda one: _box_mm2(region, one, margin)
        )
    place = max(place, math.sqrt(_box_mm2(region, turn, margin) / _MOST))
    rings = [ring @ turn for ring in rings_of(region)]
    low, high = np.vstack(rings).min(axis=0), np.vstack(rings).max(axis=0)
    origin = low - margin
    columns, rows = (np.ceil((high - low + 2.0 * margin) / place).astype(int) + 1).tolist()
    if not marked:
        everywhere = np.ones((rows, columns), dtype=np.uint8)
        return Lattice(everywhere, everywhere, turn, origin, place)
    inside = np.zeros((rows, columns), dtype=np.uint8)
    edges = np.vstack([np.hstack([ring[:-1], ring[1:]]) for ring in rings])
    mark_inside(inside, (edges - np.tile(origin, 2)) / place)
    return Lattice(inside.copy(), inside, turn, origin, place)


@lru_cache(maxsize=8)
def places_in_order(reach_places: float) -> Any:
    """Return the order in which melt takes places about the nozzle, as of `order_places`; the arrays are shared."""
    from voidless.toolpath.fill.order_kernel import order_places  # compiled, slow to import

    return order_places(reach_places)


def cut(walk: Walk, longest_mm: Floats) -> Walk:
    """Return a walk whose beads are cut into even pieces."""
    number = np.where(walk.radius_mm > 0.0, np.maximum(np.ceil(walk.length_mm / longest_mm - 1e-9), 1.0), 1.0)
    number = number.astype(np.int64)
    source = np.repeat(np.arange(len(number)), number)
    place = np.arange(len(source)) - np.repeat(np.cumsum(number) - number, number)
    share = ((place + 1.0) / number[source])[:, None]
    points = walk.starts[source] * (1.0 - share) + walk.points[source] * share
    return Walk(walk.kind[source], points, walk.radius_mm[source], walk.area_mm2[source] / number[source])


def laid_walk(walk: Walk, lattice: Lattice, fill: Fill) -> Walk:
    """
    Return a walk whose beads are laid in order, each with the area that it finds free.

    Parameters
    ----------
    walk : Walk
        Short moves; those with a radius are beads.
    lattice : Lattice
        Places; those that melt fills are no longer free afterwards.
    fill : Fill
        Nozzle and limits of width: a move that would have to fill more leaves the rest to the next ones, one that
        would be too narrow is laid on part of its way, or not at all.

    Returns
    -------
    walk : Walk
        The same way, with the areas and with ways on which nothing is laid.
    """
    from voidless.toolpath.fill.lay_kernel import lay_walk  # compiled, slow to import

    place = lattice.place_mm
    lines = np.hstack([lattice.at(walk.starts), lattice.at(walk.points)])
    area, laid = np.zeros(len(lines)), np.zeros((len(lines), 2))
    away = (walk.kind == Kind.RASTER) & (walk.length_mm > _AWAY * fill.pitch_mm)
    narrowest, widest = (1.0 + MARGIN) * fill.narrowest_mm / place, (1.0 - MARGIN) * fill.widest_mm / place
    widths = (narrowest, widest, _MIDDLE * narrowest, _SHORTEST * fill.pitch_mm / place)
    reach = REACH_NOZZLES * fill.nozzle_mm / place
    steps, distance, first = places_in_order(reach)
    amounts = (ROUNDED_MM2 / place**2, _WORTH * (fill.pitch_mm / place) ** 2)
    limits = np.array([*widths, *amounts, _EVEN, _COUNT])
    radius = np.minimum(walk.radius_mm / place, reach)
    lay_walk(lattice.free, lines, radius, away, limits, steps, distance, first, _STEP, area, laid)
    return on_parts(Walk(walk.kind, walk.points, walk.radius_mm, area * place**2), laid)
