"""One modelled response: its scale, its rivals with and without physics, and their weights."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.infer.gp import Conditioned, Rows, condition
from voidless.infer.hyper import HyperPrior
from voidless.infer.response import ResponseTable
from voidless.infer.transform import Transform

__all__ = ["Output", "Variant", "trend_columns"]

Floats = NDArray[np.float64]


def trend_columns(points: Floats, sds: tuple[float, float]) -> Floats:
    """Return constant and slope columns `(n, 1 + k)` at points of the unit cube, scaled by prior sd. [1]"""
    constant, slope = sds
    return np.hstack([np.full((len(points), 1), constant), slope * (2.0 * points - 1.0)])


@dataclass(frozen=True)
class Variant:
    """
    One of the rival models of a response.

    Attributes
    ----------
    rows : Rows
        Training rows; the target is the standardised residual.
    prior : HyperPrior
        Priors of the hyper-parameters.
    white : (1 + s, h) float array
        White hyper-parameters: row 0 the most probable ones, then posterior samples.
    physics : bool
        Whether the physics prior is its mean.
    trend_sd : (float, float)
        Prior standard deviation of constant and slopes. [1]
    """

    rows: Rows
    prior: HyperPrior
    white: Floats
    physics: bool
    trend_sd: tuple[float, float]

    def conditioned(self, index: int) -> Conditioned:
        """Return the process with the hyper-parameters of one row of `white`."""
        return condition(self.rows, self.prior.scales(self.white[index]))

    def trend(self, points: Floats) -> Floats:
        """Return trend columns at points of the unit cube."""
        return trend_columns(points, self.trend_sd)


@dataclass(frozen=True)
class Output:
    """
    One modelled response.

    Attributes
    ----------
    name, quantity : str
        Output name such as `size_error_mm:hole`, and its quantity.
    transform : Transform
        Scale on which it is learned.
    shift, scale : float
        Learning scale = shift + scale * standardised value (shift acts without physics only).
    variants : tuple of Variant
        Rival models.
    weights : tuple of float
        Their weights, which add to 1.
    table : ResponseTable or None
        Data behind it.
    """

    name: str
    quantity: str
    transform: Transform
    shift: float
    scale: float
    variants: tuple[Variant, ...]
    weights: tuple[float, ...]
    table: ResponseTable | None
