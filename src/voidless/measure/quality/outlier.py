"""Values that stand apart: flagged, never dropped."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from voidless.errors import InputError

__all__ = ["Outlier", "grubbs", "grubbs_limit"]


@dataclass(frozen=True)
class Outlier:
    """
    The value farthest from its mean.

    Attributes
    ----------
    place : int
        Where it stands. [1]
    statistic, limit : float
        Distance from the mean in standard deviations, and what chance alone reaches at the level. [1]
    stands_apart : bool
        Whether the statistic exceeds the limit. It stays in the data.
    """

    place: int
    statistic: float
    limit: float
    stands_apart: bool


def grubbs_limit(count: int, level: float = 0.05, two_sided: bool = True) -> float:
    """
    Return the distance that the farthest of normal values exceeds by chance alone.

    Parameters
    ----------
    count : int
        Values, at least 3. [1]
    level : float
        Chance. [1]
    two_sided : bool
        Whether either end is looked at.

    Returns
    -------
    limit : float
        In standard deviations of the sample. [1]

    Raises
    ------
    InputError
        Fewer than 3 values.

    Notes
    -----
    F. E. Grubbs, Annals of Mathematical Statistics 21 (1950) 27: (n - 1) / sqrt(n) sqrt(t² / (n - 2 + t²)),
    t at level / n, or level / (2 n) two-sided (ISO 5725-2).
    """
    if count < 3:
        raise InputError("outlier", f"{count} values", "at least 3", "More specimens.")
    from scipy.special import stdtrit

    t = float(stdtrit(count - 2, 1.0 - level / (2.0 * count if two_sided else count)))
    return float((count - 1) / count**0.5 * (t * t / (count - 2 + t * t)) ** 0.5)


def grubbs(values: Sequence[float], level: float = 0.05, two_sided: bool = True) -> Outlier:
    """
    Return the value that lies farthest from the mean and whether it stands apart.

    Parameters
    ----------
    values : sequence of float
        At least 3, taken as normal. [any unit]
    level : float
        Chance of a false flag. [1]
    two_sided : bool
        Whether the smallest may stand apart as well as the largest.

    Returns
    -------
    outlier : Outlier
        A flag to look into: the record of that specimen first.

    Raises
    ------
    InputError
        Fewer than 3 values, one that is not finite, or no spread.
    """
    found = np.asarray(values, dtype=float)
    limit = grubbs_limit(found.size, level, two_sided)
    spread = float(found.std(ddof=1))
    if not (np.all(np.isfinite(found)) and spread > 0):
        raise InputError(
            "outlier", "values without spread, or not finite", "finite values that differ", "Check them."
        )
    apart = (found - found.mean()) / spread
    place = int(np.argmax(np.abs(apart) if two_sided else apart))
    statistic = float(abs(apart[place]))
    return Outlier(place, statistic, limit, statistic > limit)
