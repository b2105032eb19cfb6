"""Definitive screening: clear main effects and curvature in about twice as many builds as factors."""

from __future__ import annotations

import numpy as np

from voidless.design.ground import Ground
from voidless.design.repeats import with_centres
from voidless.design.terms import INTERCEPT
from voidless.design.types import Draft, Floats, Size
from voidless.errors import InputError

__all__ = ["conference_matrix", "definitive_screening", "screening_rows"]


def _field(order: int) -> tuple[Floats, Floats]:
    """Return differences and non-zero squares of the field of 3, 5, 7, 9, 11 or 13 elements, numbered."""
    if order == 9:  # pairs a + b i over the integers modulo 3, i*i = -1
        one, two = np.divmod(np.arange(9), 3)
        difference = ((one[:, None] - one) % 3) * 3 + (two[:, None] - two) % 3
        squares = ((one * one - two * two) % 3) * 3 + (2 * one * two) % 3
    else:
        number = np.arange(order)
        difference = (number[:, None] - number) % order
        squares = number**2 % order
    return difference, np.unique(squares[squares > 0])


def conference_matrix(order: int) -> Floats:
    """
    Return a square matrix with 0 on the diagonal, ±1 elsewhere and orthogonal columns.

    Parameters
    ----------
    order : int
        4, 6, 8, 10, 12 or 14. [1]

    Raises
    ------
    InputError
        The order is another one.

    Notes
    -----
    Paley's construction from the quadratic character of the field of `order` - 1 elements (R. E. A. C.
    Paley, "On orthogonal matrices", Journal of Mathematics and Physics 12 (1933) 311-320, from memory).
    """
    if order not in (4, 6, 8, 10, 12, 14):
        raise InputError("conference matrix", f"order {order}", "4, 6, 8, 10, 12 or 14", "Change the order.")
    difference, squares = _field(order - 1)
    character = np.where(np.isin(difference, squares), 1.0, -1.0)
    np.fill_diagonal(character, 0.0)
    matrix = np.zeros((order, order))
    matrix[0, 1:] = 1.0
    matrix[1:, 0] = 1.0  # the sign of a whole row or column changes no inner product of columns
    matrix[1:, 1:] = character
    return matrix


def screening_rows(count: int) -> Floats:
    """
    Return the definitive screening plan of `count` factors without its centre build. [1]

    Notes
    -----
    A conference matrix over its mirror image; odd numbers of factors leave out a column of the next
    order. Jones & Nachtsheim, Journal of Quality Technology 43 (2011) 1-15; the construction from
    conference matrices is Xiao, Lin & Bai, the same journal 44 (2012) 2-8 (both from memory).

    Raises
    ------
    InputError
        There are more than 14 factors.
    """
    if count > 14:
        raise InputError("definitive-screening", f"{count} factors", "at most 14", "Fix some settings.")
    matrix = conference_matrix(max(4, count + count % 2))[:, :count]
    return np.concatenate([matrix, -matrix])


def definitive_screening(base: Ground, size: Size, rng: np.random.Generator) -> Draft:  # noqa: ARG001
    """Return the definitive screening plan with its centre build."""
    rows = screening_rows(len(base.names))
    said = (
        "Main effects are clear of interactions and curvature; interactions of two are partly mixed with "
        "each other and with curvature, so only a few large ones can be sorted out."
    )
    notes: tuple[str, ...] = (said,)
    if len(base.names) < 4:
        notes += ("For three factors or fewer central-composite tells more for about as many builds.",)
    terms = (INTERCEPT, *base.names, *(f"{name}^2" for name in base.names))
    return with_centres(base, rows, terms, notes, size, 1)
