"""Confirmation builds of the recipe, and what they show."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np

from voidless.campaign.types import Bound, Observation, Probability, Specification
from voidless.errors import InputError
from voidless.infer.learned import CampaignModel, Noise
from voidless.infer.stop import enough_builds
from voidless.proof.requirement import Requirement
from voidless.proof.size import MOST_BUILDS, Expected, builds_needed
from voidless.proof.verdict import Finding, State, judge
from voidless.toolpath.cautions import BUILD_CAUTIONS
from voidless.workflows.apart import apart_rows, difference_of
from voidless.workflows.confirmation import (
    Confirmation,
    failed_builds,
    latest_confirmation,
    open_builds,
    parts_by_build,
    ratio_by_build,
    store_confirmation,
)
from voidless.workflows.details import Reference, detail_rows, reference_of
from voidless.workflows.methods import counting
from voidless.workflows.opening import SCHEMA_VERSION, OpenCampaign, open_campaign, utc_now
from voidless.workflows.plan import planned_rows
from voidless.workflows.room import room_for
from voidless.workflows.training import data_hash, fit_campaign, rng_of
from voidless.workflows.window import solve_window

__all__ = ["proof_of", "prove_recipe"]

Progress = Callable[[str], None]
_RATIO = "z_ratio"
_WHOLE = {"clarity": 1.0, "haze_pct": 100.0, "transmittance_pct": 100.0, "void_pct": 100.0, "healing": 1.0}
"""Shares: a limit at 0 or at the whole asks for nothing, since no true value lies beyond. [unit of the response]"""
_DIRECTIONS = {
    "strength_xy_mpa": "along the beads",
    "strength_across_mpa": "across the beads",
    "strength_z_mpa": "through the layers",
}


def prove_recipe(
    folder: str | Path,
    builds: int | None = None,
    plan: bool = False,
    confidence: float = 0.95,
    content: float = 0.9,
    power: float = 0.8,
    equal: Sequence[str] = (),
    tell: Sequence[str] = (),
    now: datetime | None = None,
    progress: Progress = lambda _: None,
) -> dict[str, Any]:
    """
    Return what confirmation builds show of each specification; with `plan`, add such builds first.

    Parameters
    ----------
    folder : path
        The campaign's folder.
    builds : int or None
        Confirmation builds to add; None takes the number that the learned scatter asks for.
    plan : bool
        Whether to add confirmation builds; while some are open, these are returned.
    confidence, content : float
        Probability of each statement, and share of further builds or parts it speaks of. [1]
    power : float
        Probability that a true recipe passes, for which the number of builds is chosen. [1]
    equal : sequence of str
        References that the builds shall equal, as `strength_z_mpa=48,sd=1.5,n=10,margin=3`, in the response's unit.
    tell : sequence of str
        Differences between two settings, spools or machines that matter, as `strength_z_mpa=3,sd=1.5,each=4`; scatter
        as learned where none is stated.

    Raises
    ------
    InputError
        No specification or no result yet, or a number out of range.
    """
    _check(builds, confidence, content, power)
    references = [reference_of(text) for text in equal]
    differences = [difference_of(text) for text in tell]
    with open_campaign(folder) as opened:
        if plan or not differences:
            _require(opened, folder)
        known = latest_confirmation(opened)
        notes: list[str] = []
        if plan and not (known and open_builds(opened, known)):
            known, notes = _add(opened, known, builds, confidence, content, power, now or utc_now(), progress)
        answer = _answer(opened, known, confidence, content, power, notes, references)
        apart = apart_rows(differences, lambda: _scatter(opened, progress), _parts(opened), power)
        return {**answer, "apart": apart}


def _scatter(opened: OpenCampaign, progress: Progress) -> Mapping[str, Noise]:
    """Return the learned scatter of every measured response; nothing before the first result."""
    return fit_campaign(opened, progress, everything=True).noise if opened.store.builds_spent() else {}


def proof_of(opened: OpenCampaign, recipe: Mapping[str, float]) -> dict[str, Any]:
    """
    Return what confirmation builds show so far, for a document: `verdict`, `reason`, `builds`, `words`, `same`.

    `same` says whether they were printed at `recipe`; where they were not, they prove another one.
    """
    known = latest_confirmation(opened)
    found = _answer(opened, known, 0.95, 0.9, 0.8, [], [])
    same = known is not None and _at(known, recipe)
    return {
        "verdict": found["verdict"],
        "reason": found["reason"],
        "builds": found["builds"],
        "words": [item["words"] for item in found["findings"]] + found["notes"],
        "same": same,
    }


def _at(known: Confirmation, recipe: Mapping[str, float]) -> bool:
    return all(abs(known.settings[name] - value) <= 1e-9 for name, value in recipe.items())


def _check(builds: int | None, confidence: float, content: float, power: float) -> None:
    if builds is not None and not 1 <= builds <= MOST_BUILDS:
        raise InputError(
            "voidless prove --builds", f"{builds}", f"1 to {MOST_BUILDS}", "Choose another number."
        )
    for name, value in (("confidence", confidence), ("content", content), ("power", power)):
        if not 0.5 <= value <= 0.999:
            raise InputError(f"voidless prove --{name}", f"{value:g}", "0.5 to 0.999", "Choose another.")


def _require(opened: OpenCampaign, folder: str | Path) -> None:
    where = f"voidless prove {folder}"
    if not opened.campaign.specifications:
        raise InputError(
            where, "no specification is stated", "[specifications] in campaign.toml", "State one."
        )
    if not opened.store.builds_spent():
        raise InputError(
            where,
            "nothing has been measured",
            "a campaign with results",
            "Print the planned builds, measure them, and give the results to `voidless read`.",
        )


def _add(
    opened: OpenCampaign,
    known: Confirmation | None,
    builds: int | None,
    confidence: float,
    content: float,
    power: float,
    now: datetime,
    progress: Progress,
) -> tuple[Confirmation | None, list[str]]:
    model = fit_campaign(opened, progress)
    window = solve_window(opened, model, 0.9, progress)
    if window.blocked_by and builds is None:
        so_far = "So far no" if model.builds < enough_builds(model) else "No"
        why = (
            f"{so_far} window: {window.blocked_because}. Builds of this recipe would only show that it fails"
        )
        return known, [f"{why}, so none is added; --builds N adds some all the same."]
    same = known is not None and _at(known, window.recipe.settings)
    notes = [] if window.claim else ["The window makes no claim yet: confirming this recipe may be early."]
    if known is not None and not same:
        notes.append("The recipe has changed since the last confirmation: its builds count no longer.")
    count, said = _count(opened, model, window.recipe.point, confidence, content, power)
    if builds is not None:
        count = builds
    else:
        notes += said
        if known is not None and same:
            count = max(1, count - len(known.builds))
    fits, held = room_for(opened, opened.settings(window.recipe.settings), count)
    if not fits:
        raise InputError(
            "voidless prove --plan",
            f"{held} leaves no room for a confirmation build",
            f"room for {count}",
            "Raise the limit in campaign.toml; the builds on which the recipe was chosen prove nothing.",
        )
    if fits < count:
        notes.append(
            f"{held} leaves room for {fits} of the {count} confirmation builds: they will probably not be enough."
        )
    earlier = known.builds if known is not None and same else ()
    return store_confirmation(opened, window.recipe.settings, fits, earlier, now), notes


def _count(
    opened: OpenCampaign,
    model: CampaignModel,
    point: np.ndarray,
    confidence: float,
    content: float,
    power: float,
) -> tuple[int, list[str]]:
    """Return how many builds the learned means and scatter ask for, and where no number would do."""
    predicted = model.predict(np.asarray(point)[None, :])
    needed, notes = [2 if opened.campaign.probability is Probability.MEAN else 3], []
    for item in _requirements(opened, predicted, confidence, content):
        expected = _expected(model, predicted, item)
        number = builds_needed(item, expected, _parts(opened), power) if expected else None
        if number is not None:
            needed.append(number)
        elif expected:
            notes.append(
                f"{item.response}: not even {MOST_BUILDS} builds would probably show it at this recipe: choose one "
                f"further inside, or ask for less."
            )
    return max(needed), notes


def _parts(opened: OpenCampaign) -> int:
    return max(1, min(order.count for order in opened.orders))


def _expected(model: CampaignModel, predicted: Mapping[str, Any], item: Requirement) -> Expected | None:
    name = item.response
    if name not in predicted:
        return None
    mean = float(predicted[name].mean[0])
    if name == _RATIO and name not in model.noise:
        relative = [
            np.hypot(model.noise[part].between, model.noise[part].within)
            / abs(float(predicted[part].mean[0]))
            for part in ("strength_z_mpa", "strength_xy_mpa")
            if part in model.noise and part in predicted
        ]
        return Expected(mean, mean * float(np.hypot(*relative)), 0.0) if len(relative) == 2 else None
    noise = model.noise.get(name)
    if noise is None:
        return None
    here = noise.at(mean)
    return Expected(mean, float(here.between), float(here.within))


def _requirements(
    opened: OpenCampaign, names: Iterable[str], confidence: float, content: float
) -> list[Requirement]:
    """Return a requirement per specification, one a feature where the response has features."""
    kind = opened.campaign.probability
    found = []
    for spec in opened.campaign.specifications:
        own = sorted(name for name in names if name.split(":")[0] == spec.response) or [spec.response]
        found += [
            Requirement(name, *_asked(spec), kind, content, confidence, ratio=spec.response == _RATIO)
            for name in own
        ]
    return found


def _asked(spec: Specification) -> tuple[float, float]:
    """Return the limits of a specification that a true value could break; infinite ones for the others."""
    low, high = spec.bounds
    whole = _WHOLE.get(spec.response)
    if whole is None:
        return low, high
    return low if low > 0.0 else -np.inf, high if high < whole else np.inf


def _answer(
    opened: OpenCampaign,
    known: Confirmation | None,
    confidence: float,
    content: float,
    power: float,
    notes: Sequence[str],
    references: Sequence[Reference],
) -> dict[str, Any]:
    rows = open_builds(opened, known) if known else []
    answer = {
        "schema_version": SCHEMA_VERSION,
        "settings": dict(known.settings) if known else None,
        "builds": list(known.builds) if known else [],
        "runs": planned_rows(opened, rows, {row.run: "Confirms the recipe." for row in rows}),
        "confidence": confidence,
        "content": content,
        "power": power,
        "cautions": list(BUILD_CAUTIONS) if rows else [],
    }
    if known is None:
        return {
            **answer,
            "verdict": "not tested",
            "reason": "No build confirms a recipe: those on which it was chosen flatter it. Add --plan.",
            "findings": [],
            "details": [],
            "failed": [],
            "notes": list(notes),
        }
    observed = [item for item in counting(opened) if item.build in known.builds]
    values = parts_by_build(observed)
    if _RATIO not in values:
        values[_RATIO] = ratio_by_build(values)
    requirements = _requirements(opened, values, confidence, content)
    findings = [
        (item, judge(item, list(values.get(item.response, {}).values()), power)) for item in requirements
    ]
    failed = failed_builds(opened, known)
    verdict, reason = _overall(findings, failed)
    return {
        **answer,
        "verdict": verdict,
        "reason": reason,
        "findings": [_finding_dict(item, found) for item, found in findings],
        "details": detail_rows(requirements, values, references, rng_of(data_hash(opened))),
        "failed": failed,
        "notes": [*notes, *_notes(observed), *_fused(observed)],
    }


def _overall(findings: Sequence[tuple[Requirement, Finding]], failed: Sequence[str]) -> tuple[str, str]:
    """Return the verdict on all requirements together: the worst of them; a build that failed shows nothing good."""
    named = {
        state: ", ".join(item.response for item, found in findings if found.state is state) for state in State
    }
    if named[State.CONTRADICTED]:
        return "contradicted", f"Outside its limits at this recipe: {named[State.CONTRADICTED]}."
    if findings and not failed and not any(found.builds for _, found in findings):
        return "too few", "None of these builds has a result yet."
    if named[State.TOO_FEW]:
        return "too few", f"Too few builds have a result to say it of: {named[State.TOO_FEW]}."
    if named[State.NOT_SHOWN]:
        return "not proven", f"Not shown to hold by these builds: {named[State.NOT_SHOWN]}."
    if failed:
        return (
            "not proven",
            f"Values pass, but {', '.join(failed)} failed: settings that lose builds are not proven.",
        )
    return "proven", "Every specification is shown to hold."


def _finding_dict(item: Requirement, found: Finding) -> dict[str, Any]:
    numbers = {
        name: (value if not isinstance(value, float) or np.isfinite(value) else None)
        for name, value in asdict(found).items()
    }
    return {
        "response": item.response,
        "probability_of": item.kind.value,
        "min": item.low if np.isfinite(item.low) else None,
        "max": item.high if np.isfinite(item.high) else None,
        **numbers,
        "state": found.state.value,
    }


def _notes(observed: Sequence[Observation]) -> list[str]:
    early = sum(item.bound is not Bound.EXACT for item in observed)
    said = f"{early} value(s) are bounds (a bar that broke at radius or grip) and are left out of means and scatter."
    return [said] if early else []


def _fused(observed: Sequence[Observation]) -> list[str]:
    """Return what stands in the way of calling the part fully fused: directions in which nothing was pulled."""
    seen = {item.key.quantity for item in observed}
    missing = [words for name, words in _DIRECTIONS.items() if name not in seen]
    if not seen or not missing:
        return []
    return [
        f"Nothing was pulled {' or '.join(missing)}: whether parts are fully fused is not shown by these builds."
    ]
