"""Tolerance factors of a normal sample, and ranks that hold for any distribution."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from scipy import integrate, optimize, special, stats

from voidless.errors import InputError

__all__ = ["one_sided_factor", "rank_bound", "smallest_sample", "two_sided_factor"]

_MOST = 100_000


def one_sided_factor(content: float, confidence: float, size: float, freedom: float | None = None) -> float:
    """
    Return k: mean - k s lies, with the confidence, below the stated share of a normal population.

    Parameters
    ----------
    content, confidence : float
        Share of the population, and probability of the statement, between 0 and 1. [1]
    size : float
        Number of values behind the mean, from 2; an effective number may be fractional. [1]
    freedom : float or None
        Degrees of freedom of s; `size` - 1 when None. [1]

    Raises
    ------
    InputError
        A probability is not inside (0, 1), or there are fewer than two values.

    Notes
    -----
    Exact: quantile of the noncentral t distribution over the square root of the size; Natrella,
    Experimental Statistics, NBS Handbook 91 (1963); NIST/SEMATECH e-Handbook 7.2.6.3.

    Examples
    --------
    >>> round(one_sided_factor(0.90, 0.95, 10), 3)
    2.355
    """
    _check(content, confidence, size)
    return _noncentral(content, confidence, float(size), float(size - 1.0 if freedom is None else freedom))


@lru_cache(maxsize=4096)
def _noncentral(content: float, confidence: float, size: float, freedom: float) -> float:
    """Return the factor; kept, since quantiles of the noncentral t take milliseconds and are asked for often."""
    root = np.sqrt(size)
    return float(stats.nct.ppf(confidence, freedom, stats.norm.ppf(content) * root) / root)


def two_sided_factor(content: float, confidence: float, size: int) -> float:
    """
    Return k: mean ± k s holds, with the confidence, at least the stated share of a normal population.

    Parameters
    ----------
    content, confidence : float
        Between 0 and 1. [1]
    size : int
        Number of values, from 2. [1]

    Raises
    ------
    InputError
        A probability is not inside (0, 1), or there are fewer than two values.

    Notes
    -----
    Exact by numerical integration over the sample mean (Odeh, Commun. Stat. B 7 (1978) 183), not the
    approximation of Howe (J. Am. Stat. Assoc. 64 (1969) 610).

    Examples
    --------
    >>> round(two_sided_factor(0.90, 0.95, 10), 4)
    2.8563
    """
    _check(content, confidence, size)
    freedom = size - 1.0

    def covered(factor: float) -> float:
        def given_mean(z: float) -> float:
            reach = np.sqrt(stats.ncx2.ppf(content, 1.0, z * z / size))
            return float(stats.chi2.sf(freedom * (reach / factor) ** 2, freedom) * np.exp(-0.5 * z * z))

        return float(2.0 * integrate.quad(given_mean, 0.0, 8.0, epsabs=1e-10)[0] / np.sqrt(2.0 * np.pi))

    howe = stats.norm.ppf(0.5 + 0.5 * content) * np.sqrt(
        freedom * (1.0 + 1.0 / size) / stats.chi2.ppf(1.0 - confidence, freedom)
    )
    return float(optimize.brentq(lambda k: covered(k) - confidence, 0.5 * howe, 2.0 * howe, xtol=1e-9))


def rank_bound(content: float, confidence: float, size: int) -> int:
    """
    Return the rank, from the lowest value, that bounds the stated share from below; 0 when none does.

    Notes
    -----
    The number of values below the quantile is binomial, whatever the distribution.

    Examples
    --------
    >>> rank_bound(0.90, 0.95, 29), rank_bound(0.90, 0.95, 28)
    (1, 0)
    """
    _check(content, confidence, max(size, 2))
    ranks = np.arange(1, size + 1)
    holds = special.bdtr(ranks - 1, size, 1.0 - content) <= 1.0 - confidence
    return int(holds.sum())


def smallest_sample(content: float, confidence: float) -> int:
    """
    Return the fewest values whose lowest bounds the stated share from below, whatever the distribution.

    Examples
    --------
    >>> smallest_sample(0.90, 0.95), smallest_sample(0.99, 0.95)
    (29, 299)
    """
    _check(content, confidence, 2)
    return int(np.ceil(np.log1p(-confidence) / np.log(content)))


def _check(content: float, confidence: float, size: float) -> None:
    for name, value in (("share", content), ("confidence", confidence)):
        if not 0.0 < value < 1.0:
            raise InputError("tolerance bound", f"{name} {value}", "a number between 0 and 1", "Correct it.")
    if not 2.0 <= size <= _MOST:
        raise InputError("tolerance bound", f"{size} value(s)", f"2 to {_MOST} values", "Test more.")
