"""Plan builds: settings, order, time, filament."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np

from voidless.design.plan import DESIGNS, Design, PlanRequest, make_plan
from voidless.errors import InputError
from voidless.quantities import suggest
from voidless.toolpath.cautions import BUILD_CAUTIONS
from voidless.workflows.clock import BuildCost, cost_estimate, exact_cost
from voidless.workflows.opening import SCHEMA_VERSION, OpenCampaign, open_campaign, utc_now

__all__ = ["design_list", "plan_builds", "planned_rows"]

Progress = Callable[[str], None]


def design_list() -> dict[str, Any]:
    """Return the kinds of plan with what each is good for and cannot show."""
    return {
        "schema_version": SCHEMA_VERSION,
        "designs": [
            {"name": name, "good_for": kind.good_for, "cannot_show": kind.cannot}
            for name, kind in DESIGNS.items()
        ],
    }


def plan_builds(
    folder: str | Path,
    design: str = "start",
    runs: int | None = None,
    seed: int | None = None,
    replace: bool = False,
    now: datetime | None = None,
    progress: Progress = lambda _: None,
) -> dict[str, Any]:
    """
    Return the planned builds in print order, and store them.

    Parameters
    ----------
    folder : path
        The campaign's folder.
    design : str
        Name of a kind of plan (`design_list`).
    runs : int or None
        Number of builds; None lets the design choose.
    seed : int or None
        Seed of the run order; None draws one. It is recorded either way.
    replace : bool
        Withdraw a stored plan first; refused when one of its runs has results.

    Raises
    ------
    InputError
        No such design, a plan exists, or the budget does not hold one build.
    """
    if design not in DESIGNS:
        where = "voidless plan --design"
        raise InputError(
            where, f"no design {design!r}", "one of " + ", ".join(DESIGNS), suggest(design, tuple(DESIGNS))
        )
    if runs is not None and not 1 <= runs <= 1000:
        raise InputError("voidless plan --runs", f"{runs} builds", "1 to 1000", "Choose another number.")
    seed = int(np.random.SeedSequence().generate_state(1)[0]) if seed is None else seed
    if seed < 0:
        raise InputError("voidless plan --seed", f"{seed}", "0 or more", "Choose another seed.")
    with open_campaign(folder) as opened:
        _check_replaceable(opened, replace)
        progress("choosing settings")
        made = make_plan(_request(opened, design, runs), np.random.default_rng(seed))
        progress("timing each build from its toolpath")
        rows = _store(opened, made, seed, replace, now or utc_now(), progress)
        return {
            "schema_version": SCHEMA_VERSION,
            "runs": rows,
            "design": design,
            "seed": seed,
            "terms": list(made.terms),
            "criteria": dict(made.criteria),
            "fixed": opened.fixed,
            "specimens": {order.kind: order.count for order in opened.orders},
            "notes": list(made.notes),
            "cautions": list(BUILD_CAUTIONS),
        }


def _check_replaceable(opened: OpenCampaign, replace: bool) -> None:
    builds = opened.store.builds()
    if not builds:
        return
    where = f"voidless plan {opened.folder}"
    spent = opened.store.builds_spent()
    if spent:
        raise InputError(
            where,
            f"{spent} builds of the plan have results",
            "a campaign without results",
            "Go on with: voidless next",
        )
    if not replace:
        raise InputError(
            where, f"{len(builds)} builds are planned already", "no plan yet", "Add --replace to withdraw it."
        )


def _request(opened: OpenCampaign, design: str, runs: int | None) -> PlanRequest:
    limits = opened.campaign.limits
    return PlanRequest(
        space=opened.space,
        feasible=opened.feasible,
        usual=opened.usual,
        name=design,
        runs=runs,
        repeats=None,
        sessions=1,
        builds_limit=limits.builds,
        hours_limit=limits.hours,
        grams_limit=limits.grams,
        cost=cost_estimate(opened),
    )


def _store(
    opened: OpenCampaign, made: Design, seed: int, replace: bool, now: datetime, progress: Progress
) -> list[dict[str, Any]]:
    space = opened.space
    factors = [space.settings(point) for point in made.points]
    costs: list[BuildCost] = []
    for index, chosen in enumerate(factors, 1):
        progress(f"timing run {index} of {len(factors)}")
        costs.append(exact_cost(opened, opened.settings(chosen)))
    with opened.store.writing(now) as writer:
        if replace:
            writer.drop_plan("replaced by a new plan")
        labels = [
            writer.add_run(opened.settings(chosen), reason=f"{made.name} plan", origin="plan")
            for chosen in factors
        ]
        rows = [
            _row(
                writer.add_build([labels[item.run]], order=order, session=item.session),
                labels[item.run],
                order,
                item.session,
                factors[item.run],
                costs[item.run],
            )
            for order, item in enumerate(made.order, 1)
        ]
        plan: dict[str, Any] = {
            "design": made.name,
            "seed": seed,
            "terms": list(made.terms),
            "notes": list(made.notes),
            "builds": rows,
        }
        writer.add_derived("plan", plan)
    return rows


def _row(
    build: str, run: str, order: int, session: int, factors: Mapping[str, float], cost: BuildCost
) -> dict[str, Any]:
    return {
        "run": run,
        "build": build,
        "position": 1,
        "order": order,
        "block": session,
        "settings": dict(factors),
        "build_min": cost.build_min,
        "grams": cost.grams,
    }


def planned_rows(
    opened: OpenCampaign, builds: Sequence[Any], reasons: Mapping[str, str]
) -> list[dict[str, Any]]:
    """Return stored builds as rows of the exchange format, each with the reason of its run."""
    rows = []
    for build in builds:
        factors = {name: build.settings[name] for name in opened.space.names}
        row = _row(
            build.label,
            build.run,
            build.order,
            build.session,
            factors,
            exact_cost(opened, opened.settings(factors)),
        )
        rows.append({**row, "position": build.position, "reason": reasons.get(build.run, "")})
    return rows
