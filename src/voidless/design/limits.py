"""Moves rows inside the limits of machine and material, and cuts a plan to its budget."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from voidless.design.aliases import estimable, listed
from voidless.design.ground import Ground
from voidless.design.terms import degree, model_matrix, term_words
from voidless.design.types import Draft, Floats, PlanRequest
from voidless.errors import ComputationError

__all__ = ["cheapest_to_lose", "excess", "lost_terms", "move_inside", "pulled", "trim"]

SHARES = 40


def pulled(base: Ground, row: Floats) -> Floats:
    """
    Return the nearest allowed point on the way from a forbidden row to the usual settings, `(k,)`.

    One factor is moved if that is enough, else two, three, or all of them in proportion.

    Raises
    ------
    ComputationError
        Not even the usual settings are allowed: the limits changed their mind.
    """
    count = len(row)
    shares = np.linspace(1.0, 0.0, SHARES + 1)[1:, None]
    for chosen in (1, 2, 3, count):
        found = []
        for columns in combinations(range(count), min(chosen, count)):
            tried = np.repeat(row[None, :], SHARES, axis=0)
            span = list(columns)
            tried[:, span] = base.usual[span] + shares * (row[span] - base.usual[span])
            found.append(base.space.snap(tried))
        points = np.concatenate(found)
        points = points[np.asarray(base.feasible(points), dtype=bool)]
        if len(points):
            apart = np.linalg.norm(base.space.to_unit(points) - base.space.to_unit(row[None, :]), axis=1)
            return np.asarray(points[np.argmin(apart)])
    raise ComputationError("limits", "the usual settings were allowed, then not", "limits that hold still")


def move_inside(base: Ground, draft: Draft) -> Draft:
    """Return the draft with every row that breaks a limit moved as little as `pulled` allows, and a note."""
    bad = np.flatnonzero(~np.asarray(base.feasible(draft.rows), dtype=bool))
    if not len(bad):
        return draft
    rows = draft.rows.copy()
    moves: dict[str, list[str]] = {}
    for row in bad:
        rows[row] = pulled(base, draft.rows[row])
        for name, old, new in zip(base.names, draft.rows[row], rows[row], strict=True):
            if old != new:
                moves.setdefault(name, []).append(f"{old:.4g} to {new:.4g}")
    said = "; ".join(f"{name} {listed(list(dict.fromkeys(steps)), 4)}" for name, steps in moves.items())
    note = (
        f"{len(bad)} of {len(rows)} builds of the plan break a limit of the machine or material; they were "
        f"moved towards the usual settings: {said}. Effects are no longer cleanly apart: d-optimal plans "
        "within limits."
    )
    return replace(draft, rows=rows, notes=(*draft.notes, note))


def excess(request: PlanRequest, rows: Floats, most: int | None) -> tuple[float, str, NDArray[np.float64]]:
    """
    Return by how much a plan is over budget as a ratio, of what, and what each build uses of it.

    Returns
    -------
    ratio : float
        Need over budget of the scarcest thing; 0 without a budget. [1]
    name : str
        `builds`, `hours` or `grams`.
    use : (n,) float array
        What each build takes. [1], [h] or [g]

    Raises
    ------
    ComputationError
        The cost of a build is negative or no finite number, so a budget cannot be held.
    """
    wants: list[tuple[float, str, Floats]] = [(0.0, "builds", np.ones(len(rows)))]
    if most is not None:
        wants.append((len(rows) / most, "builds", np.ones(len(rows))))
    if request.cost is not None and (request.hours_limit is not None or request.grams_limit is not None):
        minutes, grams = request.cost(rows)
        for limit, name, use in (
            (request.hours_limit, "hours", minutes / 60.0),
            (request.grams_limit, "grams", grams),
        ):
            if limit is not None:
                if not np.all((use >= 0) & (use < np.inf)):
                    raise ComputationError(
                        "limits", f"the {name} of a build came out negative or not finite", "0 or more"
                    )
                wants.append((float(np.sum(use)) / limit, name, np.asarray(use, dtype=float)))
    return max(wants, key=lambda want: want[0])


def cheapest_to_lose(
    coded: Floats, names: Sequence[str], terms: Sequence[str], use: Floats, keep: NDArray[np.bool_]
) -> int:
    """
    Return the row whose loss costs least information per hour (gram, build) that it saves.

    Parameters
    ----------
    coded : (n, k) float array
        Builds. [1]
    names, terms : sequence of str
        Factors and model.
    use : (n,) float array
        What each build takes of what is scarce.
    keep : (n,) bool array
        Rows that stay.

    Notes
    -----
    Without row x, log |M| falls by -log(1 - x'M^-1 x). M carries a prior precision of 1e-4 on terms up to
    first order and 1e-2 beyond, so that a plan that cannot estimate every term still ranks its rows, and
    gives up curvature before main effects.
    """
    matrix = model_matrix(coded, names, terms)
    prior = np.where(degree(names, terms) > 1, 1e-2, 1e-4)
    inverse = np.linalg.inv(matrix.T @ matrix + np.diag(prior))
    leverage = np.einsum("ij,jk,ik->i", matrix, inverse, matrix)
    price = -np.log(np.maximum(1.0 - leverage, 1e-12)) / np.maximum(use, 1e-12)
    price[keep] = np.inf
    return int(np.argmin(price))


def trim(base: Ground, request: PlanRequest, draft: Draft, most: int | None) -> tuple[Draft, Floats]:
    """
    Return the draft cut to the budget by the design criterion, and the rows that were cut.

    One build of the usual settings stays as long as anything does; an empty plan comes back when not
    even that is affordable.
    """
    terms = draft.terms or ("1", *base.names)
    left = np.arange(len(draft.rows))
    name = "builds"
    while len(left):
        ratio, scarce, use = excess(request, draft.rows[left], most)
        if not ratio > 1.0:
            break
        name = scarce
        keep = (
            draft.anchors[left] & (np.cumsum(draft.anchors[left]) == 1)
            if len(left) > 1
            else np.zeros(1, dtype=bool)
        )
        left = np.delete(left, cheapest_to_lose(base.coded(draft.rows[left]), base.names, terms, use, keep))
    gone = np.setdiff1d(np.arange(len(draft.rows)), left)
    if not len(gone):
        return draft, draft.rows[:0]
    said = (
        f"The budget of {name} holds {len(left)} of {len(draft.rows)} builds: the least telling were dropped. "
        "What is said before this of the plan was meant for the whole."
    )
    cut = replace(
        draft,
        rows=draft.rows[left],
        notes=(*draft.notes, said, *lost_terms(base, draft, left)),
        anchors=draft.anchors[left],
        sessions=None if draft.sessions is None else draft.sessions[left],
        plots=None if draft.plots is None else draft.plots[left],
    )
    return cut, draft.rows[gone]


def lost_terms(base: Ground, draft: Draft, left: NDArray[np.int64]) -> tuple[str, ...]:
    """Return a note that names the terms which the whole plan could estimate and the cut one cannot."""
    before = estimable(base.coded(draft.rows), base.names, draft.terms)
    after = estimable(base.coded(draft.rows[left]), base.names, draft.terms) if len(left) else ()
    lost = [term_words(term) for term in before if term not in after]
    if not lost:
        return ("Every term that the full plan could estimate can still be estimated, less sharply.",)
    return ("No longer estimable beside the other terms: " + listed(lost, 12) + ".",)
