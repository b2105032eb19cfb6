"""Checks that stop impossible values at the door of a model; NaN fails every one of them."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from voidless.errors import InputError

__all__ = ["require_between", "require_not_negative", "require_positive"]


def _refuse(where: str, name: str, expected: str) -> None:
    raise InputError(where, f"{name} is not {expected} everywhere", expected, f"Correct {name}.")


def require_positive(where: str, **values: ArrayLike) -> None:
    """
    Return nothing when every value is above zero and finite.

    Raises
    ------
    InputError
        A value is zero, negative, infinite or not a number.
    """
    for name, value in values.items():
        array = np.asarray(value, dtype=float)
        if not np.all((array > 0) & np.isfinite(array)):
            _refuse(where, name, "above zero")


def require_not_negative(where: str, **values: ArrayLike) -> None:
    """
    Return nothing when every value is zero or more and finite.

    Raises
    ------
    InputError
        A value is negative, infinite or not a number.
    """
    for name, value in values.items():
        array = np.asarray(value, dtype=float)
        if not np.all((array >= 0) & np.isfinite(array)):
            _refuse(where, name, "zero or more")


def require_between(where: str, low: float, high: float, **values: ArrayLike) -> None:
    """
    Return nothing when every value lies in a closed interval.

    Raises
    ------
    InputError
        A value lies outside or is not a number.
    """
    for name, value in values.items():
        array = np.asarray(value, dtype=float)
        if not np.all((array >= low) & (array <= high)):
            _refuse(where, name, f"between {low:g} and {high:g}")
