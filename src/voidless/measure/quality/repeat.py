"""Repeatability and reproducibility of a measurement: days, operators, rigs as groups (ISO 5725-2)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from voidless.errors import InputError

__all__ = ["Precision", "precision_of"]

LIMIT = 2.8
"""Limit over standard deviation: 1.96 times root 2, as ISO 5725-6 rounds it. [1]"""
LEVEL = 0.005


@dataclass(frozen=True)
class Precision:
    """
    Precision of a method.

    Attributes
    ----------
    mean : float
        Mean of the groups. [unit of the readings]
    s_r, s_R : float
        Standard deviations of repeatability (one group) and of reproducibility (between groups); `s_R` is never
        below `s_r`. [unit of the readings]
    r, R : float
        Limits within which two readings lie in 95 % of cases: 2.8 times each. [unit of the readings]
    between : float
        Standard deviation between groups alone, 0 where none shows. [unit of the readings]
    h, k : dict of str to float
        Each group's mean and scatter against the others. [1]
    h_limit, k_limit : float
        Values that 0.5 % of sound groups exceed. [1]
    flags : tuple of str
        Groups that stand out; none is left out.
    """

    mean: float
    s_r: float
    s_R: float  # noqa: N815 - the standard's own symbols
    r: float
    R: float
    between: float
    h: dict[str, float]
    k: dict[str, float]
    h_limit: float
    k_limit: float
    flags: tuple[str, ...]


def precision_of(groups: Mapping[str, Sequence[float]]) -> Precision:
    """
    Return repeatability and reproducibility from groups of repeated readings of one thing.

    Parameters
    ----------
    groups : mapping of str to sequence of float
        Readings by day, operator or rig, equally many in each. [any one unit]

    Returns
    -------
    precision : Precision
        By ISO 5725-2; h and k by ASTM E691.

    Raises
    ------
    InputError
        Fewer than two groups, fewer than two readings in one, or unequal numbers.

    Notes
    -----
    s_r² is the mean variance within groups, s_R² the variance of the group means plus s_r² (n - 1) / n.
    """
    rows = [np.asarray(values, dtype=float) for values in groups.values()]
    sizes = {row.size for row in rows}
    if (
        len(rows) < 2
        or len(sizes) != 1
        or min(sizes) < 2
        or not all(np.all(np.isfinite(row)) for row in rows)
    ):
        raise InputError(
            "repeatability",
            f"{len(rows)} groups of {sorted(sizes)} readings",
            "two or more groups of equally many, at least two, readings",
            "Measure the same piece as often in each group.",
        )
    table = np.array(rows)
    count, each = table.shape
    means, spreads = table.mean(axis=1), table.std(axis=1, ddof=1)
    within = float(np.mean(spreads**2))
    apart = float(means.var(ddof=1))
    s_r = within**0.5
    s_big = max(apart + within * (each - 1) / each, within) ** 0.5
    h = (means - means.mean()) / apart**0.5 if apart > 0 else np.zeros(count)
    k = spreads / s_r if s_r > 0 else np.ones(count)
    h_limit, k_limit = _limits(count, each)
    named_h, named_k = (dict(zip(groups, map(float, item), strict=True)) for item in (h, k))
    flags = [
        f"{name}: its mean stands apart (h = {value:.3f})"
        for name, value in named_h.items()
        if abs(value) > h_limit
    ]
    flags += [
        f"{name}: its readings scatter more (k = {value:.3f})"
        for name, value in named_k.items()
        if value > k_limit
    ]
    return Precision(
        float(means.mean()),
        s_r,
        s_big,
        LIMIT * s_r,
        LIMIT * s_big,
        max(apart - within / each, 0.0) ** 0.5,
        named_h,
        named_k,
        h_limit,
        k_limit,
        tuple(flags),
    )


def _limits(count: int, each: int) -> tuple[float, float]:
    """Return the critical h and k of ASTM E691 at 0.5 %."""
    from scipy.special import fdtri, stdtrit

    if count < 3:
        return float("inf"), float("inf")
    t = float(stdtrit(count - 2, 1.0 - LEVEL / 2.0))
    h = (count - 1) * t / (count * (t * t + count - 2)) ** 0.5
    f = float(fdtri(each - 1, (count - 1) * (each - 1), 1.0 - LEVEL))
    return h, float((count / (1.0 + (count - 1) / f)) ** 0.5)
