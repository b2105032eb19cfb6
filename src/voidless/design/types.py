"""Values that plans are asked for, built from and returned as."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.space import Space

__all__ = ["Cost", "Design", "Draft", "Feasible", "Floats", "PlanRequest", "Size", "Slot"]

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Feasible = Callable[[Floats], Bools]
Cost = Callable[[Floats], tuple[Floats, Floats]]


@dataclass(frozen=True, eq=False)
class PlanRequest:
    """
    What a plan is wanted for.

    Attributes
    ----------
    space : Space
        Factors with bounds, steps and whether they are hard to change.
    feasible : callable
        Points `(n, k)` in shop units to `(n,)` bool: within every limit of machine and material.
    usual : (k,) float array
        The settings that people use today. [shop units]
    name : str
        A name of `plan.DESIGNS`.
    runs : int or None
        Builds wanted in total, repeats included; None: what the design needs.
    repeats : int or None
        Builds beyond the first of the usual settings (of the centre in classical plans); None: the
        design's own number.
    sessions : int
        Days of work over which the builds are spread.
    builds_limit, hours_limit, grams_limit : int, float, float or None
        What may be spent; None is no limit. [1], [h], [g]
    cost : callable or None
        Points `(n, k)` to minutes `(n,)` and grams `(n,)` per build.
    model : str
        Model of the D- and I-optimal plans, a name of `terms.MODELS`.
    earlier : (m, k) float array or None
        Builds already printed, which the plan completes. [shop units]
    variance_ratio : float
        Variance between sessions, and between whole plots, over the variance between builds. [1]
    """

    space: Space
    feasible: Feasible
    usual: Floats
    name: str = "start"
    runs: int | None = None
    repeats: int | None = None
    sessions: int = 1
    builds_limit: int | None = None
    hours_limit: float | None = None
    grams_limit: float | None = None
    cost: Cost | None = None
    model: str = "quadratic"
    earlier: Floats | None = None
    variance_ratio: float = 1.0


class Slot(NamedTuple):
    """One build in print order: row of `Design.points`, and the session from 1 in which it is printed."""

    run: int
    session: int


@dataclass(frozen=True, eq=False)
class Design:
    """
    A plan.

    Attributes
    ----------
    name : str
        Name of the design in `plan.DESIGNS`.
    points : (n, k) float array
        Distinct runs, numbered in the order in which they are first printed. [shop units]
    order : tuple of Slot
        Builds in print order; a run that is repeated appears several times.
    terms : tuple of str
        Terms of the model that the plan is made for; empty when it is made for none.
    notes : tuple of str
        In plain words: what the plan cannot show, what was moved, dropped or rounded.
    criteria : mapping of str to float
        What `criteria.evaluate` says of the plan for `terms`, and the smallest distance of runs.
    dropped : (m, k) float array
        Builds that the budget did not allow. [shop units]
    whole_plots : tuple of int
        Group of each build of `order` that shares its hard-to-change levels; empty without such factors.
    """

    name: str
    points: Floats
    order: tuple[Slot, ...]
    terms: tuple[str, ...]
    notes: tuple[str, ...]
    criteria: Mapping[str, float]
    dropped: Floats
    whole_plots: tuple[int, ...] = ()

    @property
    def builds(self) -> Floats:
        """Points of all builds in print order, repeats included, `(b, k)`. [shop units]"""
        return np.asarray(self.points[[slot.run for slot in self.order]])


@dataclass(frozen=True)
class Size:
    """
    How large a plan may be.

    Attributes
    ----------
    asked : int or None
        Builds wanted, exactly.
    most : int or None
        Builds allowed at most.
    repeats : int or None
        As in `PlanRequest`.
    sessions : int
        As in `PlanRequest`.
    """

    asked: int | None = None
    most: int | None = None
    repeats: int | None = None
    sessions: int = 1

    @property
    def room(self) -> int | None:
        """Builds that fit: what was asked, or else what is allowed."""
        return self.asked if self.asked is not None else self.most


@dataclass(frozen=True, eq=False)
class Draft:
    """
    A plan before limits, budget and order.

    Attributes
    ----------
    rows : (b, k) float array
        Builds, repeats as equal rows. [shop units]
    terms : tuple of str
        Model that the plan is made for.
    notes : tuple of str
        What the builder has to say.
    anchors : (b,) bool array
        Builds that are repeated in every session.
    sessions, plots : (b,) int array or None
        Session from 1 and whole plot of each build where the builder fixes them.
    """

    rows: Floats
    terms: tuple[str, ...]
    notes: tuple[str, ...]
    anchors: Bools
    sessions: NDArray[np.int64] | None = None
    plots: NDArray[np.int64] | None = None
