"""What was measured of one response."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["ResponseTable"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class ResponseTable:
    """
    What was measured of one response, one row per build (and one per censored specimen).

    Attributes
    ----------
    name, quantity : str
        Output name such as `size_error_mm:hole`, and the quantity it belongs to.
    rows : (n,) int array
        Position of each row's build in `TrainingData.builds`.
    values : (n,) float array
        Mean of the build's specimens, or the limit of a censored specimen. [unit of the quantity]
    counts : (n,) float array
        Specimens behind each mean. [1]
    variances : (n,) float array
        Variance of each mean that its stated measurement uncertainties give. [unit squared]
    sides : (n,) int array
        0 exact, 1 the value is a lower bound, -1 an upper bound.
    squares_within, freedom_within : float
        Sum of squares of specimens about their build's mean, and its degrees of freedom.
    squares_reading, freedom_reading : float
        The same of readings about their specimen's mean.
    """

    name: str
    quantity: str
    rows: Ints
    values: Floats
    counts: Floats
    variances: Floats
    sides: Ints
    squares_within: float = 0.0
    freedom_within: float = 0.0
    squares_reading: float = 0.0
    freedom_reading: float = 0.0
