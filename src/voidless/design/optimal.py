"""D- and I-optimal plans: constraints, steps, whole plots, sessions as blocks, earlier builds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.design.criteria import sample_moments
from voidless.design.exchange import Exchange, expander, improve
from voidless.design.ground import Ground, sample
from voidless.design.terms import degree, model_terms, term_words
from voidless.design.types import Draft, Floats, Size

__all__ = ["Layout", "block_covariance", "layout", "optimal", "start_designs"]

Ints = NDArray[np.int64]

STARTS = (2, 40)
"""Random starts at least and at most."""
EFFORT = 10 * 28**2
"""Starts times model terms squared: ten starts for the quadratic of six factors, more for smaller models."""
SPARE = 4
"""Builds beyond the number of terms when nobody says how many: degrees of freedom for scatter."""
RIDGE = 1e-6
"""Prior precision of every term, so that a poor random start can be inverted; it moves no optimum visibly."""
POTENTIAL = 1.0
"""Prior precision of second-order terms when the builds are fewer than the terms (a prior sd of one standard
deviation of a build: DuMouchel & Jones 1994, from memory)."""
REGION = 5000
HARD_GROUP = 4


@dataclass(frozen=True, eq=False)
class Layout:
    """Session (0: printed earlier) and whole plot of every row, and which rows may change; all `(n,)`."""

    sessions: Ints
    plots: Ints
    free: NDArray[np.bool_]


def block_covariance(sessions: Ints, plots: Ints, ratio: float, split: bool) -> Floats:
    """
    Return the covariance of builds over the variance of one build.

    Parameters
    ----------
    sessions, plots : (n,) int array
        Session and whole plot of each build.
    ratio : float
        Variance between sessions, and between whole plots, over that of builds. [1]
    split : bool
        Whether whole plots have a variance of their own (there are hard-to-change factors).

    Returns
    -------
    covariance : (n, n) float array
        [1]
    """
    covariance = np.eye(len(sessions))
    if len(np.unique(sessions)) > 1:
        covariance += ratio * (sessions[:, None] == sessions)
    if split:
        covariance += ratio * (plots[:, None] == plots)
    return covariance


def layout(count: int, given: int, sessions: int, groups: int, earlier: int) -> Layout:
    """
    Return how rows lie in sessions and whole plots: `earlier` rows, `given` rows, then free rows.

    Parameters
    ----------
    count, given : int
        Builds to plan, and how many of them are anchors with given settings, dealt to sessions in turn. [1]
    sessions, groups : int
        Sessions, and whole plots of the free rows (0: every row its own). [1]
    earlier : int
        Rows printed before. [1]
    """
    free = count - given
    plots = np.arange(free) * groups // free if groups else np.arange(free)
    session = 1 + plots * sessions // max(int(plots.max(initial=0)) + 1, 1)
    anchor = 1 + np.arange(given) % sessions
    own = plots.max(initial=-1) + 1 + np.arange(given)
    return Layout(
        np.concatenate([np.zeros(earlier, dtype=int), anchor, session]),
        np.concatenate([-1 - np.arange(earlier), own, plots]),
        np.arange(earlier + count) >= earlier + given,
    )


def start_designs(base: Ground, rows: Floats, plan: Layout, starts: int, rng: np.random.Generator) -> Floats:
    """
    Return random allowed plans that keep hard factors equal within whole plots.

    Parameters
    ----------
    base : Ground
        Factors and limits.
    rows : (g, k) float array
        Rows that are given, first in every plan. [shop units]
    plan : Layout
        Whole plots.
    starts : int
        Plans wanted. [1]
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    designs : (starts, n, k) float array
        Coded. [1]
    """
    free = np.flatnonzero(plan.free)
    pool = sample(base, max(400, 2 * len(free)), rng)
    designs = np.empty((starts, len(plan.free), len(base.names)))
    for start in range(starts):
        designs[start, : len(rows)] = rows
        designs[start, free] = pool[rng.integers(len(pool), size=len(free))]
        for plot in np.unique(plan.plots[free]) if base.hard.any() else ():
            members = free[plan.plots[free] == plot]
            if len(members) == 1:
                continue
            seed = designs[start, members[0]].copy()
            mates = pool[rng.integers(len(pool), size=(len(members) - 1, 40))]
            mates[..., base.hard] = seed[base.hard]
            fine = np.asarray(base.feasible(mates.reshape(-1, len(seed))), dtype=bool).reshape(
                mates.shape[:2]
            )
            first = np.argmax(fine, axis=1)
            kept = mates[np.arange(len(mates)), first]
            designs[start, members[1:]] = np.where(np.any(fine, axis=1)[:, None], kept, seed)
    return base.coded(designs)


def _groups(base: Ground, terms: tuple[str, ...], free: int, sessions: int) -> int:
    """Return the number of whole plots: one more than the terms of hard factors alone, or groups of four."""
    if not base.hard.any():
        return 0
    hard = {name for name, slow in zip(base.names, base.hard, strict=True) if slow}
    alone = sum(all(part.split("^")[0] in hard | {"1"} for part in term.split(":")) for term in terms)
    return min(free, max(alone + 1, -(-free // HARD_GROUP), sessions))


def _model(base: Ground, model: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    few = [name for column, name in enumerate(base.names) if len(base.levels(column)) < 3]
    terms = tuple(
        term
        for term in model_terms(base.names, model)
        if term.removesuffix("^2") not in few or "^" not in term
    )
    said = (f"{', '.join(few)}: only two levels, so no curvature.",) if few and model == "quadratic" else ()
    return terms, said


def optimal(
    base: Ground, size: Size, rng: np.random.Generator, criterion: str, model: str, ratio: float
) -> Draft:
    """
    Return the best of several plans found by coordinate exchange.

    Parameters
    ----------
    base : Ground
        Factors, limits and earlier builds.
    size : Size
        Builds asked or allowed; else the terms of the model and four more (more with many anchors).
    rng : numpy.random.Generator
        Source of randomness.
    criterion : str
        `d` for the sharpest effects, `i` for the sharpest predictions over the allowed region.
    model : str
        A name of `terms.MODELS`.
    ratio : float
        Variance between sessions, and between whole plots, over that of builds. [1]
    """
    terms, notes = _model(base, model)
    wanted = size.repeats + 1 if size.repeats is not None else 0
    daily = size.sessions if size.sessions > 1 else 0
    spare = max(SPARE, wanted - 1, daily - 1)  # equal builds carry one term together
    count = size.asked or min(max(len(terms) + spare - len(base.earlier), spare), size.most or 10**6)
    anchors = min(max(wanted, min(daily, count // 2)), count)  # sessions turn at most half into anchors
    free = count - anchors
    plan = layout(count, anchors, size.sessions, _groups(base, terms, free, size.sessions), len(base.earlier))
    given = np.concatenate([base.earlier, np.repeat(base.usual[None, :], anchors, axis=0)])
    short = len(base.earlier) + free + min(anchors, 1) < len(terms)
    precision = np.where(degree(base.names, terms) > 1, POTENTIAL if short else RIDGE, RIDGE)
    problem = Exchange(
        expand=expander(base.names, terms),
        levels=tuple(_coded_levels(base, column) for column in range(len(base.names))),
        allowed=lambda coded: np.asarray(base.feasible(base.uncoded(coded)), dtype=bool),
        weight=_inverse(block_covariance(plan.sessions, plan.plots, ratio, bool(base.hard.any()))),
        precision=precision,
        plots=plan.plots,
        hard=base.hard,
        free=plan.free,
        moments=sample_moments(base.coded(sample(base, REGION, rng)), base.names, terms)
        if criterion == "i"
        else None,
    )
    designs, losses = improve(problem, start_designs(base, given, plan, _starts(terms), rng))
    rows = base.uncoded(designs[np.argmin(losses)])[len(base.earlier) :]
    new = np.arange(len(plan.free)) >= len(base.earlier)
    return Draft(
        rows,
        terms,
        notes + _notes(base, terms, count, anchors, short, plan, ratio),
        np.arange(count) < anchors,
        plan.sessions[new],
        plan.plots[new] if base.hard.any() else None,
    )


def _starts(terms: tuple[str, ...]) -> int:
    return int(np.clip(round(EFFORT / len(terms) ** 2), *STARTS))


def _inverse(matrix: Floats) -> Floats:
    return np.asarray(np.linalg.inv(matrix), dtype=np.float64)


def _coded_levels(base: Ground, column: int) -> Floats:
    points = np.repeat(base.usual[None, :], len(levels := base.levels(column)), axis=0)
    points[:, column] = levels
    return base.coded(points)[:, column]


def _notes(
    base: Ground, terms: tuple[str, ...], count: int, anchors: int, short: bool, plan: Layout, ratio: float
) -> tuple[str, ...]:
    notes: tuple[str, ...] = (
        f"Best of {_starts(terms)} random starts of coordinate exchange for {len(terms)} model terms.",
    )
    if short:
        second = [term_words(term) for term in terms if ":" in term or "^" in term]
        alike = f", {anchors} of them alike," if anchors > 1 else ""
        said = (
            f"{count} builds{alike} are fewer than the {len(terms)} terms: main effects come first, and the "
            f"{len(second)} second-order terms can only be had together with prior knowledge."
        )
        notes += (said,)
    if base.hard.any():
        slow = ", ".join(name for name, hard in zip(base.names, base.hard, strict=True) if hard)
        many = len(np.unique(plan.plots[plan.free]))
        said = (
            f"{slow}: set {many} times only beside the repeats, so their effects are judged against the scatter "
            f"between settings-up (assumed variance {ratio:g} times that between builds)."
        )
        notes += (said,)
    if anchors:
        notes += (f"{anchors} builds print the usual settings.",)
    return notes
