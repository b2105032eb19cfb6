"""How each response follows each setting, the others staying at the recipe."""

from __future__ import annotations

import math

from voidless.reporting.charts import Axis, Chart, Curve, Layer, Plate, Rule, key_of, real, reals
from voidless.reporting.facts import Facts, limits_of
from voidless.reporting.words import axis_label, number, sentence, short, words

__all__ = ["probability_profiles", "profiles"]

_SIZE = (300, 220)


def _limits(facts: Facts, response: str) -> tuple[Rule, ...]:
    return tuple(Rule(f"{word} {number(limit)}", limit, "y") for word, limit in limits_of(facts, response))


def _recipe_rule(facts: Facts, factor: str) -> tuple[Rule, ...]:
    recipe = facts["window"].get("recipe") or {}
    place = real((recipe.get("settings") or {}).get(factor))
    return (Rule("recipe", place, "x"),) if math.isfinite(place) else ()


def _panel(facts: Facts, response: str, profile: Facts) -> Chart:
    curve = profile["responses"][response]
    factor = profile["factor"]
    layers: tuple[Layer, ...] = (
        Curve(
            "mean and 95 % interval",
            reals(profile["x"]),
            reals(curve["mean"]),
            reals(curve.get("low")),
            reals(curve.get("high")),
        ),
        *_limits(facts, response),
        *_recipe_rule(facts, factor),
    )
    return Chart(
        key=key_of("profile", response, factor),
        title="",
        x=Axis(axis_label(factor)),
        y=Axis(axis_label(response)),
        layers=layers,
        alt=f"{words(response)} over {words(factor)}, with its band and limits.",
        size=_SIZE,
    )


def profiles(facts: Facts) -> tuple[Plate, ...]:
    """Return one plate a response: how it follows each factor."""
    found = facts["window"].get("profiles") or ()
    names = list(dict.fromkeys(name for item in found for name in item.get("responses", {})))
    return tuple(
        Plate(
            key_of("profile", name),
            f"{sentence(short(name))} over each setting, the others staying at the recipe. Band: 95 % "
            "interval of the build mean. Dashed: limits across, recipe upright.",
            tuple(_panel(facts, name, item) for item in found if name in item.get("responses", {})),
            sentence(short(name)),
        )
        for name in names
    )


def probability_profiles(facts: Facts) -> Plate | None:
    """Return how the probability that everything holds follows each factor."""
    found = [item for item in facts["window"].get("profiles") or () if item.get("probability")]
    if not found:
        return None
    asked = real(facts["window"].get("confidence"))
    charts = tuple(
        Chart(
            key=key_of("profile", "probability", item["factor"]),
            title="",
            x=Axis(axis_label(item["factor"])),
            y=Axis("probability", -0.02, 1.02),
            layers=(
                Curve("probability", reals(item["x"]), reals(item["probability"])),
                *((Rule("asked", asked, "y"),) if math.isfinite(asked) else ()),
                *_recipe_rule(facts, item["factor"]),
            ),
            alt=f"Probability that every specification holds, over {words(item['factor'])}.",
            size=_SIZE,
        )
        for item in found
    )
    return Plate(
        "profile-probability",
        "Probability that every specification holds, over each setting, the others staying at the recipe.",
        charts,
    )
