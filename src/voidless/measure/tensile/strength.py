"""Strength of a force curve by two methods."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voidless.measure.tensile.events import course_of

__all__ = ["METHODS", "first_maximum", "maximum"]

Floats = NDArray[np.float64]


def maximum(force_n: Floats, along: Floats | None = None) -> int:
    """
    Return the place of the largest force: method `maximum`.

    Parameters
    ----------
    force_n : (n,) float array
        Force. [N]
    along : (n,) float array or None
        Travel, extension or time. [any unit]

    Returns
    -------
    index : int
        Place of the largest force. [1]

    Raises
    ------
    ComputationError
        No force is above 0, or fewer than 3 are given.
    """
    return course_of(force_n, along).top


def first_maximum(force_n: Floats, along: Floats | None = None) -> int:
    """
    Return the place of the first local maximum: method `iso527_2012`.

    Parameters
    ----------
    force_n : (n,) float array
        Force. [N]
    along : (n,) float array or None
        Travel, extension or time; it helps to tell a slip from a yield point. [any unit]

    Returns
    -------
    index : int
        Place of the first top that is no slip in the grips. [1]

    Raises
    ------
    ComputationError
        No force is above 0, or fewer than 3 are given.

    Notes
    -----
    ISO 527-1:2012 defines the tensile strength as the stress at the first maximum, be it yield or break
    (wording from memory). What counts as one in a noisy record is said at `course_of`.
    """
    return course_of(force_n, along).first


METHODS = {"maximum": maximum, "iso527_2012": first_maximum}
"""Methods of strength by the names that result tables use."""
