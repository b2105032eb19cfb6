"""Build time and filament of settings, from the program's own toolpaths."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.machines import Machine
from voidless.specimens.order import SpecimenOrder
from voidless.toolpath.build import grams, plan_build
from voidless.toolpath.estimate import aside_minutes, build_minutes, closed_form
from voidless.toolpath.motion import build_time
from voidless.toolpath.moves import Toolpath
from voidless.workflows.opening import OpenCampaign

__all__ = ["BuildCost", "cost_estimate", "exact_cost", "full_minutes", "minutes_of"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class BuildCost:
    """What a build takes: motion time without heating [min] and filament [g]."""

    build_min: float
    grams: float


def exact_cost(opened: OpenCampaign, settings: Mapping[str, float]) -> BuildCost:
    """Return time and filament of one build from its toolpath, ways aside as they are counted."""
    toolpath = plan_build(opened.orders, settings, opened.machine, even=False)
    density = opened.material.property("density_g_cm3").value
    minutes = full_minutes(toolpath, opened.orders, settings, opened.machine)
    return BuildCost(minutes, grams(toolpath, density))


def full_minutes(
    toolpath: Toolpath, orders: Sequence[SpecimenOrder], settings: Mapping[str, float], machine: Machine
) -> float:
    """
    Return the time of a build planned without ways aside, with those counted that its orders will have. [min]

    Where the closed form is off, the time is the estimate itself, which leans on planned layers.
    """
    columns = {name: np.array([value]) for name, value in settings.items()}
    if not closed_form(columns, orders):
        return float(build_minutes(columns, orders, machine)[0])
    aside = float(aside_minutes(columns, orders, machine)[0])
    return build_time(toolpath, machine).total_s / 60.0 + aside


def minutes_of(opened: OpenCampaign) -> Callable[[Floats], Floats]:
    """Return a function of points `(n, k)` that gives the estimated build time `(n,)`. [min]"""

    def minutes(points: Floats) -> Floats:
        return np.asarray(build_minutes(opened.columns(points), opened.orders, opened.machine))

    return minutes


def cost_estimate(opened: OpenCampaign) -> Callable[[Floats], tuple[Floats, Floats]]:
    """
    Return a function of points `(n, k)` that gives minutes and grams, both `(n,)`.

    Filament is scaled by flow from one exact build at the usual settings: the specimens' volume does
    not depend on how they are sliced, their flow does.
    """
    minutes = minutes_of(opened)
    at_usual = opened.settings(opened.space.settings(opened.usual))
    per_flow = exact_cost(opened, at_usual).grams / at_usual["flow_pct"]

    def cost(points: Floats) -> tuple[Floats, Floats]:
        return minutes(points), opened.columns(points)["flow_pct"] * per_flow

    return cost
