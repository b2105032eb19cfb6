"""What matters, what interacts, what drifted, what is confounded, how much scatters."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np

from voidless.campaign.types import Observation
from voidless.infer.compare import adjusted_holm
from voidless.infer.effects import Effects, effects
from voidless.infer.learned import CampaignModel
from voidless.infer.table import TrainingData
from voidless.quantities import QUANTITIES
from voidless.workflows.again import outdated
from voidless.workflows.drying import wet_statements
from voidless.workflows.opening import SCHEMA_VERSION, OpenCampaign, open_campaign, utc_now
from voidless.workflows.strength import compared_rows, strength_rows
from voidless.workflows.taught import constants_of
from voidless.workflows.training import data_hash, learned, rng_of

__all__ = ["grouped_strength", "learn_effects", "learned_dict"]

Progress = Callable[[str], None]


def learn_effects(
    folder: str | Path, now: datetime | None = None, progress: Progress = lambda _: None
) -> dict[str, Any]:
    """
    Return effects with intervals, scatter, drift, confounding and plain statements, per response.

    Parameters
    ----------
    folder : path
        The campaign's folder.
    """
    with open_campaign(folder) as opened:
        model, data = learned(opened, progress, everything=True)
        progress("working out effects")
        result = learned_dict(opened, model, data)
        if not opened.store.read_only and model.builds:
            with opened.store.writing(now or utc_now()) as writer:
                writer.add_derived("learn", {"statements": result["statements"]}, [data_hash(opened)])
        return result


def learned_dict(opened: OpenCampaign, model: CampaignModel, data: TrainingData) -> dict[str, Any]:
    """Return what was learned as the exchange format has it."""
    found = effects(model, data, rng_of(data_hash(opened))) if model.builds else None
    plain = found.to_dict() if found else {"responses": {}, "confounded": []}
    summary = {**model.summary(), "model_constants": constants_of(model, data.prior)}
    strength = _grouped(opened)
    return {
        "schema_version": SCHEMA_VERSION,
        "basis": model.basis,
        "builds": model.builds,
        "responses": {
            name: _response(name, plain["responses"].get(name, {}), summary["responses"][name], data)
            for name in summary["responses"]
            if summary["responses"][name]["builds"]
        },
        "statements": [
            *_statements(found, model, opened),
            *_without_results(opened, summary["responses"]),
            *wet_statements(opened, data.builds),
            *_old_readings(opened),
        ],
        "confounded": plain["confounded"],
        "model": summary,
        "check": _check(model, data),
        "strength": strength_rows(strength),
        "strength_compared": compared_rows(strength),
    }


def _response(
    name: str, effect: Mapping[str, Any], summary: Mapping[str, Any], data: TrainingData
) -> dict[str, Any]:
    classical = effect.get("classical") or {}
    surface = effect.get("surface") or {}
    quantity = name.split(":")[0]
    feature = name.partition(":")[2]
    count = sum(
        1
        for item in data.observations
        if item.key.quantity == quantity and (not feature or item.key.feature == feature)
    )
    return {
        "unit": QUANTITIES[quantity].unit,
        "scale": summary["scale"],
        "n": count,
        "builds": summary["builds"],
        # Where builds are too few for their factors it is what was assumed, and no finding.
        "between_build_sd": summary["between_build_sd"] if _told_apart(classical) else None,
        "within_build_sd": summary["within_build_sd"],
        "session_sd": summary["session_sd"],
        "between_session_sd": _between_sessions(classical),
        "effects": _effects(classical.get("effects", [])),
        "drift": [_drift(row) for row in classical.get("drift", [])],
        "classical_model": classical.get("model", ""),
        "note": classical.get("note", ""),
        "shares": _shares(surface),
        "shares_foretold": not _told_apart(classical),
        "surface": surface,
        "physics_weight": summary["physics_weight"],
    }


def _between_sessions(classical: Mapping[str, Any]) -> float | None:
    """Return how builds of different sessions differ beyond those of one, by the classical model; None with one."""
    found = (classical.get("variance_components") or {}).get("session")
    return None if found is None else float(found) ** 0.5


def _shares(surface: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return the share of every factor and pair in a response's variance, with its interval."""
    own = surface.get("main", {}).items()
    pairs = [(" x ".join(pair["factors"]), pair) for pair in surface.get("interactions", [])]
    return [
        {"source": source, "share": found["value"], "low": found["low"], "high": found["high"]}
        for source, found in (*own, *pairs)
    ]


def _told_apart(classical: Mapping[str, Any]) -> bool:
    """Return whether a response has builds enough to tell their scatter from effects of settings."""
    return bool(classical.get("model", "none") != "none")


def _effects(rows: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return effects of one response; claimed are those that stand with their number paid for."""
    tested = [row["p"] for row in rows if row["p"] is not None]
    adjusted = iter(adjusted_holm(tested).tolist())
    found = []
    for row in rows:
        p = next(adjusted) if row["p"] is not None else None
        found.append(
            {
                "term": row["term"],
                "estimate": row["value"],
                "low": row["low"],
                "high": row["high"],
                "p": row["p"],
                "p_adjusted": p,
                "claimed": p is not None and p < 0.05 and row["status"] == "estimated",
                "status": row["status"],
            }
        )
    return found


def _drift(row: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "variable": row["term"],
        "slope": row["value"],
        **{k: row[k] for k in ("low", "high", "p", "status")},
    }


def _statements(found: Effects | None, model: CampaignModel, opened: OpenCampaign) -> list[str]:
    if found is None:
        kept = opened.store.observations()
        if not kept:
            return ["No build has a result yet: nothing can be said of effects."]
        what = ", ".join(sorted({item.key.quantity for item in kept}))
        away = sum(not item.build for item in kept)
        words = f"{away} of them belong to no build" if away else "none of them is learned"
        return [f"{len(kept)} result(s) are stored ({what}), and {words}: nothing can be said of effects."]
    if not model.measured:
        return [
            f"All {model.builds} builds failed: nothing can be said of effects. `voidless next` knows where they did."
        ]
    return list(dict.fromkeys([*found.statements, *model.notes]))


def _without_results(opened: OpenCampaign, responses: Mapping[str, Any]) -> list[str]:
    """Return which specified quantities no build has a result of, once others have some."""
    measured = {name.partition(":")[0] for name, facts in responses.items() if facts["builds"]}
    asked = dict.fromkeys(item.response.partition(":")[0] for item in opened.campaign.specifications)
    lacking = [name for name in asked if name not in measured and name != "build_min"]
    if not measured or not lacking:
        return []
    return [
        f"No build has a result of {', '.join(lacking)} yet: physics alone speaks for it, with wide bands."
    ]


def _old_readings(opened: OpenCampaign) -> list[str]:
    """Return a sentence where results come from another version of the program."""
    count = len(outdated(opened))
    words = "were derived by another version of the program; `voidless read DIR --again` derives them anew"
    return [f"The results of {count} file(s) {words}."] if count else []


def _check(model: CampaignModel, data: TrainingData) -> list[dict[str, Any]]:
    """Return each build's value against what the others foretell."""
    rows = []
    for name, found in model.check().items():
        table, transform = model.outputs[name].table, model.outputs[name].transform
        if table is None:
            continue
        foretold = transform.forward(table.values) - np.asarray(found["residual"])
        half = 1.96 * np.asarray(found["sd"])
        ends = (transform.backward(at) for at in (foretold, foretold - half, foretold + half))
        for value, position, predicted, low, high in zip(table.values, found["builds"], *ends, strict=True):
            rows.append(
                {
                    "response": name,
                    "build": data.builds[position].label,
                    "observed": float(value),
                    "predicted": float(predicted),
                    "low": float(low),
                    "high": float(high),
                }
            )
    return rows


def grouped_strength(opened: OpenCampaign) -> list[dict[str, Any]]:
    """Return strengths and ratios of results without builds, grouped by the folder their files came from."""
    return strength_rows(_grouped(opened))


def _grouped(opened: OpenCampaign) -> list[tuple[str, Observation]]:
    return [(Path(row.source_name).parent.name, row.observation) for row in opened.store.rows()]
