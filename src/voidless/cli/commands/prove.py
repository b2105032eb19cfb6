"""`voidless prove`: confirmation builds of the recipe, and what they show."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

import typer

from voidless.cli.answer import answer
from voidless.cli.commands.plan import render as render_builds
from voidless.cli.options import Folder, Json
from voidless.cli.progress import stages


def command(
    folder: Folder,
    plan: Annotated[bool, typer.Option("--plan", help="Add confirmation builds of the recipe.")] = False,
    builds: Annotated[
        int | None, typer.Option(metavar="N", help="How many to add; else as many as the scatter asks for.")
    ] = None,
    confidence: Annotated[float, typer.Option(metavar="P", help="Probability of each statement.")] = 0.95,
    content: Annotated[
        float, typer.Option(metavar="P", help="Share of further builds or parts that must hold.")
    ] = 0.9,
    power: Annotated[
        float,
        typer.Option(metavar="P", help="Probability that a true recipe passes; sets the number of builds."),
    ] = 0.8,
    equal: Annotated[
        list[str] | None,
        typer.Option(
            metavar="RESPONSE=MEAN,sd=SD,n=N,margin=M",
            help="A reference that the builds shall equal within a margin.",
        ),
    ] = None,
    tell: Annotated[
        list[str] | None,
        typer.Option(
            metavar="RESPONSE=DIFFERENCE[,sd=SD][,each=N]",
            help="How many builds of each of two settings, spools or machines tell such a difference.",
        ),
    ] = None,
    details: Annotated[
        bool,
        typer.Option(
            "--details", help="Scatter with limits, agreement of builds, capability and further bounds."
        ),
    ] = False,
    as_json: Json = False,
) -> None:
    """
    Prove the recipe by builds that were not used to choose it.

    Without `--plan`: what the confirmation builds printed so far show of each specification.

    Example: `voidless prove sight-glass --plan`, print and read them, then `voidless prove sight-glass`
    """
    from voidless.workflows.prove import prove_recipe

    result = prove_recipe(
        folder, builds, plan, confidence, content, power, equal or (), tell or (), progress=stages()
    )
    answer(result, as_json, lambda found: _render(found, details))


def _render(result: Mapping[str, Any], details: bool) -> None:
    from voidless.cli.text import say, table

    render_builds(result)
    if result["findings"]:
        table(
            [
                "response",
                "verdict",
                "builds",
                "parts",
                "mean",
                "bound low",
                "bound high",
                "between",
                "within",
            ],
            [
                [
                    *(found[name] for name in ("response", "state", "builds", "parts", "mean")),
                    *(found[name] for name in ("bound_low", "bound_high", "between", "within")),
                ]
                for found in result["findings"]
            ],
        )
        say(*(found["words"] for found in result["findings"]))
    told = [row for row in result["details"] if details or row["kind"] == "equivalence"]
    say(*(f"{row['response']}: {row['words']}" for row in told))
    say(*(row["words"] for row in result["apart"]))
    say(f"{result['verdict'].capitalize()}: {result['reason']}")
