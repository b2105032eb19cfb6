"""What a kind of specimen is: outlines by height, orientation, gauge section and measured features."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.specimens.outline import shape_area

__all__ = ["Level", "SpecimenKind"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Level:
    """The outline of a specimen at one height: `outline` is `(n, 2)`, counter-clockwise. [mm]"""

    height_mm: float
    outline: Floats


@dataclass(frozen=True, eq=False)
class SpecimenKind:
    """
    A kind of test piece as it stands on the bed.

    Attributes
    ----------
    name, title : str
        Name in the catalogue, words for people.
    levels : tuple of Level
        Outlines from the bed upwards with equal numbers of vertices; straight walls between them.
    orientation : str
        ISO 17295 letters: axes by decreasing size.
    source : str
        Where the dimensions come from.
    raster_offset_deg : float
        Added to the raster angle, which counts from the specimen's long axis. [deg]
    gauge_mm : tuple of float
        Sides of the section that carries the load, nominal; empty where nothing pulls. [mm]
    gauge_length_mm : float
        Length over which that section is constant; 0 where nothing pulls. [mm]
    features : mapping
        Nominal sizes that size errors refer to, by feature. [mm]
    responses : tuple of str
        Responses that it serves.
    caution : str
        What a person must know before testing it; empty if nothing.
    """

    name: str
    title: str
    levels: tuple[Level, ...]
    orientation: str
    source: str
    raster_offset_deg: float = 0.0
    gauge_mm: tuple[float, ...] = ()
    gauge_length_mm: float = 0.0
    features: Mapping[str, float] = field(default_factory=dict)
    responses: tuple[str, ...] = ()
    caution: str = ""

    def __post_init__(self) -> None:
        heights = [level.height_mm for level in self.levels]
        assert heights[0] == 0.0, self.name
        assert all(low < high for low, high in pairwise(heights)), self.name
        assert len({level.outline.shape for level in self.levels}) == 1, self.name

    @property
    def height_mm(self) -> float:
        """Height above the bed. [mm]"""
        return self.levels[-1].height_mm

    @cached_property
    def box_mm(self) -> tuple[float, float, float]:
        """Size in X, Y and Z. [mm]"""
        points = np.vstack([level.outline for level in self.levels])
        size = points.max(axis=0) - points.min(axis=0)
        return float(size[0]), float(size[1]), self.height_mm

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
        return float(np.prod(self.gauge_mm))

    def outline(self, height_mm: float) -> Floats:
        """
        Return the outline at a height.

        Parameters
        ----------
        height_mm : float
            Height above the bed, 0 to the specimen's own. [mm]

        Returns
        -------
        outline : (n, 2) float array
            Counter-clockwise vertices. [mm]

        Raises
        ------
        InputError
            The height is outside the specimen.
        """
        if not 0.0 <= height_mm <= self.height_mm:
            raise InputError(self.name, f"height {height_mm} mm", f"0 to {self.height_mm} mm", "")
        heights = np.array([level.height_mm for level in self.levels])
        above = max(1, int(np.searchsorted(heights, height_mm)))
        low, high = self.levels[above - 1], self.levels[above]
        share = (height_mm - low.height_mm) / (high.height_mm - low.height_mm)
        if low.outline is high.outline:
            return low.outline
        return np.asarray(low.outline + share * (high.outline - low.outline))

    @cached_property
    def volume_mm3(self) -> float:
        """Volume between the outlines, exact for straight walls. [mm³]"""
        total = 0.0
        for low, high in pairwise(self.levels):
            middle = (low.outline + high.outline) / 2.0
            area = shape_area(low.outline) + 4.0 * shape_area(middle) + shape_area(high.outline)
            total += (high.height_mm - low.height_mm) * area / 6.0
        return total
