"""How far each setting may move alone, and which specification stops it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from voidless.infer.question import Question

__all__ = ["Tolerance", "Tolerances", "probability_map", "profile", "tolerances"]

Floats = NDArray[np.float64]

_STEPS = 33
_FINE = 8
"""Parts of a step to which an end of a range is told."""


@dataclass(frozen=True)
class Tolerance:
    """
    Range of one factor with all others at the recipe.

    Attributes
    ----------
    low, high : float
        Ends of the range that keeps the confidence; the recipe's value where nothing is claimed. [shop units]
    low_limit, high_limit : str
        What stops it: a specification, `range` (the factor's own bound) or `machine` (machine or material).
    """

    factor: str
    low: float
    high: float
    low_limit: str
    high_limit: str


@dataclass(frozen=True)
class Tolerances:
    """Tolerances of all factors at one probability; `claimed` is false where they only show what limits."""

    level: float
    claimed: bool
    items: tuple[Tolerance, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return plain data for JSON; ranges only where the recipe is claimed."""
        found: dict[str, Any] = {}
        for item in self.items:
            entry: dict[str, Any] = {"low_limit": item.low_limit, "high_limit": item.high_limit}
            if self.claimed:
                entry |= {"low": item.low, "high": item.high}
            found[item.factor] = entry
        return found


def profile(
    question: Question,
    at: Floats,
    factor: str,
    rng: np.random.Generator,
    steps: int = _STEPS,
    count: int = 400,
) -> dict[str, Any]:
    """
    Return what happens along one factor through a point.

    Parameters
    ----------
    question : Question
        Model, specifications and machine.
    at : (k,) float array
        Point. [shop units]
    factor : str
        Factor that moves.
    rng : numpy.random.Generator
        Source of randomness.
    steps : int
        Values of the factor.
    count : int
        Draws.

    Returns
    -------
    profile : dict
        `values` (s,) [shop units]; `probability` (s,) [1]; `alone` per specification (s,) [1]; `feasible`
        (s,) bool; `responses`: per response mean, low, high, each (s,) [unit of the response].
    """
    points, values = _along(question, at, factor, steps)
    probability, alone = question.pass_shares(points, count, rng)
    summaries = question.model.predict(points, question.setting_sd, count=count)
    return {
        "factor": factor,
        "values": values,
        "probability": probability,
        "alone": alone,
        "feasible": np.asarray(question.feasible(points), dtype=bool),
        "responses": {name: {"mean": s.mean, "low": s.low, "high": s.high} for name, s in summaries.items()},
    }


def _along(question: Question, at: Floats, factor: str, steps: int) -> tuple[Floats, Floats]:
    column = question.space.names.index(factor)
    own = question.space.factors[column]
    values = np.unique(np.append(np.linspace(own.low, own.high, steps), at[column]))
    points = np.tile(at, (values.size, 1))
    points[:, column] = values
    return points, values


def probability_map(
    question: Question,
    at: Floats,
    pair: tuple[str, str],
    rng: np.random.Generator,
    steps: int = 25,
    count: int = 160,
) -> dict[str, Any]:
    """
    Return the probability that all specifications hold over two factors, the others at a point.

    Parameters
    ----------
    question : Question
        Model, specifications and machine.
    at : (k,) float array
        Point. [shop units]
    pair : (str, str)
        Factor along x and factor along y.
    rng : numpy.random.Generator
        Source of randomness.
    steps : int
        Values of each factor.
    count : int
        Draws.

    Returns
    -------
    map : dict
        `x`, `y` (s,) [shop units]; `probability` (s, s), rows along y [1]; `feasible` (s, s) bool.
    """
    columns = [question.space.names.index(name) for name in pair]
    axes = [np.linspace(question.space.low[c], question.space.high[c], steps) for c in columns]
    grid_x, grid_y = np.meshgrid(*axes)
    points = np.tile(at, (steps * steps, 1))
    points[:, columns[0]], points[:, columns[1]] = grid_x.ravel(), grid_y.ravel()
    probability, _ = question.pass_shares(points, count, rng)
    feasible = np.asarray(question.feasible(points), dtype=bool)
    return {
        "pair": pair,
        "x": axes[0],
        "y": axes[1],
        "probability": probability.reshape(steps, steps),
        "feasible": feasible.reshape(steps, steps),
    }


def tolerances(
    question: Question,
    at: Floats,
    probability: float,
    level: float,
    claimed: bool,
    rng: np.random.Generator,
    count: int = 400,
) -> Tolerances:
    """
    Return how far each factor may move alone while the probability stays at `level` or above.

    Parameters
    ----------
    question : Question
        Model, specifications and machine.
    at : (k,) float array
        Recipe. [shop units]
    probability : float
        That of the recipe, from more draws. [1]
    level : float
        Probability to keep. [1]
    claimed : bool
        Whether the recipe itself is claimed.
    rng : numpy.random.Generator
        Source of randomness.
    count : int
        Draws per point.

    Notes
    -----
    All points share their luck, so the change from the recipe is known far better than the probability itself: what
    the few draws miss at the recipe is added everywhere. A recipe at the very edge of a claim else seems to fail.
    """
    luck = int(rng.integers(2**32))

    def judged(points: Floats) -> tuple[Floats, dict[str, Floats], NDArray[np.bool_]]:
        found, alone = question.pass_shares(np.vstack([at, points]), count, np.random.default_rng(luck))
        chance = found[1:] + (probability - found[0])
        allowed = np.asarray(question.feasible(points), dtype=bool)
        return np.where(allowed, chance, 0.0), {name: share[1:] for name, share in alone.items()}, allowed

    lines = [_along(question, at, name, _STEPS) for name in question.space.names]
    chance, alone, allowed = judged(np.vstack([points for points, _ in lines]))
    ends, start = [], 0
    for column, (_, values) in enumerate(lines):
        own = slice(start, start + values.size)
        start += values.size
        here = int(np.flatnonzero(values == at[column])[0])
        shares = {spec: share[own] for spec, share in alone.items()}
        for step in (-1, 1):
            last, limit = _walk(here, step, chance[own] >= level, allowed[own], shares)
            beyond = values[last + step] if 0 <= last + step < values.size else values[last]
            ends.append((column, float(values[last]), float(beyond), limit))
    if claimed:
        found = _closer(at, ends, lambda points: judged(points)[0] >= level)
    else:
        found = [float(at[column]) for column, *_ in ends]
    return Tolerances(
        level,
        claimed,
        tuple(
            Tolerance(name, found[2 * k], found[2 * k + 1], ends[2 * k][3], ends[2 * k + 1][3])
            for k, name in enumerate(question.space.names)
        ),
    )


def _closer(
    at: Floats, ends: list[tuple[int, float, float, str]], holds: Callable[[Floats], NDArray[np.bool_]]
) -> list[float]:
    """Return how far each side really holds between its last value that does and the first that does not."""
    shares = np.arange(1, _FINE) / _FINE
    points = np.tile(at, (len(ends), shares.size, 1))
    for row, (column, last, beyond, _) in enumerate(ends):
        points[row, :, column] = last + shares * (beyond - last)
    held = holds(points.reshape(-1, at.size)).reshape(len(ends), shares.size)
    unbroken = np.cumprod(held, axis=1).sum(axis=1)
    return [
        last + int(n) / _FINE * (beyond - last)
        for (_, last, beyond, _), n in zip(ends, unbroken, strict=True)
    ]


def _walk(
    start: int,
    step: int,
    holds: NDArray[np.bool_],
    feasible: NDArray[np.bool_],
    shares: dict[str, Floats],
) -> tuple[int, str]:
    """Return the last position that holds in one direction and what stops the next one."""
    position = start
    while 0 <= position + step < holds.size and holds[position + step]:
        position += step
    following = position + step
    if not 0 <= following < holds.size:
        return position, "range"
    if not feasible[following]:
        return position, "machine"
    return position, min(shares, key=lambda name: float(shares[name][following])) if shares else "range"
