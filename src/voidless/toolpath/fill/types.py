"""How a region is filled, and the moves that fill it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.toolpath.moves import Kind

__all__ = ["Fill", "Pattern", "Piece"]

Floats = NDArray[np.float64]


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
        Whether widths are corrected by looking at what they fill; what only asks for the way leaves that out.
    """

    pitch_mm: float
    width_mm: float
    contours: int
    overlap_pct: float
    nozzle_mm: float
    even: bool = True

    @property
    def narrowest_mm(self) -> float:
        """Least width of the room that a bead fills. [mm]"""
        return 0.8 * self.nozzle_mm

    @property
    def widest_mm(self) -> float:
        """Greatest width of the room that a bead fills. [mm]"""
        return 2.0 * self.nozzle_mm


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
    """Moves of one kind to `points` `(n, 2)` [mm], each filling `area_mm2` `(n,)`."""

    kind: Kind
    points: Floats
    area_mm2: Floats
