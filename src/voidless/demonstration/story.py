"""What the demo found, in plain lines, each number computed, beside the invented truth."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from pathlib import Path
from typing import Any

import numpy as np

from voidless.demonstration.bench import Printed
from voidless.demonstration.target import MACHINE, MARK, MATERIAL, factor_ranges, limits
from voidless.demonstration.truth import clarity_drift, pass_share, true_means
from voidless.workflows.clock import minutes_of
from voidless.workflows.opening import open_campaign
from voidless.workflows.predict import predict_settings

__all__ = ["Found", "tell", "truth_at"]

_LEVELS = 3
_IMAGINED = 4000
_EFFECTS = 4
_WELD = "strength_z_mpa"
_PAIR = " × "
_SHOWN = ("settings sheet", "report")


@dataclass(frozen=True)
class Found:
    """
    What the stages returned.

    Attributes
    ----------
    folder : Path
        The demo's folder.
    fixed : mapping
        Settings that no factor varies. [unit in the name]
    rows : sequence of mapping
        Every planned build.
    printed : sequence of Printed
        What the bench knows of them.
    failed : str
        Label of the build that was lost.
    read : int
        Results read from raw files.
    learned, window : mapping
        Answers of `learn` and `window`.
    files : sequence of mapping
        What was written.
    """

    folder: Path
    fixed: Mapping[str, float]
    rows: Sequence[Mapping[str, Any]]
    printed: Sequence[Printed]
    failed: str
    read: int
    learned: Mapping[str, Any]
    window: Mapping[str, Any]
    files: Sequence[Mapping[str, Any]]

    @property
    def settings(self) -> dict[str, float]:
        """Every setting of the recipe. [unit in the name]"""
        return {**self.fixed, **self.window["recipe"]["settings"]}

    @property
    def hours(self) -> float:
        """Print time of all builds. [h]"""
        return float(sum(row["build_min"] for row in self.rows)) / 60.0


def truth_at(found: Found, rng: np.random.Generator) -> dict[str, Any]:
    """Return the invented truth at the recipe, filament dry, and whether the claim was right."""
    means, asked = true_means(found.settings), found.window["confidence"]
    share = pass_share(found.settings, limits(), rng, _IMAGINED)
    claim = bool(found.window["recipe"]["claim"])
    return {
        "clarity": float(means.clarity),
        "z_ratio": float(means.z_ratio),
        "size_error_mm": float(means.size_error_mm),
        "passes": bool(means.passes(limits())),
        "share_of_next_builds": share,
        "imagined_builds": _IMAGINED,
        "claim_right": share >= asked if claim else None,
    }


def tell(found: Found, truth: Mapping[str, Any]) -> list[str]:
    """Return the story in plain lines."""
    return [
        f"{MARK}: nothing below was printed or measured.",
        *_effort(found),
        *_learned(found),
        *_recipe(found),
        *_truth(found, truth),
        *_before(found),
        *(f"{item['kind']}: {item['path']}" for item in found.files if item["kind"] in _SHOWN),
        f"Raw files of the invented bench: {found.folder / 'bench'}",
    ]


def _effort(found: Found) -> list[str]:
    builds, hours = factorial(found.folder / "campaign")
    done = (
        f"{len(found.printed)} builds measured and one lost ({found.failed} fell off the bed), "
        f"{found.hours:.0f} h of printing; {found.read} results read from raw files."
    )
    all_of_them = (
        f"All combinations of {_LEVELS} levels would have been {builds} builds and {hours:.0f} h, "
        "without one repeat to tell scatter by."
    )
    return [done, all_of_them]


def factorial(campaign: Path) -> tuple[int, float]:
    """Return builds and print hours of all combinations of three levels of the campaign's factors."""
    with open_campaign(campaign) as opened:
        levels = [np.linspace(factor.low, factor.high, _LEVELS) for factor in opened.campaign.factors]
        points = np.array(list(product(*levels)))
        return len(points), float(minutes_of(opened)(points).sum()) / 60.0


def _learned(found: Found) -> list[str]:
    """Return what was learned of specified responses: effects, then the clearest interaction, then drift."""
    names = tuple(limits())
    mine = [line for line in found.learned["statements"] if line.startswith(names)]
    effects = [line for line in mine if " explains " in line]
    drift = [line for line in mine if " drifts with " in line]
    return [*effects[:_EFFECTS], _together(found), *drift, _drift_truth(found, drift)]


def _together(found: Found) -> str:
    """Return the clearest interaction in the weld strength, told beside the truth at the corners of its pair."""
    rows = [
        row for row in found.learned["responses"][_WELD]["effects"] if _PAIR in row["term"] and row["claimed"]
    ]
    if not rows:
        return f"No interaction in {_WELD} was told from scatter."
    best = min(rows, key=lambda row: float(row["p"]))
    first, second = best["term"].split(_PAIR)
    at_low, at_high = (_step(found, first, second, end) for end in (0, 1))
    return (
        f"{first} and {second} interact in {_WELD}: {best['estimate']:+.3g} MPa (95 % {best['low']:.3g} to "
        f"{best['high']:.3g}, p {best['p']:.2g}). In the invented truth the step from lowest to highest {first} adds "
        f"{at_low:.1f} MPa at the lowest {second} and {at_high:.1f} MPa at the highest."
    )


def _step(found: Found, factor: str, other: str, end: int) -> float:
    """Return the invented change of weld strength over a factor, another at one end, the rest at the recipe. [MPa]"""
    ranges = factor_ranges()
    low, high = (
        true_means({**found.settings, other: ranges[other][end], factor: value}) for value in ranges[factor]
    )
    return float(high.strength_z_mpa - low.strength_z_mpa)


def _drift_truth(found: Found, drift: Sequence[str]) -> str:
    """Return the learned change of clarity with exposure beside the invented one."""
    longest = max(item.exposure_h for item in found.printed)
    settings = [{**found.fixed, **row["settings"]} for row in found.rows]
    slope = float(np.mean([clarity_drift(item, longest) for item in settings]))
    truth = (
        f"in the invented truth clarity loses {-slope:.4f} per hour out of the dryer, averaged over the "
        f"builds; the longest wait was {longest:.1f} h."
    )
    if any(line.startswith("clarity drifts with exposure") for line in drift):
        return f"That drift was found: {truth}"
    row = next(
        row for row in found.learned["responses"]["clarity"]["drift"] if row["variable"] == "exposure_h"
    )
    told = f"{row['slope']:+.4f} per hour (95 % {row['low']:.4f} to {row['high']:.4f})"
    if row["low"] <= 0.0 <= row["high"]:
        return f"That clarity drifts was missed, {told} was learned: {truth}"
    return f"Clarity by itself: {told}, not claimed since many tests were made; {truth}"


def _recipe(found: Found) -> list[str]:
    recipe = found.window["recipe"]
    shown = ", ".join(f"{name} {value:g}" for name, value in recipe["settings"].items())
    ends = list(filter(None, map(_tolerance, found.window["tolerances"])))
    return [
        f"Recipe: {shown}; {recipe['build_min']:.1f} min a build.",
        found.window["verdict"],
        *(["While it holds, each alone may drift: " + ", ".join(ends) + "."] if ends else []),
    ]


def _tolerance(row: Mapping[str, Any]) -> str:
    if row["low"] is None or row["high"] is None:
        return ""
    return f"{row['factor']} {row['low']:.4g} to {row['high']:.4g}"


def _truth(found: Found, truth: Mapping[str, Any]) -> list[str]:
    share, asked = truth["share_of_next_builds"], found.window["confidence"]
    verdict = {
        True: "The claim was right.",
        False: f"The claim was wrong: fewer than the {asked:g} that were asked for.",
        None: "Nothing was claimed, so nothing was claimed wrongly.",
    }[truth["claim_right"]]
    means = (
        f"In the invented truth, which the program never saw, the recipe has clarity {truth['clarity']:.3f}, "
        f"Z/XY {truth['z_ratio']:.3f}, size error {truth['size_error_mm']:+.3f} mm."
    )
    builds = (
        f"Of {truth['imagined_builds']} further builds imagined at it, filament dry, {100 * share:.1f} % meet all "
        f"specifications. {verdict}"
    )
    return [means, builds]


def _before(found: Found) -> list[str]:
    known = predict_settings(MATERIAL, MACHINE, found.settings)["responses"]
    after = found.window["recipe"]["predicted"]
    bands = [
        f"{words} {known[name]['low']:.2f} to {known[name]['high']:.2f} by physics alone, "
        f"{after[name]['low']:.2f} to {after[name]['high']:.2f} after the builds"
        for name, words in (("clarity", "clarity"), ("z_ratio", "Z/XY"))
    ]
    return ["What the builds bought, at the recipe (95 %): " + "; ".join(bands) + "."]
