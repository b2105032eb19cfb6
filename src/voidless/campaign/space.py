"""The box that the factors of a campaign span, in shop units and as the unit cube."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.types import Factor

__all__ = ["Space"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Space:
    """
    The factors of a campaign as a box of `k` dimensions.

    Points are rows of a `(n, k)` array, columns in the order of `factors`, in shop units.
    """

    factors: tuple[Factor, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the factors, in column order."""
        return tuple(factor.name for factor in self.factors)

    @property
    def low(self) -> Floats:
        """Lower bounds, `(k,)`. [shop units]"""
        return np.array([factor.low for factor in self.factors], dtype=float)

    @property
    def high(self) -> Floats:
        """Upper bounds, `(k,)`. [shop units]"""
        return np.array([factor.high for factor in self.factors], dtype=float)

    def to_unit(self, points: Floats) -> Floats:
        """Return points `(n, k)` scaled so that the box is 0 to 1. [1]"""
        return np.asarray((np.asarray(points, dtype=float) - self.low) / (self.high - self.low))

    def from_unit(self, unit_points: Floats) -> Floats:
        """Return points of the unit cube `(n, k)` in shop units."""
        return np.asarray(self.low + np.asarray(unit_points, dtype=float) * (self.high - self.low))

    def snap(self, points: Floats) -> Floats:
        """
        Return points moved to the nearest allowed step inside the bounds.

        Steps count from the lower bound; an upper bound that is not a whole number of steps away is
        not itself a level.
        """
        snapped = np.clip(np.array(points, dtype=float), self.low, self.high)
        for column, factor in enumerate(self.factors):
            if factor.step:
                last = np.floor((factor.high - factor.low) / factor.step + 1e-9)
                count = np.clip(np.round((snapped[:, column] - factor.low) / factor.step), 0, last)
                snapped[:, column] = np.round(factor.low + count * factor.step, 10)
        return np.asarray(snapped)

    def columns(self, points: Floats) -> dict[str, Floats]:
        """Return points `(n, k)` as one array per factor name."""
        points = np.atleast_2d(np.asarray(points, dtype=float))
        return {name: points[:, column] for column, name in enumerate(self.names)}

    def point(self, settings: Mapping[str, float]) -> Floats:
        """Return the point `(k,)` that named settings describe; KeyError where a factor is missing."""
        return np.array([settings[name] for name in self.names], dtype=float)

    def points(self, rows: Sequence[Mapping[str, float]]) -> Floats:
        """Return points `(n, k)` of several rows of named settings."""
        return np.array([self.point(row) for row in rows], dtype=float).reshape(len(rows), len(self.factors))

    def spread(self, setting_sd: Mapping[str, float]) -> Floats:
        """Return standard deviations of settings, by name in shop units, on the unit cube; 0 where none, `(k,)`. [1]"""
        return np.array([setting_sd.get(name, 0.0) for name in self.names]) / (self.high - self.low)

    def settings(self, point: Floats) -> dict[str, float]:
        """Return a point `(k,)` as plain numbers by name."""
        return {name: float(value) for name, value in zip(self.names, point, strict=True)}
