"""Strength of a force curve by two methods."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voidless.errors import ComputationError

__all__ = ["METHODS", "first_maximum", "force_noise", "maximum"]

Floats = NDArray[np.float64]

GUARD_SHARE = 0.01
CONTACT_SHARE = 0.01


def _checked(force_n: Floats) -> Floats:
    force = np.asarray(force_n, dtype=float)
    if force.size < 3 or not np.all(np.isfinite(force)) or not force.max() > 0:
        raise ComputationError(
            "strength",
            f"{force.size} forces with none above 0",
            "at least 3 finite forces with one above 0 N",
        )
    return force


def force_noise(force_n: Floats) -> float:
    """
    Return the standard deviation of the noise of a force record.

    Parameters
    ----------
    force_n : (n,) float array
        Force. [N]

    Returns
    -------
    noise : float
        From the median size of second differences, which a smooth curve hardly has. [N]

    Notes
    -----
    Second differences of white noise have a variance of 6 times its own; the median of the absolute
    value of a normal variable is 0.6745 standard deviations.
    """
    force = np.asarray(force_n, dtype=float)
    if force.size < 5:
        return 0.0
    return float(np.median(np.abs(np.diff(force, 2))) / (0.6745 * np.sqrt(6.0)))


def maximum(force_n: Floats) -> int:
    """
    Return the place of the largest force: method `maximum`.

    Parameters
    ----------
    force_n : (n,) float array
        Force. [N]

    Returns
    -------
    index : int
        Place of the largest force. [1]

    Raises
    ------
    ComputationError
        No force is above 0, or fewer than 3 are given.
    """
    return int(np.argmax(_checked(force_n)))


def first_maximum(force_n: Floats) -> int:
    """
    Return the place of the first local maximum: method `iso527_2012`.

    Parameters
    ----------
    force_n : (n,) float array
        Force. [N]

    Returns
    -------
    index : int
        Place of the first force after which the force falls by more than a guard against noise. [1]

    Raises
    ------
    ComputationError
        No force is above 0, or fewer than 3 are given.

    Notes
    -----
    ISO 527-1:2012 defines the tensile strength as the stress at the first maximum, be it yield or break
    (wording from memory). What counts as a maximum in a noisy record is our choice: a fall of over 1 % of
    the largest force and over the range that noise alone spans, about 2 sqrt(2 ln n) standard deviations
    in n readings, after the force was last below 1 % of it (a false start is no test). A slip in the
    grips looks the same; `reduce_tensile` flags every fall before a higher rise.
    """
    force = _checked(force_n)
    top = float(force.max())
    guard = max(GUARD_SHARE * top, 2.0 * np.sqrt(2.0 * np.log(force.size)) * force_noise(force))
    slack = np.flatnonzero(force[: int(np.argmax(force))] < CONTACT_SHARE * top)
    start = int(slack[-1]) if slack.size else 0
    test = force[start:]
    fallen = np.flatnonzero(np.maximum.accumulate(test) - test > guard)
    return start + int(np.argmax(test[: fallen[0]] if fallen.size else test))


METHODS = {"maximum": maximum, "iso527_2012": first_maximum}
"""Methods of strength by the names that result tables use."""
