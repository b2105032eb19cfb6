"""Polynomial model terms by name (`1`, `flow_pct`, `flow_pct:fan_pct`, `flow_pct^2`) and their columns."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError

__all__ = ["INTERCEPT", "MODELS", "degree", "model_matrix", "model_terms", "powers", "term_words"]

Floats = NDArray[np.float64]

INTERCEPT = "1"
MODELS = ("linear", "interactions", "quadratic")


def model_terms(names: Sequence[str], model: str) -> tuple[str, ...]:
    """
    Return the terms of a model: constant, main effects, interactions of two, squares.

    Parameters
    ----------
    names : sequence of str
        Factors.
    model : str
        `linear`, `interactions` (adds products of two) or `quadratic` (adds squares as well).

    Raises
    ------
    InputError
        No model has this name.

    Examples
    --------
    >>> model_terms(["a", "b"], "quadratic")
    ('1', 'a', 'b', 'a:b', 'a^2', 'b^2')
    """
    if model not in MODELS:
        raise InputError(
            "model", f"{model!r} is not a model", "one of " + ", ".join(MODELS), "Correct the name."
        )
    terms = (INTERCEPT, *names)
    if model != "linear":
        terms += tuple(f"{one}:{other}" for one, other in combinations(names, 2))
    if model == "quadratic":
        terms += tuple(f"{name}^2" for name in names)
    return terms


def powers(names: Sequence[str], terms: Sequence[str]) -> NDArray[np.int64]:
    """
    Return the exponent of every factor in every term, `(t, k)`.

    Raises
    ------
    InputError
        A term names something that is not a factor, or a power that is not a positive whole number.
    """
    column = {name: index for index, name in enumerate(names)}
    found = np.zeros((len(terms), len(names)), dtype=np.int64)
    for row, term in enumerate(terms):
        if term == INTERCEPT:
            continue
        for part in term.split(":"):
            name, _, power = part.partition("^")
            if name not in column or not (power == "" or (power.isdigit() and int(power) > 0)):
                raise InputError(
                    f"term {term!r}",
                    f"{part!r} is not a factor or a power of one",
                    ", ".join(names),
                    "Correct it.",
                )
            found[row, column[name]] += int(power or 1)
    return found


def degree(names: Sequence[str], terms: Sequence[str]) -> NDArray[np.int64]:
    """Return the total degree of every term, `(t,)`: 0 for the constant, 2 for a square."""
    return np.asarray(powers(names, terms).sum(axis=1))


def model_matrix(coded: Floats, names: Sequence[str], terms: Sequence[str]) -> Floats:
    """
    Return the model matrix, one column per term.

    Parameters
    ----------
    coded : (n, k) float array
        Points with every factor scaled to -1 at its lower and +1 at its upper bound. [1]
    names : sequence of str
        Factors in column order.
    terms : sequence of str
        Terms as `model_terms` writes them; any product of powers is allowed.

    Returns
    -------
    matrix : (n, t) float array
        [1]

    Examples
    --------
    >>> model_matrix(np.array([[0.5, -1.0]]), ["a", "b"], ["1", "a", "a:b", "a^2"])
    array([[ 1.  ,  0.5 , -0.5 ,  0.25]])
    """
    coded = np.atleast_2d(np.asarray(coded, dtype=float))
    return np.asarray(np.prod(coded[:, None, :] ** powers(names, terms)[None, :, :], axis=2))


def term_words(term: str) -> str:
    """
    Return a term as a person says it.

    Examples
    --------
    >>> term_words("flow_pct:fan_pct"), term_words("flow_pct^2")
    ('flow_pct x fan_pct', 'curvature of flow_pct')
    """
    if term == INTERCEPT:
        return "the mean"
    if ":" not in term and term.endswith("^2"):
        return f"curvature of {term[:-2]}"
    return term.replace(":", " x ")
