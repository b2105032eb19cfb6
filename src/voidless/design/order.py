"""Random print order: by session, by whole plot, anchors spread."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voidless.design.ground import Ground
from voidless.design.types import Draft

__all__ = ["changes", "print_order"]

Ints = NDArray[np.int64]
SPLITS = 200


def changes(levels: NDArray[np.float64]) -> int:
    """Return how often any column changes from one row to the next."""
    return int(np.any(levels[1:] != levels[:-1], axis=1).sum())


def print_order(
    base: Ground, draft: Draft, sessions: int, rng: np.random.Generator
) -> tuple[Ints, Ints, Ints]:
    """
    Return builds in the order in which to print them, with session and whole plot of each.

    Parameters
    ----------
    base : Ground
        Factors; those hard to change hold still within a whole plot.
    draft : Draft
        Builds; its sessions and plots rule where it has them.
    sessions : int
        Sessions. [1]
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    order, session, plot : (n,) int array
        Rows of `draft`; session from 1 and whole plot of each, in print order. Without hard-to-change
        factors every build is its own plot.

    Notes
    -----
    One session and no hard factor: a uniform random permutation. Several sessions: equal in number, each
    with its share of the anchors, the most balanced of 200 random splits. Hard factors: whole plots in
    random order, builds within them in random order, so that levels change at most once per plot.
    """
    count = len(draft.rows)
    plot = draft.plots if draft.plots is not None else _plots(base, draft, sessions)
    if draft.sessions is not None:
        session = draft.sessions
    elif base.hard.any():
        session = _sessions_of_plots(draft, plot, sessions, rng)
    else:
        session = _balanced(base, draft, sessions, rng)
    shuffled = rng.permutation(count)
    rank = (
        rng.permutation(plot.max(initial=-1) + 1)
        if base.hard.any()
        else np.zeros(plot.max(initial=0) + 1, int)
    )
    order = shuffled[np.lexsort((rank[plot[shuffled]], session[shuffled]))]
    return order, session[order], plot[order] if base.hard.any() else np.arange(count)


def _plots(base: Ground, draft: Draft, sessions: int) -> Ints:
    """Number builds by their combination of hard levels; with several sessions anchors stand alone."""
    if not base.hard.any():
        return np.arange(len(draft.rows))
    plot = np.unique(draft.rows[:, base.hard], axis=0, return_inverse=True)[1].reshape(-1)
    if sessions > 1:
        alone = np.flatnonzero(draft.anchors)
        plot[alone] = plot.max() + 1 + np.arange(len(alone))
    return np.asarray(plot)


def _sessions_of_plots(draft: Draft, plot: Ints, sessions: int, rng: np.random.Generator) -> Ints:
    """Deal whole plots to sessions so that sessions are nearly equal; anchors one after the other."""
    session = np.ones(len(plot), dtype=int)
    if sessions == 1:
        return session
    load = np.zeros(sessions)
    for turn, row in enumerate(np.flatnonzero(draft.anchors)):
        session[row] = 1 + turn % sessions
        load[turn % sessions] += 1
    for group in rng.permutation(np.unique(plot[~draft.anchors])):
        rows = np.flatnonzero((plot == group) & ~draft.anchors)
        least = int(np.argmin(load))
        session[rows] = 1 + least
        load[least] += len(rows)
    return session


def _balanced(base: Ground, draft: Draft, sessions: int, rng: np.random.Generator) -> Ints:
    """Split builds into equal sessions so that no factor's mean differs much between them."""
    count = len(draft.rows)
    if sessions == 1:
        return np.ones(count, dtype=int)
    coded = base.coded(draft.rows)
    best, least = np.ones(count, dtype=int), np.inf
    sessions = min(sessions, count)
    for _ in range(SPLITS):
        session = np.empty(count, dtype=int)
        dealt = np.concatenate(
            [rng.permutation(np.flatnonzero(draft.anchors)), rng.permutation(np.flatnonzero(~draft.anchors))]
        )
        session[dealt] = 1 + np.arange(count) % sessions
        means = np.array([coded[session == one].mean(axis=0) for one in range(1, sessions + 1)])
        apart = float(np.abs(means - coded.mean(axis=0)).max())
        if apart < least:
            best, least = session, apart
    return best
