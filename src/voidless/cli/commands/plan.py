"""`voidless plan`: what to print, and in which order."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

import typer

from voidless.cli.answer import answer
from voidless.cli.options import Folder, Json
from voidless.cli.progress import stages


def command(
    folder: Folder,
    design: Annotated[
        str, typer.Option(metavar="NAME", help="Kind of plan; `--design list` names them all.")
    ] = "start",
    runs: Annotated[int | None, typer.Option(metavar="N", help="Number of builds in the plan.")] = None,
    seed: Annotated[int | None, typer.Option(metavar="N", help="Seed of the run order; recorded.")] = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="Withdraw a plan without results first.")
    ] = False,
    sessions: Annotated[
        int,
        typer.Option(metavar="N", help="Days of work; each repeats one build, so that days can be compared."),
    ] = 1,
    repeats: Annotated[
        int | None, typer.Option(metavar="N", help="Further builds of the usual settings, or of the centre.")
    ] = None,
    model: Annotated[
        str, typer.Option(metavar="NAME", help="What a D- or I-optimal plan must be able to tell.")
    ] = "quadratic",
    share: Annotated[
        int,
        typer.Option(
            metavar="N",
            help="Most runs on one bed, one specimen after the other; needs the machine's clearances.",
        ),
    ] = 1,
    whole_plot: Annotated[
        bool,
        typer.Option(
            "--whole-plot",
            help="Runs share a bed layer by layer: layer times differ, each bed is a whole plot.",
        ),
    ] = False,
    as_json: Json = False,
) -> None:
    """
    Plan builds: which settings, in which order, how long and how heavy.

    Without `--design`: a few space-filling builds with the usual settings among them and repeated, then
    `voidless next` decides build by build.

    Example: `voidless plan sight-glass --design d-optimal --runs 40 --seed 7`
    """
    from voidless.workflows.beds import Sharing
    from voidless.workflows.plan import design_list, plan_builds

    if design == "list":
        answer(design_list(), as_json, _render_designs)
        return
    result = plan_builds(
        folder,
        design,
        runs,
        seed,
        replace,
        progress=stages(),
        sessions=sessions,
        repeats=repeats,
        model=model,
        sharing=Sharing(share, whole_plot),
    )
    answer(result, as_json, render)


def render(result: Mapping[str, Any]) -> None:
    """Write planned builds as a table."""
    from voidless.cli.text import say, table

    builds = result["runs"]
    if builds:
        names = list(builds[0]["settings"])
        rows = [
            [
                b["order"],
                b["build"],
                b["run"],
                b["block"],
                *(b["settings"][n] for n in names),
                b["build_min"],
                b["grams"],
            ]
            for b in builds
        ]
        table(["order", "build", "run", "session", *names, "build_min", "grams"], rows)
        hours = sum(b["build_min"] for b in builds) / 60
        mass = sum(b["grams"] for b in builds)
        beds = len({b["build"] for b in builds})
        say(f"{beds} build{'s' * (beds > 1)}, {hours:.1f} h of printing, {mass:.0f} g of filament.")
    if result.get("whole_plots"):
        say("Printed one after another, since what they share is hard to change:")
        say(*("  " + ", ".join(plot) for plot in result["whole_plots"]))
    if result.get("seed") is not None:
        say(f"Run order randomised with seed {result['seed']}.")
    say(
        *(f"Note: {note}" for note in result.get("notes", ())),
        *(f"Caution: {text}" for text in result.get("cautions", ())),
    )


def _render_designs(result: Mapping[str, Any]) -> None:
    from voidless.cli.text import table

    table(
        ["design", "good for", "cannot show"],
        [[d["name"], d["good_for"], d["cannot_show"]] for d in result["designs"]],
    )
