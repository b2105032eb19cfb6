"""The ratio of two mean strengths and its interval, from specimens whose builds nobody recorded."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from voidless.errors import InputError

__all__ = ["BUILDS_UNKNOWN", "Ratio", "strength_ratio"]

BUILDS_UNKNOWN = "builds not recorded, between-build scatter unknown"


@dataclass(frozen=True)
class Ratio:
    """
    A ratio of means with its interval.

    Attributes
    ----------
    value : float
        Mean of the numerator over mean of the denominator. [1]
    low, high : float
        Interval; infinite where it is unbounded. [1]
    confidence : float
        Probability with which the interval covers the ratio. [1]
    freedom : float
        Degrees of freedom. [1]
    g : float
        Square of t times the denominator's relative standard error; from 1 on nothing is bounded. [1]
    bounded : bool
        Whether the interval is bounded.
    note : str
        What it does not cover.
    """

    value: float
    low: float
    high: float
    confidence: float
    freedom: float
    g: float
    bounded: bool
    note: str

    def to_dict(self) -> dict[str, Any]:
        """Return plain data for JSON; unbounded limits are None."""
        return {
            "value": self.value,
            "low": self.low if self.bounded else None,
            "high": self.high if self.bounded else None,
            "confidence": self.confidence,
            "degrees_of_freedom": self.freedom,
            "g": self.g,
            "bounded": self.bounded,
            "note": self.note,
        }


def strength_ratio(
    numerator: Sequence[float] | NDArray[np.float64],
    denominator: Sequence[float] | NDArray[np.float64],
    confidence: float = 0.95,
    pooled: bool = False,
    note: str = BUILDS_UNKNOWN,
) -> Ratio:
    """
    Return the ratio of two independent samples' means with Fieller's interval.

    Parameters
    ----------
    numerator, denominator : (n,) sequence of float
        Strengths through the layers and in plane, in the same unit. [MPa]
    confidence : float
        Two-sided. [1]
    pooled : bool
        One variance for both samples; otherwise each its own, with Satterthwaite's degrees of freedom at
        the ratio found.
    note : str
        What the interval does not cover.

    Returns
    -------
    ratio : Ratio
        Unbounded when the denominator is not told from 0.

    Raises
    ------
    InputError
        A sample has fewer than two values, or values that are not finite.

    Notes
    -----
    Fieller, J. R. Stat. Soc. B 16 (1954) 175. Degrees of freedom with unequal variances: Tamhane & Logan,
    Biometrical Journal 46 (2004), as documented by a public package for ratios.

    Examples
    --------
    >>> found = strength_ratio([20.0, 22.0, 21.0], [30.0, 31.0, 29.0])
    >>> round(found.value, 3), found.bounded
    (0.7, True)
    """
    z, x = _sample(numerator, "numerator"), _sample(denominator, "denominator")
    variance_z, variance_x, freedom = _variances(z, x, pooled)
    t = float(stdtrit(freedom, 0.5 + 0.5 * confidence))
    mean_z, mean_x = float(z.mean()), float(x.mean())
    value = mean_z / mean_x
    g = t**2 * variance_x / mean_x**2
    if not g < 1.0:
        return Ratio(value, -np.inf, np.inf, confidence, freedom, g, False, note)
    half = t / abs(mean_x) * np.sqrt(variance_z + value**2 * variance_x - g * variance_z)
    return Ratio(
        value,
        (value - half) / (1.0 - g),
        (value + half) / (1.0 - g),
        confidence,
        freedom,
        float(g),
        True,
        note,
    )


def _sample(values: Sequence[float] | NDArray[np.float64], name: str) -> NDArray[np.float64]:
    found = np.asarray(values, dtype=float)
    if not (found.size >= 2 and np.all(np.isfinite(found))):
        raise InputError(
            f"ratio, {name}",
            f"{found.size} value(s), finite or not",
            "at least two finite strengths on either side",
            "Test more specimens.",
        )
    return found


def _variances(z: NDArray[np.float64], x: NDArray[np.float64], pooled: bool) -> tuple[float, float, float]:
    """Return the variances of both means and the degrees of freedom."""
    own_z, own_x = float(z.var(ddof=1)), float(x.var(ddof=1))
    n_z, n_x = z.size, x.size
    if pooled:
        freedom = float(n_z + n_x - 2)
        both = ((n_z - 1) * own_z + (n_x - 1) * own_x) / freedom
        return both / n_z, both / n_x, freedom
    a, b = own_z / n_z, (z.mean() / x.mean()) ** 2 * own_x / n_x
    total = a**2 / (n_z - 1) + b**2 / (n_x - 1)
    freedom = float((a + b) ** 2 / total) if total > 0.0 else float(n_z + n_x - 2)
    return own_z / n_z, own_x / n_x, freedom
