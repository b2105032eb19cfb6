"""Where everything holds, how far settings may drift, and what speed costs."""

from __future__ import annotations

import math

from voidless.reporting.charts import (
    Axis,
    Chart,
    Curve,
    Field,
    Layer,
    Mark,
    Plate,
    Rail,
    Rails,
    Rule,
    key_of,
    real,
    reals,
)
from voidless.reporting.facts import Facts, require
from voidless.reporting.words import axis_label, number, percent, unit_mark, words

__all__ = ["front", "maps", "tolerances", "trade_off"]

_FEWEST_TRADES = 3
"""Points below which a front is no curve."""
_NO_CHOICE = 0.01
"""Share of build time below which two recipes count as equally fast."""


def _map(facts: Facts, given: Facts) -> Chart:
    x, y = reals(given["x_values"]), reals(given["y_values"])
    grid = tuple(reals(row) for row in given["probability"])
    pair = f"map {given['x']} x {given['y']}"
    require(
        len(grid) == len(y) and all(len(row) == len(x) for row in grid),
        f"{pair} has {len(grid)} rows of {len(grid[0]) if grid else 0}",
        f"{len(y)} rows (y) of {len(x)} (x)",
    )
    asked = real(facts["window"].get("confidence", 0.9))
    settings = (facts["window"].get("recipe") or {}).get("settings") or {}
    layers: tuple[Layer, ...] = (Field("probability", x, y, grid, asked),)
    if given["x"] in settings and given["y"] in settings:
        layers += (Mark("recipe", real(settings[given["x"]]), real(settings[given["y"]])),)
    best = max((value for row in grid for value in row if math.isfinite(value)), default=None)
    return Chart(
        key=key_of("map", given["x"], given["y"]),
        title="",
        x=Axis(axis_label(given["x"])),
        y=Axis(axis_label(given["y"])),
        layers=layers,
        alt=f"Map of the probability over {words(given['x'])} and {words(given['y'])}; its highest value is "
        f"{percent(best)}.",
        size=(340, 280),
    )


def maps(facts: Facts) -> Plate | None:
    """Return maps of the probability that everything holds, over pairs of factors."""
    found = facts["window"].get("maps") or ()
    if not found:
        return None
    asked = percent(facts["window"].get("confidence", 0.9))
    return Plate(
        "maps",
        f"Probability that every specification holds: 0 dark, 1 bright. White line: {asked}, as asked. "
        "Ringed cross: the recipe. Settings that a map does not show stay at the recipe.",
        tuple(_map(facts, item) for item in found),
    )


def _rail(item: Facts, bounds: Facts, settings: Facts, box: Facts) -> Rail:
    name = item["factor"]
    low, high = real(bounds["low"]), real(bounds["high"])
    mark = unit_mark(name)
    inner_low, inner_high = real(item.get("low")), real(item.get("high"))
    note = f"{number(inner_low)} to {number(inner_high)} {mark}".strip()
    together = (real(box[name]["low"]), real(box[name]["high"])) if name in box else ()
    return Rail(words(name), low, high, inner_low, inner_high, real(settings.get(name)), note, together)


def tolerances(facts: Facts) -> Plate | None:
    """Return how far each setting may drift, within the range that was studied."""
    bounds = {
        item["name"]: item
        for item in facts["campaign"].get("factors", ())
        if real(item.get("high")) > real(item.get("low"))
    }
    found = [
        item
        for item in facts["window"].get("tolerances") or ()
        if item["factor"] in bounds and item.get("low") is not None and item.get("high") is not None
    ]
    settings = (facts["window"].get("recipe") or {}).get("settings") or {}
    if not found:
        return None
    box = (facts["window"].get("tolerance_box") or {}).get("factors") or {}
    chart = Chart(
        key="tolerances",
        title="",
        x=Axis("recipe"),
        y=Axis(""),
        layers=(Rails("tolerance", tuple(_rail(x, bounds[x["factor"]], settings, box) for x in found)),),
        alt="How far each setting may drift within the range that was studied: "
        + "; ".join(f"{words(x['factor'])} {number(x.get('low'))} to {number(x.get('high'))}" for x in found),
        size=(340, 260),
    )
    return Plate(
        "tolerances",
        "Pale rail: the range that was studied. Dark: how far the setting alone may drift while the "
        "probability stays as asked. Dot: the recipe."
        + (" Two ticks: how far it may drift while all the others drift as well." if box else ""),
        (chart,),
    )


def front(facts: Facts) -> Plate | None:
    """Return what build time buys: the best probability at each time."""
    found = sorted(facts["window"].get("front") or (), key=lambda item: real(item["build_min"]))
    times = [real(item["build_min"]) for item in found]
    if not found or times[-1] - times[0] < _NO_CHOICE * times[0]:
        return None  # the fastest settings are the likeliest as well: there is nothing to trade
    asked = real(facts["window"].get("confidence", 0.9))
    recipe = facts["window"].get("recipe") or {}
    layers: tuple[Layer, ...] = (
        Curve(
            "best at this time",
            tuple(times),
            tuple(real(item["probability"]) for item in found),
        ),
        Rule("asked", asked, "y"),
    )
    if recipe.get("build_min") is not None and recipe.get("probability_pass") is not None:
        layers += (Mark("recipe", real(recipe["build_min"]), real(recipe["probability_pass"])),)
    chart = Chart(
        key="front",
        title="",
        x=Axis(axis_label("build_min")),
        y=Axis("probability", -0.02, 1.05),
        layers=layers,
        alt="Best probability that everything holds against build time.",
        size=(340, 250),
    )
    return Plate(
        "front",
        "What time buys: the best probability found at each build time. Ringed cross: the recipe.",
        (chart,),
    )


def trade_off(facts: Facts) -> Plate | None:
    """Return what another limit of each specification would cost in the objective, one chart per specification."""
    objective = (facts["campaign"].get("objective") or {}).get("response", "build_min")
    asked = {item["response"]: item for item in facts["campaign"].get("specifications", ())}
    charts = []
    for name, given in (facts["window"].get("trade_off") or {}).items():
        found = sorted(given, key=lambda item: real(item["limit"]))
        if len(found) < _FEWEST_TRADES:
            continue
        layers: tuple[Layer, ...] = (
            Curve(
                f"best {words(objective)}",
                tuple(real(item["limit"]) for item in found),
                tuple(real(item["objective"]) for item in found),
            ),
        )
        if name in asked:
            layers += (Rule("asked", _limit(asked[name]), "x"),)
        charts.append(
            Chart(
                key=key_of("trade", name),
                title="",
                x=Axis(axis_label(name)),
                y=Axis(axis_label(objective)),
                layers=layers,
                alt=f"Best {words(objective)} for each limit of {words(name)}, the other specifications held.",
                size=(340, 230),
            )
        )
    if not charts:
        return None
    return Plate(
        "trade",
        "What another limit would cost: the best of the objective for each limit that could be held with the "
        "probability asked, the other specifications held. Line: the limit that is asked; of a band, half its width.",
        tuple(charts),
    )


def _limit(specification: Facts) -> float:
    """Return the limit that is asked; of a band, how far its ends are from its middle."""
    low, high = specification.get("min"), specification.get("max")
    if low is not None and high is not None:
        return 0.5 * (real(high) - real(low))
    return real(high if low is None else low)
