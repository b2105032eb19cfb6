"""A straight line through readings, with an uncertainty that holds for correlated noise."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.errors import ComputationError
from voidless.measure.series.noise import GROUPS

__all__ = ["Trend", "coverage_factor", "fit_trend"]

Floats = NDArray[np.float64]

GROUP_FROM = 2 * GROUPS


@dataclass(frozen=True)
class Trend:
    """
    A straight line.

    Attributes
    ----------
    slope, slope_uncertainty : float
        Its standard uncertainty is enlarged for few degrees of freedom: 1.96 times it is a 95 % interval.
        [unit of y over unit of x]
    x_mean, y_mean, mean_uncertainty : float
        Centre of the readings, through which the line goes. [units of x, y, y]
    r_squared : float
        Share of the variance that the line explains. [1]
    correlation : float
        Between neighbouring group means, 0 where none shows. [1]
    """

    slope: float
    slope_uncertainty: float
    x_mean: float
    y_mean: float
    mean_uncertainty: float
    r_squared: float
    correlation: float

    @property
    def zero(self) -> float:
        """Where the line meets y = 0. [unit of x]"""
        return self.x_mean - self.y_mean / self.slope

    @property
    def zero_uncertainty(self) -> float:
        """Standard uncertainty of `zero`. [unit of x]"""
        lever = self.y_mean / self.slope
        return float(
            np.hypot(self.mean_uncertainty / self.slope, lever * self.slope_uncertainty / self.slope)
        )


def coverage_factor(freedom: float) -> float:
    """
    Return how much wider than a normal one a 95 % interval is for few degrees of freedom.

    Parameters
    ----------
    freedom : float
        Degrees of freedom, above 0. [1]

    Returns
    -------
    factor : float
        Quantile 0.975 of Student's t over 1.959964. [1]
    """
    from scipy.special import stdtrit

    return float(stdtrit(freedom, 0.975)) / 1.959963984540054


def _grouped(values: Floats, groups: int) -> tuple[Floats, Floats]:
    edges = np.linspace(0, values.size, groups + 1).astype(int)
    return np.add.reduceat(values, edges[:-1]) / np.diff(edges), np.diff(edges).astype(float)


def fit_trend(x: Floats, y: Floats, bent: bool = False) -> Trend:
    """
    Return the straight line through readings in their order.

    Parameters
    ----------
    x : (n,) float array
        Where, in the order of reading. [unit of x]
    y : (n,) float array
        What. [unit of y]
    bent : bool
        Whether the course may be bent: the slope is then the mean one, and scatter is judged about a parabola.

    Returns
    -------
    trend : Trend
        From 32 readings on, from the means of 16 groups of neighbours.

    Raises
    ------
    ComputationError
        Fewer than 3 readings, one that is not finite, or no spread of `x`.

    Notes
    -----
    Group means keep noise that hangs together over less than a group, whatever its form, and scatter of
    `x` hardly flattens the line. What correlation is left between neighbouring means (phi, corrected for
    its bias of about -3 / groups) enlarges the variance by (1 + phi) / (1 - phi).
    """
    x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    if x.size < 3 or not (np.all(np.isfinite(x)) and np.all(np.isfinite(y))):
        raise ComputationError("trend", f"{x.size} readings", "at least 3 finite readings")
    groups = GROUPS if x.size >= GROUP_FROM else x.size
    (xs, weight), (ys, _) = _grouped(x, groups), _grouped(y, groups)
    weight /= weight.sum()
    x_mean, y_mean = float(weight @ xs), float(weight @ ys)
    spread, level = xs - x_mean, ys - y_mean
    variance = float(weight @ spread**2)
    if not variance > 1e-24 * max(float(np.max(np.abs(xs))) ** 2, 1e-300):
        raise ComputationError("trend", "the readings stand at one place", "a spread of places")
    slope = float(weight @ (spread * level)) / variance
    residual = level - slope * spread
    freedom = groups - 2
    if bent and groups > 6:
        curve = spread**2 - variance - float(weight @ spread**3) / variance * spread
        residual = residual - float(curve @ residual) / float(curve @ curve) * curve
        freedom -= 1
    power = float(residual @ residual)
    phi = 0.0
    if freedom > 3 and power > 0:
        phi = min(max(float(residual[1:] @ residual[:-1]) / power + 3.0 / groups, 0.0), 0.8)
    scatter = (power / freedom * (1.0 + phi) / (1.0 - phi)) ** 0.5 * coverage_factor(freedom)
    whole = y - y.mean()
    left = whole - slope * (x - x.mean())
    total = float(whole @ whole)
    return Trend(
        slope,
        scatter / (groups * variance) ** 0.5,
        x_mean,
        y_mean,
        scatter / groups**0.5,
        1.0 - float(left @ left) / total if total > 0 else 1.0,
        phi,
    )
