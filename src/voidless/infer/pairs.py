"""Strengths through the layers and in plane of one build -> their ratio, as a response of its own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.infer.prior import Prior
from voidless.infer.response import ResponseTable

__all__ = ["RATIO", "RATIO_PARTS", "PriorWithRatio", "paired"]

Floats = NDArray[np.float64]

RATIO = "z_ratio"
RATIO_PARTS = ("strength_z_mpa", "strength_xy_mpa")


def paired(upper: ResponseTable, lower: ResponseTable) -> ResponseTable | None:
    """
    Return the table of a ratio of two responses, one row per build that has both; None where none has.

    Notes
    -----
    Ratio of means; its scatter within builds follows, to first order, from the pooled scatter of either part.
    What settings or weather do to both strengths of a build leaves their ratio alone: learned as one
    response it is known two to four times better than from two that are learned apart. A bound of one part is
    a bound of the ratio.
    """
    above, below = _exact(upper), _exact(lower)
    found = [
        (row, (value, count, variance), below[row], side)
        for row, value, count, variance, side in _rows(upper)
        if row in below
    ]
    found += [
        (row, above[row], (value, count, variance), -side)
        for row, value, count, variance, side in _rows(lower)
        if side and row in above
    ]
    if not found:
        return None
    builds, first, second, sides = zip(*sorted(found, key=lambda item: item[0]), strict=True)
    (z, z_count, z_variance), (xy, xy_count, xy_variance) = np.array(first).T, np.array(second).T
    ratio = z / xy
    shares = np.array([_pooled(upper) / xy**2, _pooled(lower) * (ratio / xy) ** 2])
    scatter, of_mean = shares.sum(axis=0), shares[0] / z_count + shares[1] / xy_count
    freedom = min(upper.freedom_within, lower.freedom_within) if np.all(scatter > 0.0) else 0.0
    return ResponseTable(
        RATIO,
        RATIO,
        np.array(builds, dtype=np.int64),
        ratio,
        np.where(of_mean > 0.0, scatter / np.where(of_mean > 0.0, of_mean, 1.0), 1.0),
        z_variance / xy**2 + xy_variance * (ratio / xy) ** 2,
        np.array(sides, dtype=np.int64),
        freedom * float(np.mean(scatter)),
        freedom,
    )


def _rows(table: ResponseTable) -> list[tuple[int, float, float, float, int]]:
    columns = (table.rows, table.values, table.counts, table.variances, table.sides)
    return [(int(a), float(b), float(c), float(d), int(e)) for a, b, c, d, e in zip(*columns, strict=True)]


def _exact(table: ResponseTable) -> dict[int, tuple[float, float, float]]:
    return {row: (value, count, variance) for row, value, count, variance, side in _rows(table) if not side}


def _pooled(table: ResponseTable) -> float:
    """Return the variance of specimens of one build; 0 where no build tells it. [unit squared]"""
    return table.squares_within / table.freedom_within if table.freedom_within > 0.0 else 0.0


@dataclass(frozen=True)
class PriorWithRatio:
    """A physics model of both strengths that gives their ratio too; errors of the two are taken as independent."""

    whole: Prior
    typical: tuple[float, float]
    """Typical strengths, through the layers and in plane. [MPa]"""

    @classmethod
    def at(cls, whole: Prior, points: Floats) -> PriorWithRatio:
        """Return the model with its typical strengths those of some points `(n, k)`."""
        theta = np.array([row[1] for row in whole.parameters], dtype=float)
        values = np.asarray(whole(points, theta), dtype=float)
        z, xy = (float(np.mean(values[:, whole.responses.index(name)])) for name in RATIO_PARTS)
        return cls(whole, (z, xy))

    @property
    def responses(self) -> tuple[str, ...]:
        """The model's, and the ratio."""
        return (*self.whole.responses, RATIO)

    @property
    def parameters(self) -> tuple[tuple[str, float, float], ...]:
        """The model's."""
        return self.whole.parameters

    @property
    def discrepancy_sd(self) -> Mapping[str, float]:
        """The model's, and what those of both strengths come to in a typical ratio."""
        stated, (z, xy) = self.whole.discrepancy_sd, self.typical
        upper, lower = (float(stated[name]) for name in RATIO_PARTS)
        return {**stated, RATIO: float(np.hypot(upper / xy, lower * z / xy**2))}

    def __call__(self, points: Floats, theta: Floats) -> Floats:
        """Return the model's responses and the ratio, `(n, r + 1)`."""
        values = np.asarray(self.whole(points, theta), dtype=float)
        z, xy = (values[:, self.whole.responses.index(name)] for name in RATIO_PARTS)
        return np.column_stack([values, z / xy])
