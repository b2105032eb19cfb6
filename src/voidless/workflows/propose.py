"""The next builds, and whether to stop."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from voidless.campaign.space import Space
from voidless.campaign.types import Run
from voidless.errors import InputError
from voidless.infer.propose import Proposal, expected_saving, propose, repeat_of
from voidless.infer.question import Question
from voidless.infer.stop import Spent, may_stop
from voidless.toolpath.cautions import BUILD_CAUTIONS
from voidless.workflows.clock import exact_cost
from voidless.workflows.drying import drying_notes
from voidless.workflows.opening import SCHEMA_VERSION, OpenCampaign, open_campaign, utc_now
from voidless.workflows.plan import planned_rows
from voidless.workflows.qualified import notes_of
from voidless.workflows.telling import telling_build
from voidless.workflows.training import built, data_hash, learned, rng_of
from voidless.workflows.window import solve_window, window_dict

__all__ = ["next_builds", "same_run", "session_now", "spent"]

Progress = Callable[[str], None]
_CONFIDENCE = 0.9
_SAME = 1e-6


def next_builds(
    folder: str | Path, count: int = 1, now: datetime | None = None, progress: Progress = lambda _: None
) -> dict[str, Any]:
    """
    Return the builds to print next, each with its reason, and whether to stop.

    While proposals are open, the same ones are returned. Where `stop` is true, `runs` is empty and nothing is stored.

    Parameters
    ----------
    folder : path
        The campaign's folder.
    count : int
        Builds wanted, 1 to 200.

    Raises
    ------
    InputError
        The count is out of bounds.
    """
    if not 1 <= count <= 200:
        raise InputError("voidless next --count", f"{count}", "1 to 200", "Choose another number.")
    with open_campaign(folder) as opened:
        model, data = learned(opened, progress)
        window = solve_window(opened, model, _CONFIDENCE, progress)
        probability = window_dict(opened, model, window)["recipe"]["probability_pass"]
        used = spent(opened)
        limits = opened.campaign.limits
        reached = may_stop(model, window, used, limits)
        if reached.limit:
            return _answer(opened, [], True, reached.reason, probability)
        open_rows = _open_rows(opened)
        if open_rows:
            return _answer(
                opened,
                open_rows,
                False,
                f"Proposed builds that are still open: {len(open_rows)}.",
                probability,
            )
        progress("choosing the next builds")
        room = count if limits.builds is None else min(count, limits.builds - used.builds)
        proposals = propose(
            model,
            opened.campaign.specifications,
            opened.campaign.objective,
            opened.space,
            opened.feasible,
            room,
            rng_of(data_hash(opened)),
            window=window,
            confidence=_CONFIDENCE,
            kind=opened.campaign.probability,
            setting_sd={k: v for k, v in opened.machine.setting_sd.items() if k in opened.space.names},
            builds=opened.space.points([build.settings for build in built(opened)]),
        )
        asked = Question(
            model,
            opened.campaign.specifications,
            opened.campaign.objective,
            opened.space,
            opened.feasible,
        )
        saving = expected_saving(asked, window)
        stop = may_stop(model, window, used, limits, proposals, saving, opened.campaign.objective)
        if stop.stop:
            return _answer(opened, [], True, stop.reason, probability)
        telling = telling_build(opened, data, window, proposals[0])
        if telling is not None:
            proposals = [telling, *proposals[:-1]]
        if stop.repeats:
            proposals = [repeat_of(window, probability)] * min(room, stop.repeats)
        fitting, held = _within(opened, proposals, used)
        if not fitting:
            return _answer(opened, [], True, f"{held} leaves no room for the next build.", probability)
        rows = _store(opened, fitting, now or utc_now())
        return _answer(opened, rows, False, stop.reason, probability)


def _within(opened: OpenCampaign, proposals: Sequence[Proposal], used: Spent) -> tuple[list[Proposal], str]:
    """Return the first proposals that hours and grams leave room for, and the limit that holds the others."""
    limits, hours, grams = opened.campaign.limits, used.hours, used.grams
    if limits.hours is None and limits.attended_hours is None and limits.grams is None:
        return list(proposals), ""
    for number, item in enumerate(proposals):
        cost = exact_cost(opened, opened.settings(item.settings))
        hours, grams = hours + cost.build_min / 60.0, grams + cost.grams
        rows = (("hours", hours), ("attended_hours", hours), ("grams", grams))
        held = [name for name, total in rows if total > (getattr(limits, name) or float("inf")) + 1e-9]
        if held:
            return list(proposals[:number]), f"limits.{held[0]} ({getattr(limits, held[0]):g})"
    return list(proposals), ""


def _answer(
    opened: OpenCampaign, rows: list[dict[str, Any]], stop: bool, reason: str, probability: float
) -> dict[str, Any]:
    return {
        "schema_version": SCHEMA_VERSION,
        "runs": rows,
        "stop": stop,
        "reason": reason,
        "probability_pass": probability,
        "fixed": opened.fixed,
        "notes": [*notes_of(opened, rows), *drying_notes(opened, rows)],
        "cautions": list(BUILD_CAUTIONS) if rows else [],
    }


def spent(opened: OpenCampaign) -> Spent:
    """Return what the campaign has used: builds with a result or failure, their hours and grams."""
    labels = set(opened.store.spent_labels())
    seen: dict[tuple[tuple[str, float], ...], tuple[float, float]] = {}
    hours = mass = 0.0
    limits = opened.campaign.limits
    if any(limit is not None for limit in (limits.hours, limits.attended_hours, limits.grams)):
        for build in opened.store.builds():
            if build.label not in labels:
                continue
            settings = {**opened.fixed, **build.settings}
            key = tuple(sorted(settings.items()))
            if key not in seen:
                cost = exact_cost(opened, settings)
                seen[key] = (cost.build_min / 60.0, cost.grams)
            hours += seen[key][0]
            mass += seen[key][1]
    return Spent(builds=len(labels), hours=hours, grams=mass)


def _open_rows(opened: OpenCampaign) -> list[dict[str, Any]]:
    planned = opened.store.planned()
    wanted = {(item.build, item.run) for item in planned}
    builds = [build for build in opened.store.builds() if (build.label, build.run) in wanted]
    return planned_rows(opened, builds, {item.run: item.reason for item in planned})


def _store(opened: OpenCampaign, proposals: Sequence[Proposal], now: datetime) -> list[dict[str, Any]]:
    """Store proposals as planned builds; one with the settings of an earlier run repeats that run."""
    runs = opened.store.runs()
    builds = opened.store.builds()
    order = max((build.order for build in builds), default=0)
    session = session_now(opened, now)
    rows: list[dict[str, Any]] = []
    with opened.store.writing(now) as writer:
        for item in proposals:
            known = same_run(opened.space, runs, item.settings)
            settings = opened.settings(item.settings)
            label = known or writer.add_run(settings, reason=item.reason, origin="next")
            if known is None:
                runs.append(Run(label, settings, item.reason))
            order += 1
            build = writer.add_build([label], order=order, session=session)
            cost = exact_cost(opened, settings)
            rows.append(
                {
                    "run": label,
                    "build": build,
                    "position": 1,
                    "order": order,
                    "block": session,
                    "settings": dict(item.settings),
                    "build_min": cost.build_min,
                    "grams": cost.grams,
                    "reason": item.reason,
                }
            )
        writer.add_derived("next", {"builds": rows}, [data_hash(opened)])
    return rows


def session_now(opened: OpenCampaign, now: datetime) -> int:
    """Return the session of builds proposed now: a new one each day."""
    last = max((build.session for build in opened.store.builds()), default=0)
    planned = [
        record.time for kind in ("plan", "next", "confirmation") for record in opened.store.derived(kind)
    ]
    same_day = bool(planned) and max(planned).astimezone(now.tzinfo).date() == now.date()
    return max(1, last if same_day else last + 1)


def same_run(space: Space, runs: Sequence[Run], settings: Mapping[str, float]) -> str | None:
    """Return the label of an earlier run with the same factors; None without one."""
    for run in runs:
        if all(
            abs(run.settings[name] - settings[name]) <= _SAME * max(1.0, abs(settings[name]))
            for name in space.names
        ):
            return run.label
    return None
