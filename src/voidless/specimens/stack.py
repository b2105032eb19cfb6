"""A body as a stack of outlines by height, straight walls between them; boxes, discs and bars as stacks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.specimens.outline import rectangle, shape_area

__all__ = ["Level", "Stack", "box", "prism", "tower"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Level:
    """The outline of a body at one height: `outline` is `(n, 2)`, counter-clockwise. [mm]"""

    height_mm: float
    outline: Floats


@dataclass(frozen=True, eq=False)
class Stack:
    """
    A body between its lowest and its highest outline.

    Attributes
    ----------
    levels : tuple of Level
        Outlines upwards with equal numbers of vertices; straight walls between them.
    """

    levels: tuple[Level, ...]

    def __post_init__(self) -> None:
        heights = [level.height_mm for level in self.levels]
        assert len(heights) > 1
        assert all(low < high for low, high in pairwise(heights))
        assert len({level.outline.shape for level in self.levels}) == 1

    @property
    def base_mm(self) -> float:
        """Height of the lowest outline. [mm]"""
        return self.levels[0].height_mm

    @property
    def top_mm(self) -> float:
        """Height of the highest outline. [mm]"""
        return self.levels[-1].height_mm

    def outline(self, height_mm: float) -> Floats:
        """
        Return the outline at a height.

        Parameters
        ----------
        height_mm : float
            Height above the bed. [mm]

        Returns
        -------
        outline : (n, 2) float array
            Counter-clockwise vertices. [mm]

        Raises
        ------
        InputError
            The height is outside the body.
        """
        if not self.base_mm <= height_mm <= self.top_mm:
            raise InputError("specimen", f"height {height_mm} mm", f"{self.base_mm} to {self.top_mm} mm", "")
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


def prism(outline: Floats, base_mm: float, top_mm: float) -> Stack:
    """Return an upright body of one outline `(n, 2)` between two heights. [mm]"""
    return Stack((Level(base_mm, outline), Level(top_mm, outline)))


def box(x: tuple[float, float], y: tuple[float, float], z: tuple[float, float]) -> Stack:
    """Return a box between two positions along each axis. [mm]"""
    middle = np.array([(x[0] + x[1]) / 2.0, (y[0] + y[1]) / 2.0])
    return prism(rectangle(x[1] - x[0], y[1] - y[0]) + middle, *z)


def tower(heights_mm: Sequence[float], outlines: Sequence[Floats]) -> Stack:
    """Return a body from outlines at heights; an outline given twice in a row is one upright wall. [mm]"""
    return Stack(tuple(Level(float(z), outline) for z, outline in zip(heights_mm, outlines, strict=True)))
