"""`voidless window`: the recipe, and how far it may drift."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

import typer

from voidless.cli.answer import answer
from voidless.cli.options import Folder, Json
from voidless.cli.progress import stages


def command(
    folder: Folder,
    confidence: Annotated[
        float, typer.Option(metavar="P", help="Confidence that a claim needs, 0.5 to 0.999.")
    ] = 0.9,
    as_json: Json = False,
) -> None:
    """
    Find the best recipe that passes at a stated confidence, and the window around it.

    Example: `voidless window sight-glass --confidence 0.9`
    """
    from voidless.workflows.window import find_recipe

    answer(find_recipe(folder, confidence, progress=stages()), as_json, render)


def render(result: Mapping[str, Any]) -> None:
    """Write the recipe, its predictions and tolerances."""
    from voidless.cli.text import number, say, table

    recipe = result["recipe"]
    table(
        ["setting", "recipe", "from", "to"],
        [[t["factor"], recipe["settings"][t["factor"]], t["low"], t["high"]] for t in result["tolerances"]],
    )
    table(
        ["response", "mean", "low 95 %", "high 95 %", "part low", "part high"],
        [
            [name, p["mean"], p["low"], p["high"], p["part_low"], p["part_high"]]
            for name, p in recipe["predicted"].items()
        ],
    )
    chance = number(recipe["probability_pass"], 3)
    say(
        f"Build time {number(recipe['build_min'])} min.",
        f"Probability that all specifications hold ({result['probability_of']}): {chance}",
        result["verdict"],
        *(f"Note: {note}" for note in result["notes"]),
    )
