"""What a kind of specimen is: bodies by height, orientation, gauge section, measured features, marks."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.specimens.outline import rectangle
from voidless.specimens.stack import Level, Stack, prism

__all__ = ["Level", "MarkPlace", "SpecimenKind", "orientation_letters"]

Floats = NDArray[np.float64]


def orientation_letters(size_mm: tuple[float, float, float]) -> str:
    """
    Return the letters of a box's orientation: axes in the order of decreasing size.

    Parameters
    ----------
    size_mm : (float, float, float)
        Size in X, Y and Z. [mm]

    Returns
    -------
    letters : str
        Three letters; one where the two smaller sizes are equal. Equal sizes keep the order X, Y, Z.

    Notes
    -----
    ISO 17295 (public excerpts of its predecessor ISO/ASTM 52921): letters by decreasing length of the
    bounding box, abbreviated where symmetry allows.

    Examples
    --------
    >>> orientation_letters((20.0, 4.0, 170.0)), orientation_letters((20.0, 20.0, 80.0))
    ('ZXY', 'Z')
    """
    size = dict(zip("XYZ", size_mm, strict=True))
    letters = sorted("XYZ", key=lambda axis: -size[axis])
    first, second, third = (size[axis] for axis in letters)
    return letters[0] if first > second and math.isclose(second, third) else "".join(letters)


@dataclass(frozen=True)
class MarkPlace:
    """
    A face that may carry a number: outside of gauge lengths and of faces that are measured.

    Attributes
    ----------
    face : str
        `top`: a face that looks up, text along X; `front`: the face towards -Y, text along X upright.
    centre_mm : (float, float, float)
        Middle of the place. [mm]
    size_mm : (float, float)
        Room along and across the text. [mm]
    raised : bool
        Whether a number may stand out; in grips and on seals it may only be sunk.
    """

    face: str
    centre_mm: tuple[float, float, float]
    size_mm: tuple[float, float]
    raised: bool = False


@dataclass(frozen=True, eq=False)
class SpecimenKind:
    """
    A kind of test piece as it stands on the bed.

    Attributes
    ----------
    name, title : str
        Name in the catalogue, words for people.
    levels : tuple of Level
        Outlines of the main body from the bed upwards with equal numbers of vertices; straight walls
        between them.
    source : str
        Where the dimensions come from.
    bodies : tuple of Stack
        Further bodies; they may touch the main body and each other and share no room with them.
    holes : tuple of Stack
        What is cut away; wholly inside of the bodies, and sharing no room with each other.
    raster_offset_deg : float
        Added to the raster angle, which counts from the specimen's long axis. [deg]
    gauge_mm : tuple of float
        Sides of the section that carries the load, nominal; one number is the diameter of a round one;
        empty where nothing pulls. [mm]
    gauge_length_mm : float
        Length over which that section is constant; 0 where nothing pulls. [mm]
    features : mapping
        Nominal sizes that size errors refer to, by feature. [mm]
    responses : tuple of str
        Responses that it serves.
    caution : str
        What a person must know before testing it; empty if nothing.
    note : str
        What a person must know about its making: cut by machine, spans free air; empty if nothing.
    mark_places : tuple of MarkPlace
        Where a number may stand, best first; empty: this kind carries none.
    wall_mm : float
        Wall of a specimen that is one bead thick, 0 for all others; `sized` changes it. [mm]
    """

    name: str
    title: str
    levels: tuple[Level, ...]
    source: str
    bodies: tuple[Stack, ...] = ()
    holes: tuple[Stack, ...] = ()
    raster_offset_deg: float = 0.0
    gauge_mm: tuple[float, ...] = ()
    gauge_length_mm: float = 0.0
    features: Mapping[str, float] = field(default_factory=dict)
    responses: tuple[str, ...] = ()
    caution: str = ""
    note: str = ""
    mark_places: tuple[MarkPlace, ...] = ()
    wall_mm: float = 0.0

    def __post_init__(self) -> None:
        assert self.main.base_mm == 0.0, self.name

    @cached_property
    def main(self) -> Stack:
        """The main body."""
        return Stack(self.levels)

    @cached_property
    def height_mm(self) -> float:
        """Height above the bed. [mm]"""
        return max(body.top_mm for body in (self.main, *self.bodies))

    @cached_property
    def box_mm(self) -> tuple[float, float, float]:
        """Size in X, Y and Z. [mm]"""
        levels = [level for body in (self.main, *self.bodies) for level in body.levels]
        points = np.vstack([level.outline for level in levels])
        size = points.max(axis=0) - points.min(axis=0)
        return float(size[0]), float(size[1]), self.height_mm

    @property
    def orientation(self) -> str:
        """ISO 17295 letters: axes by decreasing size."""
        return orientation_letters(self.box_mm)

    @property
    def section_mm2(self) -> float:
        """
        Nominal area of the section that carries the load. [mm²]

        Raises
        ------
        InputError
            Nothing pulls or bends this kind.
        """
        if not self.gauge_mm:
            raise InputError(self.name, "has no section that carries a load", "a bar", "Name a bar.")
        if len(self.gauge_mm) == 1:
            return math.pi * self.gauge_mm[0] ** 2 / 4.0
        return float(np.prod(self.gauge_mm))

    @property
    def gauge_heights_mm(self) -> tuple[float, float] | None:
        """Heights between which an upright bar's gauge length lies, None for what is not pulled along Z. [mm]"""
        if not (self.gauge_length_mm > 0.0 and self.orientation.startswith("Z")):
            return None
        middle, half = self.height_mm / 2.0, self.gauge_length_mm / 2.0
        return middle - half, middle + half

    @property
    def plain(self) -> bool:
        """Whether the main body is all there is: one outline without holes at every height."""
        return not self.bodies and not self.holes

    def outline(self, height_mm: float) -> Floats:
        """
        Return the outline of the main body at a height; `region` has bodies and holes too.

        Parameters
        ----------
        height_mm : float
            Height above the bed, 0 to the main body's own. [mm]

        Returns
        -------
        outline : (n, 2) float array
            Counter-clockwise vertices. [mm]

        Raises
        ------
        InputError
            The height is outside the main body.
        """
        if not 0.0 <= height_mm <= self.main.top_mm:
            raise InputError(self.name, f"height {height_mm} mm", f"0 to {self.main.top_mm} mm", "")
        return self.main.outline(height_mm)

    def region(self, height_mm: float) -> Any:
        """
        Return the whole section at a height.

        Parameters
        ----------
        height_mm : float
            Height above the bed, 0 to the specimen's own; where a body ends, what lies above it is shown,
            at the very top what lies below. [mm]

        Returns
        -------
        region : shapely.Polygon or shapely.MultiPolygon
            Bodies without holes, in millimetres; empty where there is nothing.

        Raises
        ------
        InputError
            The height is outside the specimen.
        """
        from shapely import Polygon  # slow to import, needed for planning alone
        from shapely.ops import unary_union

        if not 0.0 <= height_mm <= self.height_mm:
            raise InputError(self.name, f"height {height_mm} mm", f"0 to {self.height_mm} mm", "")
        if self.plain:
            return Polygon(self.main.outline(height_mm))
        height = min(height_mm, math.nextafter(self.height_mm, 0.0))
        solids, holes = (
            [Polygon(body.outline(height)) for body in bodies if body.base_mm <= height < body.top_mm]
            for bodies in ((self.main, *self.bodies), self.holes)
        )
        found = unary_union(solids)
        return found.difference(unary_union(holes)) if holes else found

    @cached_property
    def volume_mm3(self) -> float:
        """Volume, exact for straight walls. [mm³]"""
        solids = sum(body.volume_mm3 for body in (self.main, *self.bodies))
        return float(solids - sum(hole.volume_mm3 for hole in self.holes))

    def sized(self, wall_mm: float) -> SpecimenKind:
        """
        Return the kind with walls of another thickness where it is one bead thick, else the kind itself.

        Parameters
        ----------
        wall_mm : float
            Width of the room that one bead fills, the full-fill pitch. [mm]

        Raises
        ------
        InputError
            The wall is not thinner than half the specimen.
        """
        if self.wall_mm == 0.0 or wall_mm == self.wall_mm:
            return self
        x, y, _ = self.box_mm
        if not 0.0 < wall_mm < min(x, y) / 2.0:
            raise InputError(self.name, f"wall {wall_mm} mm", f"above 0, below {min(x, y) / 2.0} mm", "")
        hollow = prism(rectangle(x - 2.0 * wall_mm, y - 2.0 * wall_mm), 0.0, self.height_mm)
        return replace(self, holes=(hollow,), wall_mm=wall_mm)
