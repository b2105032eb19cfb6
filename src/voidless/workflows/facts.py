"""The whole campaign as one plain dict: what documents and pages show."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np

from voidless.campaign.types import Campaign
from voidless.errors import InputError
from voidless.infer.learned import CampaignModel
from voidless.infer.tolerance import probability_map, profile
from voidless.infer.window import Question, Window
from voidless.workflows.finding_words import finding_rows
from voidless.workflows.instruments import instruments_dict
from voidless.workflows.learn import learned_dict
from voidless.workflows.opening import SCHEMA_VERSION, OpenCampaign, code_version, open_campaign, utc_now
from voidless.workflows.plain import plain
from voidless.workflows.prove import proof_of
from voidless.workflows.qualified import realised_of
from voidless.workflows.reductions import reductions_dict
from voidless.workflows.results import result_rows
from voidless.workflows.spool_water import waters_of
from voidless.workflows.training import data_hash, learned, rng_of
from voidless.workflows.window import solve_window, window_dict

__all__ = ["campaign_dict", "campaign_facts", "facts_of", "require_results", "run_rows"]

Progress = Callable[[str], None]
_MAPS = 6


def campaign_facts(
    folder: str | Path,
    now: datetime | None = None,
    pictures: bool = True,
    confidence: float = 0.9,
    progress: Progress = lambda _: None,
) -> dict[str, Any]:
    """
    Return everything that is known of a campaign, as plain data.

    Parameters
    ----------
    folder : path
        The campaign's folder.
    pictures : bool
        Whether to work out profiles, maps and the trade-off that plots need.
    confidence : float
        Probability that a claim needs. [1]
    """
    with open_campaign(folder) as opened:
        return facts_of(opened, now or utc_now(), pictures, confidence, progress)


def facts_of(
    opened: OpenCampaign, now: datetime, pictures: bool, confidence: float, progress: Progress
) -> dict[str, Any]:
    """Return the facts of an opened campaign; see `campaign_facts`."""
    facts: dict[str, Any] = {
        "schema_version": SCHEMA_VERSION,
        "campaign": campaign_dict(opened.campaign, opened.fixed),
        "material": {"title": opened.material.title},
        "machine": {"title": opened.machine.title},
        "runs": run_rows(opened),
        "counts": _counts(opened),
        "files": [
            {"name": f.name, "sha256": f.sha, "kind": f.kind, "size": f.size, "read_at": f.time.isoformat()}
            for f in opened.store.files()
        ],
        "results": result_rows(opened),
        "ground": ground_dict(opened),
        "instruments": instruments_dict(opened),
        "reduced": reductions_dict(opened),
        "provenance": {"code_version": code_version(), "made_at": now.isoformat(timespec="seconds")},
    }
    model, data = learned(opened, progress)
    window = solve_window(opened, model, confidence, progress)
    progress("working out effects")
    facts["learn"] = learned_dict(opened, model, data)
    facts["strength"] = facts["learn"].pop("strength")
    facts["window"] = _window(opened, model, window, pictures, progress)
    if opened.campaign.specifications:
        facts["proof"] = proof_of(opened, window.recipe.settings)
    planned = opened.store.planned()
    facts["next"] = {
        "runs": [
            {
                "run": p.run,
                "build": p.build,
                "settings": {n: p.settings[n] for n in opened.space.names},
                "reason": p.reason,
            }
            for p in planned
        ],
        "stop": None,
        "reason": "" if planned else "No proposal is open.",
    }
    found: dict[str, Any] = plain(facts)
    return found


def campaign_dict(campaign: Campaign, fixed: Mapping[str, float]) -> dict[str, Any]:
    """Return the target of a campaign as plain data."""
    return {
        "name": campaign.name,
        "material": campaign.material,
        "machine": campaign.machine,
        "probability": campaign.probability.value,
        "objective": {"response": campaign.objective.response, "sense": campaign.objective.sense.value},
        "factors": [vars(factor) for factor in campaign.factors],
        "specifications": [
            {"response": s.response, "min": s.minimum, "max": s.maximum} for s in campaign.specifications
        ],
        "limits": {name: value for name, value in vars(campaign.limits).items() if value is not None},
        "settings": dict(fixed),
    }


def ground_dict(opened: OpenCampaign) -> dict[str, Any]:
    """Return what files told of spools and machine, and what of it stands in place of the library's numbers."""
    return {
        "findings": [
            {**finding_rows([item.numbers])[0], "file": item.file, "sha256": item.sha}
            for item in opened.findings
        ],
        "notes": list(opened.ground_notes),
    }


def run_rows(opened: OpenCampaign) -> list[dict[str, Any]]:
    """Return every build with its factors and where it stands."""
    store = opened.store
    measured = {row.build for row in store.observations()}
    logged = {fact.build for fact in store.build_facts()}
    costs, waters, realised = _recorded_costs(opened), waters_of(opened), store.realised()
    rows = []
    for build in store.builds():
        failed = build.outcome.value != "ok"
        status = (
            "failed"
            if failed
            else "measured"
            if build.label in measured
            else "printed"
            if build.label in logged
            else "planned"
        )
        rows.append(
            {
                "run": build.run,
                "build": build.label,
                "order": build.order,
                "session": build.session,
                "settings": {name: build.settings[name] for name in opened.space.names},
                "realised": realised_of(opened, build, realised),
                "outcome": build.outcome.value,
                "status": status,
                "exposure_h": build.exposure_h,
                "humidity_pct": build.humidity_pct,
                "water_pct": waters.get(build.label),
                **costs.get(build.run, {"build_min": None, "grams": None}),
            }
        )
    return rows


def _recorded_costs(opened: OpenCampaign) -> dict[str, dict[str, float]]:
    """Return time and filament of each run as worked out when it was planned."""
    found: dict[str, dict[str, float]] = {}
    for kind in ("plan", "next"):
        for record in opened.store.derived(kind):
            for row in record.payload.get("builds", []) if isinstance(record.payload, dict) else []:
                found.setdefault(row["run"], {"build_min": row["build_min"], "grams": row["grams"]})
    return found


def _counts(opened: OpenCampaign) -> dict[str, int]:
    counts = opened.store.counts()
    return {
        "builds": opened.store.builds_spent(),
        **{k: counts[k] for k in ("observations", "files") if k in counts},
    }


def _window(
    opened: OpenCampaign, model: CampaignModel, window: Window, pictures: bool, progress: Progress
) -> dict[str, Any]:
    found = window_dict(opened, model, window)
    found["kind"] = found.pop("probability")
    found["certain_share"], found["likely_share"] = found.pop("share_certain"), found.pop("share_likely")
    found["at_confidence"] = [_level(opened, item) for item in found.pop("at_levels")]
    for row in found["tolerances"]:
        row["limited_by_low"], row["limited_by_high"] = (
            row.pop("low_limit", None),
            row.pop("high_limit", None),
        )
    if pictures and model.basis == "data":
        question = Question(
            model,
            opened.campaign.specifications,
            opened.campaign.objective,
            opened.space,
            opened.feasible,
            window.confidence,
            opened.campaign.probability,
            {k: v for k, v in opened.machine.setting_sd.items() if k in opened.space.names},
        )
        found |= _pictures(opened, question, window, found["recipe"]["build_min"], progress)
    return found


def _level(opened: OpenCampaign, item: Mapping[str, Any]) -> dict[str, Any]:
    minutes = item["objective"] if opened.campaign.objective.response == "build_min" else None
    return {"confidence": item["confidence"], "settings": item["settings"], "build_min": minutes}


def _pictures(
    opened: OpenCampaign, question: Question, window: Window, exact_min: float, progress: Progress
) -> dict[str, Any]:
    rng = rng_of(data_hash(opened))
    point = window.recipe.point
    progress("drawing profiles through the recipe")
    profiles = []
    for name in opened.space.names:
        item = profile(question, point, name, rng)
        profiles.append(
            {
                "factor": name,
                "x": item["values"],
                "responses": item["responses"],
                "probability": item["probability"],
            }
        )
    progress("drawing probability maps")
    maps = []
    for pair in _pairs(opened, profiles):
        item = probability_map(question, point, pair, rng)
        maps.append(
            {
                "x": pair[0],
                "y": pair[1],
                "x_values": item["x"],
                "y_values": item["y"],
                "probability": item["probability"],
            }
        )
    return {"profiles": profiles, "maps": maps, "front": _front(question, window, exact_min)}


def _pairs(opened: OpenCampaign, profiles: list[dict[str, Any]]) -> list[tuple[str, str]]:
    """Return the pairs of factors along which the probability moves most."""
    swing = {row["factor"]: float(np.ptp(row["probability"])) for row in profiles}
    names = sorted(opened.space.names, key=lambda name: -swing[name])[:4]
    return list(combinations(names, 2))[:_MAPS]


def _front(question: Question, window: Window, exact_min: float) -> list[dict[str, float]]:
    """Return the points, the recipe among them, that no other beats in both probability and build time."""
    if question.objective.response != "build_min" or not len(window.points):
        return []
    points = np.vstack([window.recipe.point, window.points])
    probabilities = np.append(window.recipe.probability, window.probabilities)
    cost = question.cost(points)
    cost = cost * exact_min / cost[0]  # estimates, brought to the exact time of the recipe
    best, found = -1.0, []
    for row in np.argsort(cost, kind="stable"):
        if probabilities[row] > best + 0.005:
            best = float(probabilities[row])
            found.append({"build_min": float(cost[row]), "probability": best})
    return found


def require_results(opened: OpenCampaign, where: str) -> None:
    """
    Return nothing when the campaign holds a result.

    Raises
    ------
    InputError
        It holds none.
    """
    if not opened.store.observations():
        raise InputError(
            where, "the campaign holds no result", "at least one result", "Read one: voidless read DIR FILE"
        )
