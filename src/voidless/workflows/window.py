"""The recipe and the window around it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.types import Probability
from voidless.errors import InputError
from voidless.infer.learned import CampaignModel
from voidless.infer.stop import enough_builds
from voidless.infer.window import Window, find_window
from voidless.workflows.clock import exact_cost
from voidless.workflows.opening import SCHEMA_VERSION, OpenCampaign, code_version, open_campaign, utc_now
from voidless.workflows.training import built, data_hash, fit_campaign, rng_of, state_of

__all__ = ["find_recipe", "recipe_settings", "solve_window", "window_dict"]

Floats = NDArray[np.float64]
Progress = Callable[[str], None]

# As with models: the same data and question give the same window.
_SOLVED: dict[tuple[str, float], Window] = {}
_REMEMBERED = 4

_WORDS = {
    Probability.MEAN: "of the mean of builds",
    Probability.NEXT_BUILD: "of the mean of the next build",
    Probability.NEXT_PART: "of the next part",
}


_CONFIDENCE = 0.9


def recipe_settings(folder: str | Path) -> dict[str, float]:
    """
    Return the recipe's factors: those recorded by this code from the same data, else found anew.

    Raises
    ------
    InputError
        As `find_recipe`.
    """
    with open_campaign(folder) as opened:
        same, version = (data_hash(opened),), code_version()
        for item in opened.store.derived("window"):
            payload: Any = item.payload
            if (item.inputs, item.code_version, payload["confidence"]) == (same, version, _CONFIDENCE):
                return dict(payload["recipe"]["settings"])
    return dict(find_recipe(folder)["recipe"]["settings"])


def find_recipe(
    folder: str | Path,
    confidence: float = _CONFIDENCE,
    now: datetime | None = None,
    progress: Progress = lambda _: None,
) -> dict[str, Any]:
    """
    Return the recipe, its probability, tolerances and what blocks it.

    Parameters
    ----------
    folder : path
        The campaign's folder.
    confidence : float
        Probability that a claim needs. [1]

    Raises
    ------
    InputError
        The confidence is not between 0.5 and 0.999, or no point of the box is feasible.
    """
    if not 0.5 <= confidence <= 0.999:
        raise InputError("--confidence", f"{confidence:g}", "0.5 to 0.999", "Choose another confidence.")
    with open_campaign(folder) as opened:
        model = fit_campaign(opened, progress)
        window = solve_window(opened, model, confidence, progress)
        result = window_dict(opened, model, window)
        if window.basis == "data" and not opened.store.read_only:
            with opened.store.writing(now or utc_now()) as writer:
                writer.add_derived(
                    "window", {k: result[k] for k in ("recipe", "confidence")}, [data_hash(opened)]
                )
        return result


def solve_window(
    opened: OpenCampaign, model: CampaignModel, confidence: float, progress: Progress = lambda _: None
) -> Window:
    """Return the window of a fitted model; builds and the usual settings are among the points judged."""
    key = (state_of(opened), confidence)
    if key not in _SOLVED:
        progress("judging settings")
        while len(_SOLVED) >= _REMEMBERED:
            _SOLVED.pop(next(iter(_SOLVED)))
        _SOLVED[key] = _solve(opened, model, confidence)
    return _SOLVED[key]


def _solve(opened: OpenCampaign, model: CampaignModel, confidence: float) -> Window:
    campaign = opened.campaign
    made = opened.space.points([build.settings for build in built(opened)])
    return find_window(
        model,
        campaign.specifications,
        campaign.objective,
        opened.space,
        opened.feasible,
        confidence=confidence,
        kind=campaign.probability,
        setting_sd=_scatter(opened),
        rng=rng_of(data_hash(opened)),
        seeds=np.vstack([opened.usual[None, :], made]),
    )


def _scatter(opened: OpenCampaign) -> dict[str, float]:
    """Return the machine's own scatter of each factor. [unit of the setting]"""
    known = opened.machine.setting_sd
    return {name: known[name] for name in opened.space.names if name in known}


def window_dict(opened: OpenCampaign, model: CampaignModel, window: Window) -> dict[str, Any]:
    """Return a window as the exchange format has it, with the build time of the real toolpath."""
    result = window.to_dict()
    recipe = result["recipe"]
    settings = opened.settings(recipe["settings"])
    if "build_min" in model.known:
        exact = exact_cost(opened, settings).build_min
        recipe["build_min"] = exact
        if "build_min" in recipe["predicted"]:
            recipe["predicted"]["build_min"] = dict.fromkeys(
                ("mean", "low", "high", "part_low", "part_high"), exact
            )
    if opened.campaign.objective.response == "build_min" and "build_min" in model.known:
        for item in result["at_levels"]:
            item["objective"] = exact_cost(opened, opened.settings(item["settings"])).build_min
    tolerances = [
        {"factor": name, "low": None, "high": None, **found}
        for name, found in result.pop("tolerances").items()
    ]
    return {
        "schema_version": SCHEMA_VERSION,
        **result,
        "tolerances": tolerances,
        "settings": settings,
        "probability_of": _WORDS[opened.campaign.probability],
        "verdict": _verdict(window, opened, model),
        "builds": model.builds,
        "early": model.builds < enough_builds(model),
    }


def _verdict(window: Window, opened: OpenCampaign, model: CampaignModel) -> str:
    chance, asked = window.recipe.probability, window.confidence
    if not opened.campaign.specifications:
        return "No specification is stated, so nothing is claimed."
    if window.basis == "prior":
        return (
            "Nothing that is specified has been measured: this is what physics alone expects, and no claim."
        )
    if window.claim:
        return f"Claim: all specifications hold with a probability of {chance:.2f}; {asked:g} was asked for."
    if window.blocked_by and model.builds < enough_builds(model):
        return (
            f"So far no window: {window.blocked_because}; that is believed after {enough_builds(model)} builds. "
            f"Blocked by {', '.join(window.blocked_by)}."
        )
    if window.blocked_by:
        return f"No window: {window.blocked_because}. Blocked by {', '.join(window.blocked_by)}."
    return (
        f"No claim: the likeliest recipe passes with a probability of {chance:.2f}; {asked:g} is asked for."
    )
