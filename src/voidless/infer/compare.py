"""Ratios of strengths compared pair by pair, with the number of pairs paid for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtr, stdtrit

from voidless.errors import InputError

__all__ = ["RatioPair", "adjusted_holm", "compare_ratios", "false_shares"]

Floats = NDArray[np.float64]
Strengths = tuple[Sequence[float], Sequence[float]]


@dataclass(frozen=True)
class RatioPair:
    """
    Two groups' ratios of strengths against each other.

    Attributes
    ----------
    first, second : str
        Groups.
    quotient, low, high : float
        Ratio of the first over that of the second, and an interval that holds for all pairs at once. [1]
    freedom : float
        Degrees of freedom. [1]
    p, p_adjusted : float
        Significance of this pair alone, and with the number of pairs paid for. [1]
    false_share : float
        Expected share of wrong ones among the pairs that are at least as sure as this one. [1]
    """

    first: str
    second: str
    quotient: float
    low: float
    high: float
    freedom: float
    p: float
    p_adjusted: float
    false_share: float


def adjusted_holm(p: Sequence[float] | Floats) -> Floats:
    """
    Return significances with the number of comparisons paid for, in the order given. [1]

    Raises
    ------
    InputError
        A value is not between 0 and 1.

    Notes
    -----
    Holm, Scand. J. Stat. 6 (1979) 65: holds whatever the dependence between the comparisons.

    Examples
    --------
    >>> [round(float(value), 2) for value in adjusted_holm([0.01, 0.04, 0.03, 0.005])]
    [0.03, 0.06, 0.06, 0.02]
    """
    found = _significances(p)
    order = np.argsort(found)
    stepped = np.maximum.accumulate(found[order] * np.arange(found.size, 0, -1))
    adjusted = np.empty_like(found)
    adjusted[order] = np.minimum(stepped, 1.0)
    return adjusted


def false_shares(p: Sequence[float] | Floats) -> Floats:
    """
    Return the share of wrong ones to expect among all comparisons at least as sure as each, in the order given. [1]

    Raises
    ------
    InputError
        A value is not between 0 and 1.

    Notes
    -----
    Benjamini & Hochberg, J. R. Stat. Soc. B 57 (1995) 289, as scipy has it. Holds for independent comparisons and for
    those that lean the same way; pairs of the same groups are neither: docs/methods/effects.md says what was simulated.

    Examples
    --------
    >>> [round(float(value), 2) for value in false_shares([0.01, 0.04, 0.03, 0.005])]
    [0.02, 0.04, 0.04, 0.02]
    """
    from scipy.stats import false_discovery_control

    found = _significances(p)
    return np.asarray(false_discovery_control(found)) if found.size else found


def _significances(p: Sequence[float] | Floats) -> Floats:
    found = np.asarray(p, dtype=float)
    if not bool(np.all((found >= 0.0) & (found <= 1.0))):
        raise InputError("comparisons", "a significance outside 0 to 1", "numbers from 0 to 1", "")
    return found


def compare_ratios(groups: Mapping[str, Strengths], confidence: float = 0.95) -> list[RatioPair]:
    """
    Return every pair of groups compared by the ratio of two mean strengths.

    Parameters
    ----------
    groups : mapping of str to (sequence, sequence)
        Strengths through the layers and in plane of each group, above 0, two or more of each. [MPa]
    confidence : float
        Of all intervals together. [1]

    Raises
    ------
    InputError
        A group has fewer than two strengths on a side, one that is not above 0, or no scatter at all.

    Notes
    -----
    Logarithms of the ratios by the delta method, each mean with its own variance; degrees of freedom by Welch and
    Satterthwaite over the four means. Significances by Holm, shares of wrong ones by Benjamini and Hochberg;
    intervals by Bonferroni, so that they are wider than Holm's decisions need. Scatter between builds is inside
    only as far as the specimens come from several.
    """
    found = {name: _logarithm(name, *both) for name, both in groups.items()}
    pairs = list(combinations(found, 2))
    plain = [_pair(first, second, found, 1.0 - (1.0 - confidence) / len(pairs)) for first, second in pairs]
    alone = [pair.p for pair in plain]
    paid = zip(plain, adjusted_holm(alone), false_shares(alone), strict=True)
    return [replace(pair, p_adjusted=float(p), false_share=float(share)) for pair, p, share in paid]


def _pair(
    first: str, second: str, found: Mapping[str, tuple[float, list[tuple[float, int]]]], confidence: float
) -> RatioPair:
    """Return two groups compared by themselves, with an interval of this confidence."""
    (a, own), (b, other) = found[first], found[second]
    parts = np.array([*own, *other])
    variance = float(parts[:, 0].sum())
    freedom = variance**2 / float((parts[:, 0] ** 2 / parts[:, 1]).sum())
    error = float(np.sqrt(variance))
    half = float(stdtrit(freedom, 0.5 + 0.5 * confidence)) * error
    p = 2.0 * float(stdtr(freedom, -abs(a - b) / error))
    quotient, low, high = (float(np.exp(a - b + move)) for move in (0.0, -half, half))
    return RatioPair(first, second, quotient, low, high, freedom, p, p, p)


def _logarithm(
    name: str, through: Sequence[float], in_plane: Sequence[float]
) -> tuple[float, list[tuple[float, int]]]:
    """Return the logarithm of the ratio, and variance and degrees of freedom of each of its two means."""
    value, parts = 0.0, []
    for sign, values in ((1.0, through), (-1.0, in_plane)):
        item = np.asarray(values, dtype=float)
        if not (item.size >= 2 and np.all(np.isfinite(item) & (item > 0.0)) and np.ptp(item) > 0.0):
            raise InputError(
                f"comparison of ratios, {name}", f"{item.size} value(s) on a side",
                "two or more strengths above 0 that scatter", "Test more specimens.",
            )  # fmt: skip
        value += sign * float(np.log(item.mean()))
        parts.append((float(item.var(ddof=1)) / item.size / float(item.mean()) ** 2, item.size - 1))
    return value, parts
