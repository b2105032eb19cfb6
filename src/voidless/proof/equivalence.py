"""Equivalence to a reference, and ratios of responses measured build by build."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import stdtr, stdtrit

from voidless.errors import InputError

__all__ = ["Equivalence", "Sample", "equivalence", "paired_ratio", "sample_of"]


@dataclass(frozen=True)
class Sample:
    """Mean, standard deviation and number of values. [unit of the response]"""

    mean: float
    sd: float
    size: int


@dataclass(frozen=True)
class Equivalence:
    """
    Two one-sided tests.

    Attributes
    ----------
    difference : float
        Mean minus mean of the reference. [unit of the response]
    low, high : float
        Interval that must lie inside the margin: 1 - 2 alpha. [unit of the response]
    p : float
        The larger of both one-sided significances. [1]
    freedom : float
        Degrees of freedom. [1]
    margin : float
        Largest difference that counts as equal. [unit of the response]
    """

    difference: float
    low: float
    high: float
    p: float
    freedom: float
    margin: float

    @property
    def shown(self) -> bool:
        """Whether the difference is shown to lie inside the margin."""
        return -self.margin < self.low and self.high < self.margin


def sample_of(values: Sequence[float]) -> Sample:
    """Return a sample's mean, standard deviation and size."""
    found = np.asarray(values, dtype=float)
    return Sample(
        float(found.mean()), float(found.std(ddof=1)) if found.size > 1 else float("nan"), found.size
    )


def equivalence(sample: Sample, reference: Sample, margin: float, alpha: float = 0.05) -> Equivalence:
    """
    Return whether two means are shown to differ by less than a margin.

    Parameters
    ----------
    sample, reference : Sample
        Independent; each with its own variance.
    margin : float
        Stated before the data were seen, above 0. [unit of the response]
    alpha : float
        Of each one-sided test. [1]

    Raises
    ------
    InputError
        The margin is not above 0, or a sample has no scatter or fewer than two values.

    Notes
    -----
    Schuirmann, J. Pharmacokinet. Biopharm. 15 (1987) 657; degrees of freedom by Welch.
    """
    if not margin > 0.0:
        raise InputError(
            "equivalence", f"margin {margin}", "a margin above 0", "State the largest harmless difference."
        )
    for name, item in (("sample", sample), ("reference", reference)):
        if item.size < 2 or not item.sd > 0.0:
            raise InputError(
                f"equivalence, {name}", f"{item.size} value(s) with standard deviation {item.sd}",
                "two or more values that scatter", "Measure more.",
            )  # fmt: skip
    own, other = sample.sd**2 / sample.size, reference.sd**2 / reference.size
    error = np.sqrt(own + other)
    freedom = (own + other) ** 2 / (own**2 / (sample.size - 1) + other**2 / (reference.size - 1))
    difference = sample.mean - reference.mean
    half = float(stdtrit(freedom, 1.0 - alpha)) * error
    p = max(stdtr(freedom, -(difference + margin) / error), stdtr(freedom, (difference - margin) / error))
    return Equivalence(
        difference, float(difference - half), float(difference + half), float(p), float(freedom), margin
    )


def paired_ratio(
    numerator: Sequence[float], denominator: Sequence[float], confidence: float = 0.95
) -> tuple[float, float, float]:
    """
    Return the ratio of two responses measured build by build, with its interval. [1]

    Parameters
    ----------
    numerator, denominator : (b,) sequences of float
        Means of the same builds, above 0.

    Raises
    ------
    InputError
        Different lengths, fewer than two builds, or a value that is not above 0.

    Notes
    -----
    Logarithm of the ratio of both means, by the delta method with Student's t: Bonett & Price, J. Educ. Behav.
    Stat. 45 (2020) 750.
    """
    top, bottom = np.asarray(numerator, dtype=float), np.asarray(denominator, dtype=float)
    if top.shape != bottom.shape or top.size < 2 or not bool(np.all((top > 0.0) & (bottom > 0.0))):
        raise InputError(
            "ratio build by build", f"{top.size} and {bottom.size} builds",
            "the same two or more builds, values above 0", "Test both directions in every build.",
        )  # fmt: skip
    size = top.size
    spread = np.cov(top / top.mean(), bottom / bottom.mean())
    error = float(np.sqrt(max(spread[0, 0] + spread[1, 1] - 2.0 * spread[0, 1], 0.0) / size))
    middle = float(np.log(top.mean() / bottom.mean()))
    half = float(stdtrit(size - 1, 0.5 + 0.5 * confidence)) * error
    return float(np.exp(middle)), float(np.exp(middle - half)), float(np.exp(middle + half))
