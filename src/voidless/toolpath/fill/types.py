"""How a region is filled, and the moves that fill it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.toolpath.moves import Kind

__all__ = ["PLACE_DIGITS", "Fill", "Pattern", "Piece", "Walk", "joined_walks"]

Floats = NDArray[np.float64]

PLACE_DIGITS = 4
"""
Digits of a place in a file. Beads are planned there: a wall of 80 mm that the file moves by 0.05 µm lays 0.004 mm²
amiss, all of it where the last loop closes. [mm]
"""
ROUNDED_MM2 = 2e-4
"""By how much a file with places to 0.1 µm and filament to 10 nm may miss the area of a short bead. [mm²]"""
_TINY_MM2, _DAB, _TINY_DAB = 7.0 * ROUNDED_MM2, 1.0, 1.3
"""A short bead of less is kept further from the narrowest, since rounding changes its width by up to a third. [mm²];
widths of the two. [nozzles]"""
MARGIN = 0.002
"""How far all areas may be scaled afterwards without a width leaving its limits. [1]"""


@dataclass(frozen=True)
class Fill:
    """
    How a section is filled.

    Attributes
    ----------
    pitch_mm, width_mm : float
        Full-fill pitch and bead width. [mm]
    contours : int
        Number of contours.
    overlap_pct : float
        How far the round end of a raster bead reaches into the contour, in bead widths. [%]
    nozzle_mm : float
        Nozzle diameter: no bead is narrower than 0.8 or wider than 2 of it. [mm]
    even : bool
        Whether areas are what each bead finds free; what only asks for the way does with length times width.
    mended : bool
        Whether large regions are corrected, too, where melt is off.
    """

    pitch_mm: float
    width_mm: float
    contours: int
    overlap_pct: float
    nozzle_mm: float
    even: bool = True
    mended: bool = True

    @property
    def narrowest_mm(self) -> float:
        """Least width of the room that a bead fills. [mm]"""
        return 0.8 * self.nozzle_mm

    @property
    def widest_mm(self) -> float:
        """Greatest width of the room that a bead fills. [mm]"""
        return 2.0 * self.nozzle_mm

    def areas_mm2(self, length_mm: Floats) -> tuple[Floats, Floats]:
        """Return the least and the greatest area of beads as long as given, whatever rounding in a file does. [mm²]"""
        least = (1.0 + MARGIN) * self.narrowest_mm * length_mm + ROUNDED_MM2
        most = (1.0 - MARGIN) * self.widest_mm * length_mm - ROUNDED_MM2
        return least, most

    def dab_mm(self, area_mm2: Floats) -> Floats:
        """Return how long short beads that stand alone are, each of an area. [mm]"""
        width = np.where(area_mm2 < _TINY_MM2, _TINY_DAB, _DAB) * self.nozzle_mm
        return np.asarray(area_mm2 / width)

    def hook_mm(self, radius_mm: float) -> float:
        """
        Return the stroke back by which a bead begins. [mm]

        There as wide and back as narrow as allowed, it lays its way and the round fronts before and behind.
        """
        both = self.widest_mm + self.narrowest_mm
        return math.pi * radius_mm**2 / max(both - 2.0 * radius_mm, both / 4.0)


@dataclass(frozen=True, eq=False)
class Pattern:
    """
    Moves within one section, first entry a travel to the start.

    Attributes
    ----------
    kind : (n,) int array
        Codes of `Kind`.
    points : (n, 2) float array
        Ends of the moves about the specimen's centre. [mm]
    area_mm2 : (n,) float array
        Area of the section that the move fills; times layer thickness it is the exact-fill volume. [mm²]
    missed_mm2 : float
        Area of tips that no bead passes; its volume is spread over the raster. [mm²]
    contours : int
        Contours that found room.
    """

    kind: NDArray[np.int64]
    points: Floats
    area_mm2: Floats
    missed_mm2: float
    contours: int


@dataclass(frozen=True, eq=False)
class Piece:
    """Moves of one kind to `points` `(n, 2)` [mm], each filling what is within `radius_mm` `(n,)` of it, 0 for none."""

    kind: Kind
    points: Floats
    radius_mm: Floats


@dataclass(frozen=True, eq=False)
class Walk:
    """
    Moves in order, the first a travel.

    Attributes
    ----------
    kind : (n,) int array
        Codes of `Kind`.
    points : (n, 2) float array
        Ends of the moves. [mm]
    radius_mm : (n,) float array
        How far from its path a bead reaches, 0 for a travel. [mm]
    area_mm2 : (n,) float array
        Area that each fills. [mm²]
    """

    kind: NDArray[np.int64]
    points: Floats
    radius_mm: Floats
    area_mm2: Floats

    @property
    def starts(self) -> Floats:
        """Where each move begins. [mm]"""
        return np.vstack([self.points[:1], self.points[:-1]])

    @property
    def length_mm(self) -> Floats:
        """Length of each move. [mm]"""
        return np.asarray(np.hypot(*(self.points - self.starts).T))

    @property
    def laid(self) -> NDArray[np.bool_]:
        """Which moves are beads."""
        return self.radius_mm > 0.0

    def take(self, chosen: NDArray[np.int64]) -> Walk:
        """Return the moves chosen; what is left out must not be on the way."""
        return Walk(self.kind[chosen], self.points[chosen], self.radius_mm[chosen], self.area_mm2[chosen])

    def part(self, first: int, last: int) -> Walk:
        """Return the moves from one to before another."""
        some = slice(first, last)
        return Walk(self.kind[some], self.points[some], self.radius_mm[some], self.area_mm2[some])


def joined_walks(walks: Sequence[Walk]) -> Walk:
    """Return walks one after the other as one."""
    return Walk(
        np.concatenate([walk.kind for walk in walks]),
        np.vstack([walk.points for walk in walks]),
        np.concatenate([walk.radius_mm for walk in walks]),
        np.concatenate([walk.area_mm2 for walk in walks]),
    )
