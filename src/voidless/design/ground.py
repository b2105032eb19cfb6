"""The checked request: factors with their levels, limits, usual settings; feasible samples."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from voidless.campaign.space import Space
from voidless.campaign.types import Factor
from voidless.design.types import Bools, Feasible, Floats, PlanRequest
from voidless.errors import InputError
from voidless.quantities import QUANTITIES

__all__ = ["Ground", "describe", "ground", "sample"]

FINE_LEVELS = 21
"""Levels tried for a factor without step: 5 % of its range apart."""


@dataclass(frozen=True, eq=False)
class Ground:
    """
    What every builder stands on.

    Attributes
    ----------
    space : Space
        Factors; those that count whole things have a step.
    feasible : callable
        As in `PlanRequest`.
    usual : (k,) float array
        The usual settings, inside the space and allowed. [shop units]
    earlier : (m, k) float array
        Builds already printed. [shop units]
    notes : tuple of str
        What had to be moved to get here.
    """

    space: Space
    feasible: Feasible
    usual: Floats
    earlier: Floats
    notes: tuple[str, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the factors."""
        return self.space.names

    @property
    def hard(self) -> Bools:
        """Which factors are hard to change, `(k,)`."""
        return np.array([factor.hard_to_change for factor in self.space.factors], dtype=bool)

    def coded(self, points: Floats) -> Floats:
        """Return points `(n, k)` scaled to -1 at the lower and +1 at the upper bounds. [1]"""
        return np.asarray(2.0 * self.space.to_unit(points) - 1.0)

    def uncoded(self, coded: Floats) -> Floats:
        """Return coded points `(n, k)` in shop units, on the steps of the factors."""
        return self.space.snap(self.space.from_unit((np.asarray(coded, dtype=float) + 1.0) / 2.0))

    def levels(self, column: int) -> Floats:
        """Return the levels of one factor that a plan may use. [shop units]"""
        factor = self.space.factors[column]
        if factor.step:
            count = int(np.floor((factor.high - factor.low) / factor.step + 1e-9)) + 1
            if count <= FINE_LEVELS:
                return np.asarray(np.round(factor.low + factor.step * np.arange(count), 10))
        spread = np.zeros((FINE_LEVELS, len(self.names)))
        spread[:, column] = np.linspace(-1.0, 1.0, FINE_LEVELS)
        return np.unique(self.uncoded(spread)[:, column])


def _with_steps(factor: Factor) -> Factor:
    if not factor.high > factor.low:
        raise InputError(
            f"factor {factor.name}",
            f"{factor.low:g} to {factor.high:g}",
            "low below high",
            "Correct the bounds.",
        )
    if factor.step is None and QUANTITIES[factor.name].integer:
        factor = replace(factor, step=1.0)
    if factor.step is not None and not 0 < factor.step <= factor.high - factor.low:
        raise InputError(
            f"factor {factor.name}",
            f"step = {factor.step:g}",
            f"above 0 and at most {factor.high - factor.low:g}",
            "Make the step smaller, or fix the setting.",
        )
    return factor


def describe(space: Space, point: Floats) -> str:
    """Return a point `(k,)` in words: `flow_pct 110, nozzle_c 245`."""
    return ", ".join(f"{name} {value:.6g}" for name, value in zip(space.names, point, strict=True))


def ground(request: PlanRequest, rng: np.random.Generator) -> Ground:
    """
    Return the request with usual settings that are allowed and steps for factors that count.

    Raises
    ------
    InputError
        There is no factor, a bound or step makes no sense, a setting is missing, or nothing is within the
        limits.
    """
    if not request.space.factors:
        raise InputError("plan", "the campaign has no factors", "at least one", "Add a [factors.NAME] table.")
    space = Space(tuple(_with_steps(factor) for factor in request.space.factors))
    count = len(space.factors)
    earlier = np.zeros((0, count)) if request.earlier is None else np.asarray(request.earlier, dtype=float)
    usual = np.asarray(request.usual, dtype=float)
    if usual.shape != (count,) or not np.all(np.isfinite(usual)):
        raise InputError(
            "plan", "a usual setting is not a number", "a number per factor", "Check the defaults."
        )
    if earlier.ndim != 2 or earlier.shape[1] != count or not np.all(np.isfinite(earlier)):
        raise InputError(
            "plan",
            "an earlier build lacks a setting",
            "a number per factor and build",
            "Leave out builds whose settings are not known.",
        )
    base = Ground(space, request.feasible, usual, earlier)
    inside = space.snap(usual[None, :])
    notes = []
    if not np.allclose(inside[0], usual, rtol=0, atol=1e-9):
        notes.append(
            "The usual settings are not a level of the factors: "
            f"{describe(space, usual)} was moved to {describe(space, inside[0])}."
        )
    if not base.feasible(inside)[0]:
        near = sample(base, 500, rng)
        distance = np.linalg.norm(space.to_unit(near) - space.to_unit(inside), axis=1)
        moved = near[np.argmin(distance)][None, :]
        notes.append(
            f"The usual settings ({describe(space, inside[0])}) break a limit of the machine or material: "
            f"the nearest of {len(near)} allowed points, {describe(space, moved[0])}, stands in for them."
        )
        inside = moved
    return replace(base, usual=inside[0], notes=tuple(notes))


def sample(base: Ground, count: int, rng: np.random.Generator, most: int = 200_000) -> Floats:
    """
    Return random points within the limits, uniform over them, on the steps of the factors.

    Parameters
    ----------
    base : Ground
        Factors and limits.
    count : int
        Points wanted. [1]
    rng : numpy.random.Generator
        Source of randomness.
    most : int
        Points tried at most; fewer than `count` come back when limits leave little. [1]

    Returns
    -------
    points : (n, k) float array
        [shop units]

    Raises
    ------
    InputError
        Not one of the points tried is within the limits.
    """
    found: list[Floats] = []
    have = tried = 0
    while have < count and tried < most:
        batch = base.space.snap(base.space.from_unit(rng.random((max(count, 1000), len(base.names)))))
        tried += len(batch)
        kept = batch[np.asarray(base.feasible(batch), dtype=bool)]
        have += len(kept)
        found.append(kept)
    if not have:
        raise InputError(
            "plan",
            f"none of {tried} combinations of the factors' levels is within the limits",
            "bounds of the factors that overlap with the limits of machine and material",
            "Widen or move the bounds, or raise limits.rate_mm3_s if the machine allows it.",
        )
    return np.concatenate(found)[:count]
