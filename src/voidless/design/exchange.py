"""
Coordinate exchange: D- and I-optimal plans for any covariance of the builds.

Builds have covariance V, model terms a prior precision K, and M = X'V^-1 X + K is the information. One
row x becomes y: with d = f(y) - f(x), w = X'V^-1 e_i, v = (V^-1)_ii and D = M^-1,

    |M'| / |M|  =  r  =  (1 + d'Dw)² + d'Dd (v - w'Dw)
    tr(B M'^-1) = tr(B D) - ((v - w'Dw) d'Pd + 2 (1 + d'Dw) d'Pw - d'Dd w'Pw) / r,   P = D B D,

so that one product with D judges all levels of all factors of a row at once. Several random starts are
carried side by side as a leading axis. Rows of a whole plot change their hard factors together, by the same
algebra in blocks (`plot_gains`).

Method: Meyer & Nachtsheim, Technometrics 37 (1995) 60-69; split plots: Jones & Goos, Applied Statistics 56
(2007) 347-364; prior precision: DuMouchel & Jones, Technometrics 36 (1994) 37-47 (all from memory). The
update formulas are derived here; the tests check them against forming M anew.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from voidless.design.terms import powers
from voidless.errors import InputError

__all__ = ["Exchange", "Expand", "expander", "improve", "loss", "plot_gains", "row_gains"]

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]
Expand = Callable[[Floats], Floats]
Step = Callable[["Exchange", Floats, Floats, Floats], Bools]

SMALLEST_GAIN = 1e-4
"""Fall of the loss below which a change is not made: 0.01 % of |M| or of the average variance."""
PASSES = 60


@dataclass(frozen=True, eq=False)
class Exchange:
    """
    A problem of optimal design in coded factors.

    Attributes
    ----------
    expand : callable
        Points `(..., k)` to model rows `(..., p)`.
    levels : tuple of float arrays
        Levels of each factor. [1]
    allowed : callable
        Points `(n, k)` to `(n,)` bool.
    weight : (n, n) float array
        Inverse covariance of the builds, in units of one build's variance. [1]
    precision : (p,) float array
        Prior precision of the model terms. [1]
    plots : (n,) int array
        Whole plot of each build.
    hard : (k,) bool array
        Factors that are equal within a whole plot.
    free : (n,) bool array
        Builds that may change; the others are given.
    moments : (p, p) float array or None
        Mean of f f' over the region for the I-criterion; None: the D-criterion. [1]
    """

    expand: Expand
    levels: tuple[Floats, ...]
    allowed: Callable[[Floats], Bools]
    weight: Floats
    precision: Floats
    plots: Ints
    hard: Bools
    free: Bools
    moments: Floats | None = None


def expander(names: Sequence[str], terms: Sequence[str]) -> Expand:
    """
    Return a fast expansion of points into model rows for models up to second order.

    Raises
    ------
    InputError
        A term is of third or higher order.
    """
    each = powers(names, terms)
    if each.sum(axis=1).max(initial=0) > 2:
        raise InputError(
            "optimal design", "a term of third or higher order", "second order at most", "Drop it."
        )
    pairs = [
        ([0, 0] + [column + 1 for column, power in enumerate(row) for _ in range(power)])[-2:] for row in each
    ]
    one, other = np.array(pairs).T

    def expand(points: Floats) -> Floats:
        padded = np.concatenate([np.ones((*points.shape[:-1], 1)), points], axis=-1)
        return np.asarray(padded[..., one] * padded[..., other])

    return expand


def _information(problem: Exchange, matrix: Floats) -> Floats:
    return np.asarray(np.swapaxes(matrix, -1, -2) @ (problem.weight @ matrix) + np.diag(problem.precision))


def loss(problem: Exchange, designs: Floats) -> Floats:
    """
    Return what is made small, per start: -log |M| (D) or log of the average variance (I).

    Parameters
    ----------
    problem : Exchange
        The problem.
    designs : (s, n, k) float array
        Plans of several starts. [1]

    Returns
    -------
    loss : (s,) float array
        [1]
    """
    return _information_loss(problem, _information(problem, problem.expand(designs)))


def _information_loss(problem: Exchange, information: Floats) -> Floats:
    sign, size = np.linalg.slogdet(information)
    if problem.moments is None:
        return np.asarray(np.where(sign > 0, -size, np.inf))
    good = (sign > 0) & (size > -600.0)
    safe = np.where(good[..., None, None], information, np.eye(information.shape[-1]))
    spread = np.einsum("...ij,ji->...", np.linalg.inv(safe), problem.moments)
    return np.asarray(np.where(good, np.log(np.maximum(spread, 1e-300)), np.inf))


def row_gains(problem: Exchange, matrix: Floats, inverse: Floats, row: int, wanted: Floats) -> Floats:
    """
    Return how much the loss falls when one row is replaced, for many replacements.

    Parameters
    ----------
    problem : Exchange
        The problem.
    matrix : (s, n, p) float array
        Model rows of the plans. [1]
    inverse : (s, p, p) float array
        Inverse information of the plans. [1]
    row : int
        Row that is replaced.
    wanted : (s, c, p) float array
        Model rows to put there. [1]

    Returns
    -------
    gains : (s, c) float array
        Positive is better; -inf where the information would not be positive. [1]
    """
    change = wanted - matrix[:, None, row, :]
    weighed = np.einsum("snp,n->sp", matrix, problem.weight[:, row])
    half = change @ inverse
    own = np.einsum("scp,scp->sc", half, change)
    cross = np.einsum("scp,sp->sc", half, weighed)
    away = np.einsum("sp,spq,sq->s", weighed, inverse, weighed)
    free = (problem.weight[row, row] - away)[:, None]
    ratio = (1.0 + cross) ** 2 + own * free
    good = ratio > 1e-12
    safe = np.where(good, ratio, 1.0)
    if problem.moments is None:
        return np.asarray(np.where(good, np.log(safe), -np.inf))
    spread = inverse @ problem.moments @ inverse
    half = change @ spread
    own_b = np.einsum("scp,scp->sc", half, change)
    cross_b = np.einsum("scp,sp->sc", half, weighed)
    away_b = np.einsum("sp,spq,sq->s", weighed, spread, weighed)[:, None]
    before = np.einsum("spq,qp->s", inverse, problem.moments)[:, None]
    after = before - (free * own_b + 2.0 * (1.0 + cross) * cross_b - own * away_b) / safe
    good &= after > 0
    return np.asarray(np.where(good, np.log(before / np.where(good, after, 1.0)), -np.inf))


def _row_step(problem: Exchange, designs: Floats, matrix: Floats, inverse: Floats, row: int) -> Bools:
    """Replace one coordinate of one row in every start where that helps; return where it did."""
    easy = np.flatnonzero(~problem.hard)
    where = np.repeat(easy, [len(problem.levels[column]) for column in easy])
    value = np.concatenate([problem.levels[column] for column in easy])
    tried = np.repeat(designs[:, None, row, :], len(where), axis=1)
    tried[:, np.arange(len(where)), where] = value
    wanted = problem.expand(tried)
    gains = row_gains(problem, matrix, inverse, row, wanted)
    gains[gains < SMALLEST_GAIN] = -np.inf
    hopeful = np.isfinite(gains)
    if hopeful.any():  # limits are asked only where something would be won
        gains[hopeful] = np.where(problem.allowed(tried[hopeful]), gains[hopeful], -np.inf)
    best = np.argmax(gains, axis=1)
    starts = np.arange(len(designs))
    better = np.isfinite(gains[starts, best])
    designs[better, row] = tried[starts, best][better]
    matrix[better, row] = wanted[starts, best][better]
    return np.asarray(better)


def plot_gains(problem: Exchange, matrix: Floats, inverse: Floats, rows: Ints, wanted: Floats) -> Floats:
    """
    Return how much the loss falls when several rows are replaced together, for many replacements.

    Parameters
    ----------
    problem : Exchange
        The problem.
    matrix : (s, n, p) float array
        Model rows of the plans. [1]
    inverse : (s, p, p) float array
        Inverse information of the plans. [1]
    rows : (g,) int array
        Rows that are replaced.
    wanted : (s, c, g, p) float array
        Model rows to put there. [1]

    Returns
    -------
    gains : (s, c) float array
        Positive is better; -inf where the information would not be positive. [1]

    Notes
    -----
    With the changes d as rows, w = (V^-1 X) and v = V^-1 of the rows replaced, U = [d; w]:
    M' = M + U'CU, C = [[v, 1], [1, 0]], so |M'| / |M| = |C^-1 + U D U'| |C| and tr(B M'^-1) follows from
    the same small matrix (matrix determinant lemma and Woodbury's identity).
    """
    size = len(rows)
    change = wanted - matrix[:, None, rows, :]
    weighed = np.broadcast_to((problem.weight[rows] @ matrix)[:, None], change.shape)
    both = np.concatenate([change, weighed], axis=2)
    turned = np.swapaxes(both, -1, -2)
    small = both @ inverse[:, None] @ turned
    eye = np.eye(size)
    small += np.block([[np.zeros((size, size)), eye], [eye, -problem.weight[np.ix_(rows, rows)]]])
    sign, log_size = np.linalg.slogdet(small)
    good = sign * (-1.0) ** size > 0
    if problem.moments is None:
        return np.asarray(np.where(good, log_size, -np.inf))
    spread = inverse @ problem.moments @ inverse
    before = np.einsum("spq,qp->s", inverse, problem.moments)[:, None]
    safe = np.where(good[..., None, None], small, np.eye(2 * size))
    after = before - np.trace(np.linalg.solve(safe, both @ spread[:, None] @ turned), axis1=-2, axis2=-1)
    good &= after > 0
    return np.asarray(np.where(good, np.log(before / np.where(good, after, 1.0)), -np.inf))


def _plot_step(
    problem: Exchange, designs: Floats, matrix: Floats, inverse: Floats, plot: int, column: int
) -> Bools:
    """Replace a hard factor's level in a whole plot in every start where that helps; return where it did."""
    rows = np.flatnonzero(problem.plots == plot)
    values = problem.levels[column]
    tried = np.repeat(designs[:, None, rows, :], len(values), axis=1)
    tried[..., column] = values[None, :, None]
    wanted = problem.expand(tried)
    gains = plot_gains(problem, matrix, inverse, rows, wanted)
    gains[gains < SMALLEST_GAIN] = -np.inf
    hopeful = np.isfinite(gains)
    if hopeful.any():
        flat = tried[hopeful]
        fine = problem.allowed(flat.reshape(-1, flat.shape[-1])).reshape(flat.shape[:2]).all(axis=1)
        gains[hopeful] = np.where(fine, gains[hopeful], -np.inf)
    best = np.argmax(gains, axis=1)
    better = np.isfinite(gains[np.arange(len(designs)), best])
    for start in np.flatnonzero(better):
        designs[start, rows] = tried[start, best[start]]
        matrix[start, rows] = wanted[start, best[start]]
    return np.asarray(better)


def improve(problem: Exchange, designs: Floats) -> tuple[Floats, Floats]:
    """
    Return plans that no change of one coordinate makes better, and their loss.

    Parameters
    ----------
    problem : Exchange
        The problem.
    designs : (s, n, k) float array
        Allowed plans to start from; not altered. [1]

    Returns
    -------
    designs : (s, n, k) float array
        [1]
    loss : (s,) float array
        As `loss`. [1]
    """
    done = np.array(designs, dtype=float)
    live = np.arange(len(done))
    for _ in range(PASSES):
        part = done[live]
        moved = _pass(problem, part)
        done[live] = part
        live = live[moved]
        if not len(live):
            break
    return done, loss(problem, done)


def _steps(problem: Exchange) -> list[Step]:
    """Return every step of one pass: hard factors plot by plot, then easy ones row by row."""
    steps: list[Step] = []
    if problem.hard.any():
        for plot in np.unique(problem.plots[problem.free]):
            for column in np.flatnonzero(problem.hard):
                steps.append(partial(_plot_step, plot=int(plot), column=int(column)))  # noqa: PERF401
    if not problem.hard.all():
        steps += [partial(_row_step, row=int(row)) for row in np.flatnonzero(problem.free)]
    return steps


def _pass(problem: Exchange, designs: Floats) -> Bools:
    matrix = problem.expand(designs)
    inverse = np.asarray(np.linalg.inv(_information(problem, matrix)), dtype=np.float64)
    moved = np.zeros(len(designs), dtype=bool)
    for step in _steps(problem):
        better = step(problem, designs, matrix, inverse)
        if better.any():
            inverse[better] = np.linalg.inv(_information(problem, matrix[better]))
            moved |= better
    return moved
