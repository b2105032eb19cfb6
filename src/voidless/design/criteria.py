"""How good a plan is for a model: an evaluation that shares no code with the search for plans."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from voidless.design.terms import INTERCEPT, degree, model_matrix, model_terms, powers

__all__ = [
    "alias_matrix",
    "cube_moments",
    "evaluate",
    "sample_moments",
    "smallest_distance",
    "variance_inflation",
]

Floats = NDArray[np.float64]


def cube_moments(names: Sequence[str], terms: Sequence[str]) -> Floats:
    """
    Return the mean of f f' over the cube from -1 to 1, f being the vector of model terms, `(t, t)`.

    Notes
    -----
    The mean of x^m over -1 to 1 is 1 / (m + 1) for even m and 0 for odd m, and factors are independent.
    """
    each = powers(names, terms)
    total = each[:, None, :] + each[None, :, :]
    return np.asarray(np.prod(np.where(total % 2 == 0, 1.0 / (total + 1.0), 0.0), axis=2))


def sample_moments(coded: Floats, names: Sequence[str], terms: Sequence[str]) -> Floats:
    """Return the mean of f f' over sampled points `(n, k)` of a region, `(t, t)`."""
    matrix = model_matrix(coded, names, terms)
    return np.asarray(matrix.T @ matrix / len(matrix))


def variance_inflation(matrix: Floats) -> Floats:
    """
    Return how much each term's variance grows because terms are correlated, `(t,)`.

    Parameters
    ----------
    matrix : (n, t) float array
        Model matrix without the constant. [1]

    Notes
    -----
    Diagonal of the inverse of the correlation matrix of the columns.
    """
    centred = matrix - matrix.mean(axis=0)
    unit = centred / np.linalg.norm(centred, axis=0)
    return np.asarray(np.diag(np.linalg.inv(unit.T @ unit)))


def alias_matrix(coded: Floats, names: Sequence[str], terms: Sequence[str], other: Sequence[str]) -> Floats:
    """
    Return how much of every left-out term ends up in every estimated one.

    Parameters
    ----------
    coded : (n, k) float array
        Plan. [1]
    names, terms, other : sequence of str
        Factors; terms that are estimated; terms that are left out.

    Returns
    -------
    alias : (t, o) float array
        Expected estimates are the true coefficients plus `alias` times those of `other`. [1]

    Notes
    -----
    (X1'X1)^-1 X1'X2; a column of `terms` that cannot be estimated takes the smallest solution.
    """
    one, two = model_matrix(coded, names, terms), model_matrix(coded, names, other)
    return np.asarray(np.linalg.lstsq(one, two, rcond=None)[0])


def smallest_distance(coded: Floats) -> float:
    """Return the smallest distance of two distinct rows over the cube's diagonal; 0 for fewer than two."""
    distinct = np.unique(np.round(coded, 9), axis=0)
    if len(distinct) < 2:
        return 0.0
    apart = np.linalg.norm(distinct[:, None, :] - distinct[None, :, :], axis=2)
    return float(apart[np.triu_indices(len(distinct), 1)].min() / (2.0 * np.sqrt(coded.shape[1])))


def evaluate(
    coded: Floats,
    names: Sequence[str],
    terms: Sequence[str],
    covariance: Floats | None = None,
    region: Floats | None = None,
) -> Mapping[str, float]:
    """
    Return the criteria of a plan for a model.

    Parameters
    ----------
    coded : (n, k) float array
        Builds, -1 to 1. [1]
    names, terms : sequence of str
        Factors and terms of the model.
    covariance : (n, n) float array or None
        Covariance of the builds over the variance of one; None: independent. [1]
    region : (m, k) float array or None
        Points that stand for the region of interest; None: the whole cube, of which the largest
        variance is then sought at the plan's own points and the corners and faces' centres. [1]

    Returns
    -------
    criteria : mapping of str to float
        `terms`, `rank`, `d_efficiency` = |M|^(1/t) / n, and where every term can be estimated
        `a_efficiency` = t / (n tr M^-1), `g_efficiency` = t / (n max f'M^-1 f), `average_variance` =
        mean of f'M^-1 f over the region, `condition` of the model matrix, `max_vif` and `max_alias`, the
        largest share of one interaction left out of the model that ends up in a main effect. [1]

    Notes
    -----
    M = X'V^-1 X. Definitions as in Atkinson, Donev & Tobias, Optimum Experimental Designs, with SAS,
    Oxford 2007, chapters 9 to 11 (from memory).
    """
    coded = np.atleast_2d(np.asarray(coded, dtype=float))
    matrix = model_matrix(coded, names, terms)
    count, size = matrix.shape
    rank = int(np.linalg.matrix_rank(matrix)) if size else 0
    found = {"terms": float(size), "rank": float(rank)}
    if not size:
        return found
    if rank < size:
        return found | {"d_efficiency": 0.0}
    information = matrix.T @ (matrix if covariance is None else np.linalg.solve(covariance, matrix))
    inverse = np.linalg.inv(information)
    moments = cube_moments(names, terms) if region is None else sample_moments(region, names, terms)
    spots = np.concatenate([coded, _corners(coded.shape[1]) if region is None else region])
    there = model_matrix(spots, names, terms)
    largest = float(np.einsum("ij,jk,ik->i", there, inverse, there).max())
    found["d_efficiency"] = float(np.exp(np.linalg.slogdet(information)[1] / size) / count)
    found["a_efficiency"] = float(size / (count * np.trace(inverse)))
    found["g_efficiency"] = float(size / (count * largest))
    found["average_variance"] = float(np.trace(inverse @ moments))
    found["condition"] = float(np.linalg.cond(matrix))
    return found | _collinearity(coded, names, terms, matrix)


def _collinearity(
    coded: Floats, names: Sequence[str], terms: Sequence[str], matrix: Floats
) -> dict[str, float]:
    found = {}
    effects = [index for index, term in enumerate(terms) if term != INTERCEPT]
    if INTERCEPT in terms and effects:
        found["max_vif"] = float(variance_inflation(matrix[:, effects]).max())
    left_out = [term for term in model_terms(names, "interactions") if ":" in term and term not in terms]
    main = np.flatnonzero(degree(names, terms) == 1)
    if left_out and len(main):
        found["max_alias"] = float(np.abs(alias_matrix(coded, names, terms, left_out)[main]).max())
    return found


def _corners(count: int) -> Floats:
    levels = np.array([-1.0, 0.0, 1.0]) if count <= 6 else np.array([-1.0, 1.0])
    return np.stack(np.meshgrid(*[levels] * count, indexing="ij"), axis=-1).reshape(-1, count)
