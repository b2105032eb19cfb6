"""`voidless part`: what a G-code file will really do."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any

import typer

from voidless.cli.answer import answer
from voidless.cli.options import Json, pairs
from voidless.cli.progress import stages
from voidless.errors import InputError

_TOLD_PCT = 0.5
"""Shares below are within what a map of six cells a bead tells of exactly filled layers. [%]"""
_GAPS_PCT = 5.0
"""From here on beads of a layer lie visibly apart. [%]"""
_WELDS = {"through": "through the layers", "beside": "between beads"}


def command(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="G-code of a part.", show_default=False)],
    machine: Annotated[
        str | None, typer.Option(metavar="M", help="Library name or TOML file; its limits time the moves.")
    ] = None,
    material: Annotated[
        str | None,
        typer.Option(
            metavar="M", help="Library name or TOML file: judge fill and every weld. Needs --machine."
        ),
    ] = None,
    given: Annotated[
        list[str] | None,
        typer.Option(
            "--set",
            metavar="NAME=VALUE",
            help="What the file leaves unsaid: bed_c, nozzle_c, fan_pct, chamber_c.",
        ),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option(
            metavar="NAME.svg",
            help="Draw the beads here, and write their data to NAME.json; NAME.json: data alone.",
        ),
    ] = None,
    layer: Annotated[
        str, typer.Option(metavar="N", help="Layer of the picture, from 0; all: the part seen from a corner.")
    ] = "all",
    show: Annotated[
        str,
        typer.Option(
            metavar="WHAT",
            help="Colours tell: beads (nothing), width, speed, weld (needs --material), fill (needs --machine).",
        ),
    ] = "beads",
    campaign: Annotated[
        Path | None,
        typer.Option(
            metavar="DIR",
            help="A campaign's machine and material, as measured, instead of --machine and --material.",
        ),
    ] = None,
    as_json: Json = False,
) -> None:
    """
    Read the G-code of a part: filament, volume, path, layers, time by kind and layer, real speeds, problems, fill,
    welds.

    Example: `voidless part lid.gcode --machine bench-0.4 --material petg`

    `voidless part lid.gcode --machine bench-0.4 --picture lid.svg --layer 12 --show speed`
    """
    from voidless.workflows.part import judge_part
    from voidless.workflows.picture import Picture

    if picture is None and (layer, show) != ("all", "beads"):
        given_alone = "--layer" if layer != "all" else "--show"
        raise InputError(
            f"voidless part {given_alone}", "no picture", "--picture NAME.svg beside it", "Name it."
        )
    facts = pairs(given or [], "--set", "bed_c=75", commas=True)
    wanted = Picture(picture, layer, show) if picture else None
    found = judge_part(file, machine, stages(), material, facts, wanted, campaign)
    answer(found, as_json, _render)


def _render(result: Mapping[str, Any]) -> None:
    from voidless.cli.text import say, table

    shown = {k: v for k, v in result.items() if isinstance(v, (int, float, str)) and not isinstance(v, bool)}
    shown.pop("schema_version")
    factored = {
        n for n, v in shown.items() if n.startswith("applied_") and v != shown[n.removeprefix("applied_")]
    }
    rows = [[n, v] for n, v in shown.items() if n in factored or not n.startswith("applied_")]
    table(["quantity", "value"], rows)
    if factored:
        say("applied_: with the file's own factors on speed and flow (M220, M221).")
    say(f"Motion takes {_clock(result['applied_time_s'])}, without homing and heating.")
    kinds = result["kind_times_s"].items()
    table(["kind of move", "time_s"], [[name, seconds] for name, seconds in kinds])
    speeds = result["bead_speed_mm_s"] or {}
    table(
        ["speed of beads", "mm/s"],
        [[name, value] for name, value in speeds.items() if name != "below_half_pct"],
    )
    if speeds:
        say(f"{speeds['below_half_pct']:.1f} % of the bead length runs below half its commanded speed.")
    if layers := sorted(result["layer_times_s"]):
        middle = layers[len(layers) // 2]
        say(f"Layer time: {layers[0]:.1f} to {layers[-1]:.1f} s, half of the layers {middle:.1f} s or less.")
    if result["one_by_one"]:
        say(
            "Parts are finished one after the other: these times add all that lies on one height, and within "
            "a part the next layer comes sooner."
        )
    say(f"Times rest on limits from: {result['limits']['source']}.")
    say(*(f"Problem: {text}" for text in result["problems"]))
    if fill := result.get("fill"):
        _render_fill(fill)
    elif "fill" in result:
        say("Fill is not told of a path that rises turn by turn: it has no flat layers to fill.")
    if welds := result.get("welds"):
        _render_welds(welds)
    say(*(f"Measured: {note}" for note in result.get("own", ())))
    say(*(f"Written: {name}" for name in result.get("files", ())))


def _clock(seconds: float) -> str:
    """Return a time as people say it."""
    if seconds < 120.0:
        return f"{seconds:.1f} s"
    hours, minutes = divmod(round(seconds / 60.0), 60)
    return f"{hours} h {minutes} min" if hours else f"{minutes} min"


def _render_fill(fill: Mapping[str, Any]) -> None:
    from voidless.cli.text import say

    say(
        f"Fill: {fill['missing_pct']:.1f} % of the room gets no melt. Layers leave {fill['under_pct']:.1f} % open "
        f"until the next sinks in, {fill['void_pct']:.1f} % shut in by melt (void); "
        f"melt without room {fill['over_pct']:.1f} %.",
        *(
            f"Void in layer {item['layer']} (from 0, top at {item['height_mm']:.2f} mm): {item['void_pct']:.1f} %."
            for item in fill["open_layers"][:3]
            if item["void_pct"] >= _TOLD_PCT
        ),
    )
    if fill["hollow_pct"] >= _TOLD_PCT:
        say(
            f"Wider gaps that beads shut in take {fill['hollow_pct']:.1f} % of the sections: "
            "holes of the part, or open infill."
        )
    if any(item["void_pct"] >= _GAPS_PCT for item in fill["open_layers"]):
        say(
            "Shares are of the welds there are: beside voids less section carries; take those layers for weaker."
        )


def _render_welds(welds: Mapping[str, Any]) -> None:
    from voidless.cli.text import say, table

    known = [(words, welds[name]) for name, words in _WELDS.items() if welds[name]]
    table(
        ["weld", "healing", "share of bulk strength", "exceeded by 95 %"],
        [[words, w["healing"], w["strength_share"], w["low_share"]] for words, w in known],
    )
    say(
        *(
            f"Weakest weld below layer {item['layer']} (from 0, top at {item['height_mm']:.2f} mm): "
            f"{item['strength_share']:.2f} of the bulk's strength{_because(item)}."
            for item in welds["weakest_layers"][:3]
        ),
        *(f"Note: {text}" for text in welds["notes"]),
        "Welds stand at the expected values of their parameters; how far they may be off, `voidless predict` says.",
    )


def _because(item: Mapping[str, Any]) -> str:
    """Return what sets a layer apart, in brackets."""
    return f" ({'; '.join(item['unusual'])})" if item["unusual"] else ""
