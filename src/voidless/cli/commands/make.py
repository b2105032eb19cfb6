"""`voidless make`: the files to print."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Annotated, Any

import typer

from voidless.cli.answer import answer
from voidless.cli.options import Folder, Json
from voidless.cli.progress import stages
from voidless.errors import InputError


def command(
    folder: Folder,
    runs: Annotated[
        list[str] | None, typer.Argument(metavar="[RUN...]", help="Runs or builds; all open ones if none.")
    ] = None,
    dry: Annotated[
        bool, typer.Option("--dry", help="List what each build asks of the machine; write nothing.")
    ] = False,
    one_by_one: Annotated[
        bool,
        typer.Option(
            "--one-by-one", help="Finish each specimen before the next; needs the machine's clearances."
        ),
    ] = False,
    hold: Annotated[
        bool, typer.Option("--hold-layer-time", help="Pause so that upright gauges see one layer time.")
    ] = False,
    mark: Annotated[
        bool,
        typer.Option("--mark", help="Sink build and position into the specimens; tests are then not blind."),
    ] = False,
    feed_ahead: Annotated[
        bool,
        typer.Option(
            "--feed-ahead", help="Feed ahead of the pressure lag that your machine was measured to have."
        ),
    ] = False,
    part: Annotated[
        Path | None,
        typer.Option(
            "--part",
            metavar="FILE",
            help="Plan this solid (STL, 3MF) at the run named, or at the recipe, instead of specimens.",
        ),
    ] = None,
    unit: Annotated[
        str | None, typer.Option(metavar="UNIT", help="Unit of a part's file that states none: mm, inch, ...")
    ] = None,
    turn_faces: Annotated[
        bool, typer.Option("--turn-faces", help="Turn a part's inverted faces outwards.")
    ] = False,
    lag_print: Annotated[
        bool,
        typer.Option(
            "--lag-print",
            help="Instead: lines that show the machine's pressure lag, at the run named or as usual.",
        ),
    ] = False,
    as_json: Json = False,
) -> None:
    """
    Write one G-code per build, the specimens as STL and 3MF, and run sheets to print and to fill.

    Example: `voidless make sight-glass R01 R02 --dry`, or `voidless make sight-glass --part lid.stl --unit mm`
    """
    specimens = {"--one-by-one": one_by_one, "--hold-layer-time": hold, "--mark": mark}
    if lag_print:
        from voidless.workflows.lag_sheet import make_lag_print

        beside = {"--feed-ahead": feed_ahead, "--part": part, "--unit": unit, "--turn-faces": turn_faces}
        _refuse("a lag print", {**specimens, **beside})
        answer(make_lag_print(folder, _one_run(runs, "--lag-print"), dry, stages()), as_json, _render_part)
        return
    if part is not None:
        _refuse("a part", specimens)
        from voidless.toolpath.sections import usable_cores
        from voidless.workflows.solid import make_part

        run, cores = _one_run(runs, "--part"), usable_cores()
        made = make_part(folder, part, run, dry, unit, turn_faces, stages(), cores, feed_ahead)
        answer(made, as_json, _render_part)
        return
    _refuse("specimens", {"--unit": unit, "--turn-faces": turn_faces})
    from voidless.workflows.make import Making, make_files

    making = Making(dry, one_by_one, hold, mark, feed_ahead)
    answer(make_files(folder, runs or [], making, progress=stages()), as_json, _render)


def _render(result: Mapping[str, Any]) -> None:
    from voidless.cli.text import say, table

    checks = result["checks"]
    shared = [text for text in checks[0]["notes"] if all(text in check["notes"] for check in checks)]
    for check in checks:
        if result["dry"]:
            runs = ", ".join(item["run"] for item in check["runs"])
            say(f"{check['build']} ({runs}), {check['build_min']:.1f} min")
            table(
                ["quantity", "lowest", "highest", "allowed", "unit", ""], [_limit(r) for r in check["limits"]]
            )
        for bar in check["layer_times"]:
            if result["dry"] or not bar["steady"]:
                say(_layer_time(check["build"], bar))
        if len(check["runs"]) > 1:
            stands = "; ".join(f"{item['run']} at positions {item['positions']}" for item in check["runs"])
            say(f"{check['build']} carries {stands}.")
        say(*(f"Note: {check['build']}: {text}" for text in check["notes"] if text not in shared))
    say(*(f"Note: {text}" for text in shared))
    if not result["dry"]:
        table(["build", "kind", "file"], [[f["build"], f["kind"], f["path"]] for f in result["files"]])
    say(*(f"Caution: {text}" for text in result["cautions"]))


def _refuse(what: str, others: Mapping[str, object]) -> None:
    """Refuse options that what is made does not have."""
    if found := [name for name, given in others.items() if given]:
        raise InputError(
            "voidless make", f"{', '.join(found)} of {what}", "options that it has", "Leave it out."
        )


def _one_run(runs: Sequence[str] | None, option: str) -> str | None:
    """Return the one run whose settings are used; None where none is named."""
    if runs and len(runs) > 1:
        raise InputError(f"voidless make {option}", f"{len(runs)} runs named", "one run, or none", "")
    return runs[0] if runs else None


def _render_part(result: Mapping[str, Any]) -> None:
    from voidless.cli.text import say, table

    columns = ["quantity", "lowest", "highest", "allowed", "unit", ""]
    table(columns, [_limit(row) for row in result["limits"]])
    say(
        *(f"Note: {text}" for text in result["notes"]),
        *(f"{f['kind']}: {f['path']}" for f in result["files"]),
    )
    say(f"{result['build_min']:.1f} min, {result['grams']:.1f} g of filament.")
    say(*(f"Caution: {text}" for text in result["cautions"]))


def _limit(row: Mapping[str, Any]) -> list[Any]:
    low, high = ("" if value is None else f"{value:.4g}" for value in (row["least"], row["most"]))
    allowed = f"{low} to {high}" if low and high else (f"up to {high}" if high else f"from {low}")
    extremes = ["" if row[end] is None else f"{row[end]:.4g}" for end in ("lowest", "highest")]
    return [row["quantity"], *extremes, allowed, row["unit"], "within" if row["within"] else "EXCEEDED"]


def _layer_time(build: str, bar: Mapping[str, Any]) -> str:
    times = f"{bar['lowest_s']:.2f} to {bar['highest_s']:.2f} s"
    words = (
        "steady" if bar["steady"] else "NOT steady: order it alone, or use --hold-layer-time or --one-by-one"
    )
    return f"Layer time: {build}: {bar['position']} ({bar['kind']}) sees {times} over its gauge, {words}."
