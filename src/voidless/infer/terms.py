"""Terms of a polynomial model: a term is the tuple of factors that it multiplies."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

__all__ = ["Term", "factorial_terms", "model_matrix", "quadratic_terms", "term_name"]

Floats = NDArray[np.float64]
Term = tuple[str, ...]
"""`()` is the constant, `("a",)` a main effect, `("a", "b")` an interaction, `("a", "a")` a square."""


def term_name(term: Term) -> str:
    """
    Return how a term is written for people.

    Examples
    --------
    >>> term_name(("a", "a")), term_name(("a", "b")), term_name(())
    ('a²', 'a × b', 'constant')
    """
    if not term:
        return "constant"
    powers = {"2": "²", "3": "³"}
    parts = [name + powers.get(str(term.count(name)), "") for name in dict.fromkeys(term)]
    return " × ".join(parts)


def model_matrix(columns: Mapping[str, Floats], terms: Sequence[Term]) -> Floats:
    """Return one column per term, `(n, t)`, as products of coded columns. [1]"""
    size = len(next(iter(columns.values())))
    return np.column_stack(
        [np.prod([np.ones(size), *(columns[name] for name in term)], axis=0) for term in terms]
    )


def factorial_terms(names: Sequence[str], order: int) -> tuple[Term, ...]:
    """
    Return the constant, main effects and interactions of up to `order` factors.

    Examples
    --------
    >>> len(factorial_terms("abcde", 3))
    26
    """
    return tuple(term for size in range(order + 1) for term in combinations(tuple(names), size))


def quadratic_terms(names: Sequence[str]) -> tuple[Term, ...]:
    """
    Return the full second-order model: constant, main effects, two-factor interactions, squares.

    Examples
    --------
    >>> len(quadratic_terms("abcdef"))
    28
    """
    return factorial_terms(names, 2) + tuple((name, name) for name in names)
