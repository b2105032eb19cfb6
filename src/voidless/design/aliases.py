"""What a plan cannot tell apart, found by algebra on its columns and said in words."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from voidless.design.terms import INTERCEPT, model_matrix, model_terms, term_words

__all__ = ["alias_groups", "alias_notes", "estimable", "listed", "resolution", "unseen_terms"]

Floats = NDArray[np.float64]
EXACT = 1e-9


def listed(parts: Sequence[str], most: int = 8) -> str:
    """Return parts in one sentence piece; beyond `most` the rest is counted."""
    if len(parts) <= most:
        return ", ".join(parts)
    return ", ".join(parts[:most]) + f" and {len(parts) - most} more"


def _centred(coded: Floats, names: Sequence[str], terms: Sequence[str]) -> Floats:
    matrix = model_matrix(coded, names, terms)
    return np.asarray(matrix - matrix.mean(axis=0))


def unseen_terms(coded: Floats, names: Sequence[str], terms: Sequence[str]) -> tuple[str, ...]:
    """Return the terms whose column is constant over the plan: it says nothing about them."""
    size = np.abs(_centred(coded, names, terms)).max(axis=0)
    return tuple(term for term, big in zip(terms, size, strict=True) if term != INTERCEPT and not big > EXACT)


def alias_groups(coded: Floats, names: Sequence[str], terms: Sequence[str]) -> tuple[tuple[str, ...], ...]:
    """
    Return groups of terms that no data from the plan can tell apart.

    Parameters
    ----------
    coded : (n, k) float array
        Plan, -1 to 1. [1]
    names, terms : sequence of str
        Factors and the terms to compare.

    Returns
    -------
    groups : tuple of tuple of str
        Terms whose columns are equal up to sign once the mean is taken out, two or more each; a leading
        minus marks those of opposite sign to the first.
    """
    columns = _centred(coded, names, terms)
    size = np.linalg.norm(columns, axis=0)
    keep = np.flatnonzero(size > EXACT)
    unit = columns[:, keep] / size[keep]
    alike = unit.T @ unit
    left, groups = list(range(len(keep))), []
    while left:
        first = left[0]
        same = [other for other in left if abs(alike[first, other]) > 1.0 - EXACT]
        left = [other for other in left if other not in same]
        if len(same) > 1:
            groups.append(
                tuple(("-" if alike[first, other] < 0 else "") + terms[keep[other]] for other in same)
            )
    return tuple(groups)


def estimable(coded: Floats, names: Sequence[str], terms: Sequence[str]) -> tuple[str, ...]:
    """
    Return the terms that can be estimated together, taken in order of `terms`.

    A term is left out when its column is a combination of those before it (rank of the model matrix,
    Gram-Schmidt with a relative tolerance of 1e-8).
    """
    basis: list[Floats] = []
    kept = []
    for term, column in zip(terms, model_matrix(coded, names, terms).T, strict=True):
        rest = column.copy()
        for _ in range(2):  # twice, or rounding leaves a ghost of the earlier columns
            for one in basis:
                rest = rest - (rest @ one) * one
        if np.linalg.norm(rest) > 1e-8 * max(float(np.linalg.norm(column)), 1e-300):
            basis.append(rest / np.linalg.norm(rest))
            kept.append(term)
    return tuple(kept)


def resolution(coded: Floats) -> int | None:
    """
    Return the length of the shortest word of a two-level plan: 3 mixes main effects with interactions.

    Parameters
    ----------
    coded : (n, k) float array
        Plan of -1 and +1. [1]

    Returns
    -------
    resolution : int or None
        None when no product of columns is constant (a full plan). [1]
    """
    words = np.zeros((1, len(coded)), dtype=bool)
    length = np.zeros(1, dtype=np.int64)
    for column in (coded < 0).T:  # all 2^k products of columns, as sums of bits
        words = np.concatenate([words, words ^ column])
        length = np.concatenate([length, length + 1])
    constant = np.all(words, axis=1) | ~np.any(words, axis=1)
    constant[0] = False
    return int(length[constant].min()) if constant.any() else None


def alias_notes(coded: Floats, names: Sequence[str], terms: Sequence[str]) -> tuple[str, ...]:
    """
    Return in words what a plan made for a model cannot show.

    Parameters
    ----------
    coded : (n, k) float array
        Builds, -1 to 1. [1]
    names, terms : sequence of str
        Factors and terms of the model that the plan is made for.
    """
    second = [term for term in model_terms(names, "quadratic") if term != INTERCEPT]
    notes = []
    lost = [term for term in terms if term not in estimable(coded, names, terms)]
    if lost:
        notes.append(
            "Cannot be estimated beside the other terms: " + listed([term_words(term) for term in lost]) + "."
        )
    unseen = unseen_terms(coded, names, second)
    if unseen:
        notes.append("Not seen at all: " + listed([term_words(term) for term in unseen]) + ".")
    groups = alias_groups(coded, names, second)
    said = [
        f"{term_words(group[0])} cannot be told from "
        + listed([term_words(term.removeprefix("-")) for term in group[1:]], 5)
        for group in groups
    ]
    if said:
        notes.append(
            "; ".join(said[:12])
            + (f"; and {len(said) - 12} more such groups" if len(said) > 12 else "")
            + "."
        )
    return tuple(notes)
