"""Plan builds: settings, order, time, filament."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np

from voidless.design.plan import DESIGNS, Design, PlanRequest, make_plan
from voidless.design.terms import MODELS
from voidless.errors import InputError
from voidless.quantities import suggest
from voidless.toolpath.cautions import BUILD_CAUTIONS
from voidless.workflows.beds import ALONE, Sharing, bed_words, beds_of
from voidless.workflows.clock import BuildCost, cost_estimate, exact_cost
from voidless.workflows.drying import drying_notes
from voidless.workflows.opening import SCHEMA_VERSION, OpenCampaign, open_campaign, utc_now
from voidless.workflows.qualified import notes_of

__all__ = ["design_list", "plan_builds", "planned_rows"]

Progress = Callable[[str], None]

_MOST = 1000
"""Largest number that a plan's options take: beyond it a typing error is likelier than a wish."""


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
    *,
    sessions: int = 1,
    repeats: int | None = None,
    model: str = "quadratic",
    sharing: Sharing | None = None,
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
    sessions : int
        Days of work over which the builds are spread; each gets a build that is repeated in all of them.
    repeats : int or None
        Builds beyond the first of the usual settings, or of the centre; None lets the design choose.
    model : str
        Model of the D- and I-optimal designs, a name of `MODELS`.
    sharing : Sharing or None
        How many runs may share a bed, and whether as a whole plot; None: each has a bed of its own.

    Raises
    ------
    InputError
        No such design or model, a number out of range, a plan exists, the budget does not hold one build, or runs
        that share a bed would see other layer times than in builds of their own.
    """
    sharing = sharing or Sharing()
    _check_name("--design", design, tuple(DESIGNS))
    _check_name("--model", model, tuple(MODELS))
    for option, number, least in (
        ("--runs", runs, 1),
        ("--sessions", sessions, 1),
        ("--repeats", repeats, 0),
        ("--share", sharing.most, 1),
    ):
        if number is not None and not least <= number <= _MOST:
            where = f"voidless plan {option}"
            raise InputError(where, f"{number}", f"{least} to {_MOST}", "Choose another number.")
    seed = int(np.random.SeedSequence().generate_state(1)[0]) if seed is None else seed
    if seed < 0:
        raise InputError("voidless plan --seed", f"{seed}", "0 or more", "Choose another seed.")
    with open_campaign(folder) as opened:
        _check_replaceable(opened, replace)
        sharing.check(opened)
        progress("choosing settings")
        request = _request(opened, design, runs, sessions, repeats, model)
        made = make_plan(request, np.random.default_rng(seed))
        progress("timing each build from its toolpath")
        rows, notes = _store(opened, made, seed, replace, now or utc_now(), progress, sharing)
        return {
            "schema_version": SCHEMA_VERSION,
            "runs": rows,
            "design": design,
            "seed": seed,
            "terms": list(made.terms),
            "criteria": dict(made.criteria),
            "whole_plots": _whole_plots(made, rows),
            "dropped": [opened.space.settings(point) for point in made.dropped],
            "fixed": opened.fixed,
            "specimens": {order.kind: order.count for order in opened.orders},
            "notes": [*made.notes, *notes],
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


def _check_name(option: str, name: str, known: tuple[str, ...]) -> None:
    if name not in known:
        where = f"voidless plan {option}"
        raise InputError(
            where, f"no {option[2:]} {name!r}", "one of " + ", ".join(known), suggest(name, known)
        )


def _whole_plots(made: Design, rows: Sequence[Mapping[str, Any]]) -> list[list[str]]:
    """Return the builds that share their hard-to-change levels, group by group; empty without such factors."""
    groups: dict[int, list[str]] = {}
    for plot, row in zip(made.whole_plots, rows, strict=False):
        groups.setdefault(plot, []).append(row["build"])
    return list(groups.values())


def _request(
    opened: OpenCampaign, design: str, runs: int | None, sessions: int, repeats: int | None, model: str
) -> PlanRequest:
    limits = opened.campaign.limits
    hours = [limit for limit in (limits.hours, limits.attended_hours) if limit is not None]
    return PlanRequest(
        space=opened.space,
        feasible=opened.feasible,
        usual=opened.usual,
        name=design,
        runs=runs,
        repeats=repeats,
        sessions=sessions,
        builds_limit=limits.builds,
        hours_limit=min(hours, default=None),
        grams_limit=limits.grams,
        cost=cost_estimate(opened),
        model=model,
    )


def _store(
    opened: OpenCampaign,
    made: Design,
    seed: int,
    replace: bool,
    now: datetime,
    progress: Progress,
    sharing: Sharing,
) -> tuple[list[dict[str, Any]], list[str]]:
    """Return the rows of the builds that were stored, and notes on the machine and the beds that they share."""
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
            writer.add_run(opened.settings(chosen), reason=_reason(made, run), origin="plan")
            for run, chosen in enumerate(factors)
        ]
        runs = [labels[item.run] for item in made.order]
        sessions = [item.session for item in made.order]
        beds, notes = beds_of(opened, sharing, runs, [factors[item.run] for item in made.order], sessions)
        rows: list[dict[str, Any]] = []
        shared: dict[str, str] = {}
        for order, bed in enumerate(beds, 1):
            carried = [runs[number] for number in bed]
            build = writer.add_build(carried, order=order, session=sessions[bed[0]])
            if len(bed) > 1:
                shared[build] = sharing.how
                notes.append(bed_words(build, carried, sharing.how))
            for position, number in enumerate(bed, 1):
                which = made.order[number].run
                row = _row(build, runs[number], order, sessions[number], factors[which], costs[which])
                rows.append({**row, "position": position})
        if sharing.how != ALONE:
            notes.append("Minutes of runs that share a bed are those of builds of their own.")
        told = [*notes_of(opened, rows), *drying_notes(opened, rows)]
        plan: dict[str, Any] = {
            "design": made.name,
            "seed": seed,
            "terms": list(made.terms),
            "notes": [*made.notes, *told],
            "beds": shared,
            "builds": rows,
        }
        writer.add_derived("plan", plan)
    return rows, [*told, *notes]


def _reason(made: Design, run: int) -> str:
    """Return one sentence on what a run of a plan is for."""
    times = sum(item.run == run for item in made.order)
    if times > 1:
        return f"Printed {times} times: shows how builds of the same settings differ."
    if made.name == "start":
        return "A first look: with the others it is spread over the whole ranges."
    return f"Part of the {made.name} plan: it tells of effects together with the others."


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
