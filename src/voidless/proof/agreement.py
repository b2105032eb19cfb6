"""Whether builds may be pooled, and whether a sample looks normal."""

from __future__ import annotations

import warnings
from collections.abc import Sequence

import numpy as np
from scipy import stats

from voidless.errors import InputError

__all__ = ["batches_agree", "distance_significance"]


def batches_agree(values: Sequence[Sequence[float]]) -> float:
    """
    Return the significance of the difference between batches; small values say that they differ. [1]

    Notes
    -----
    Anderson-Darling test of k samples, ranks of ties at their middle (Scholz & Stephens, J. Am. Stat. Assoc. 82
    (1987) 918), from scipy, whose p lies between 0.001 and 0.25 by its table.

    Raises
    ------
    InputError
        Fewer than two batches, or a batch of one.
    """
    if len(values) < 2 or min(map(len, values)) < 2:
        raise InputError("batches", f"{len(values)} of them", "two or more batches of two or more values", "")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # p beyond the table: stated above
        return float(stats.anderson_ksamp([np.asarray(group, dtype=float) for group in values]).pvalue)


def distance_significance(values: Sequence[float], distribution: str = "normal") -> float:
    """
    Return the observed significance of a sample's distance from a distribution; below 0.05 it does not fit. [1]

    Parameters
    ----------
    values : sequence of float
        Complete sample, at least three different values.
    distribution : str
        `normal` or `weibull`.

    Raises
    ------
    InputError
        Too few values.

    Notes
    -----
    Anderson-Darling with both parameters estimated; significance as CMH-17 volume 1, chapter 8 gives it.
    """
    found = np.sort(np.asarray(values, dtype=float))
    size = found.size
    if size < 3 or not np.ptp(found) > 0.0:
        raise InputError(
            "fit of a distribution", f"{size} value(s)", "three or more that differ", "Test more."
        )
    if distribution == "weibull":
        from voidless.proof.weibull import fit_weibull

        fit = fit_weibull(found.tolist())
        below = -np.expm1(-((found / fit.scale) ** fit.shape))
    else:
        below = stats.norm.cdf((found - found.mean()) / found.std(ddof=1))
    ranks = np.arange(1, size + 1)
    with np.errstate(divide="ignore"):
        distance = -size - float(((2 * ranks - 1) / size * (np.log(below) + np.log1p(-below[::-1]))).sum())
    if distribution == "weibull":
        star = (1.0 + 0.2 / np.sqrt(size)) * distance
        return float(1.0 / (1.0 + np.exp(-0.10 + 1.24 * np.log(star) + 4.48 * star)))
    star = (1.0 + 4.0 / size - 25.0 / size**2) * distance
    return float(1.0 / (1.0 + np.exp(-0.48 + 0.78 * np.log(star) + 4.58 * star)))
