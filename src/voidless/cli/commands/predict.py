"""`voidless predict`: what will happen, before it is printed."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any

import typer

from voidless.cli.answer import answer
from voidless.cli.options import Json, pairs

_ENDS = {
    "core": "the middle of the strand stays too cold",
    "power": "the heater has no more power",
    "pressure": "the drive cannot push harder",
}
"""What happens beyond the highest rate, by its cause."""


def command(
    material: Annotated[
        str | None, typer.Option(metavar="M", help="Library name or TOML file.", show_default=False)
    ] = None,
    machine: Annotated[
        str | None, typer.Option(metavar="M", help="Library name or TOML file.", show_default=False)
    ] = None,
    campaign: Annotated[
        Path | None,
        typer.Option(
            metavar="DIR", help="A campaign instead: with what was measured on its spools and machine."
        ),
    ] = None,
    given: Annotated[
        list[str] | None,
        typer.Option(
            "--set",
            metavar="NAME=VALUE",
            help="A setting, or a condition such as exposure_h (docs/how-to/look-before-printing.md); again for each.",
        ),
    ] = None,
    picture: Annotated[
        Path | None, typer.Option(metavar="FILE.html", help="Draw where the losses come from.")
    ] = None,
    as_json: Json = False,
) -> None:
    """
    Predict every response of a setting by physics alone, with its uncertainty.

    Example: `voidless predict --material petg --machine bench-0.4 --set flow_pct=102 --set fan_pct=0`

    Example: `voidless predict --campaign sight-glass --set exposure_h=24`
    """
    from voidless.workflows.predict import predict_settings

    facts = pairs(given or [], "--set", "flow_pct=102", commas=True)
    answer(predict_settings(material, machine, facts, picture, campaign), as_json, _render)


def _render(result: Mapping[str, Any]) -> None:
    from voidless.cli.text import say, say_settings, table

    say_settings(result["settings"])
    say_settings(result["conditions"], "Conditions:")
    rows = [[name, r["mean"], r["low"], r["high"]] for name, r in result["responses"].items()]
    table(["response", "mean", "low 95 %", "high 95 %"], rows)
    coarse, limits = result["coarse"], result["rate_limits"]
    say(
        *(f"Outside the model's range: {text}" for text in result["outside_range"]),
        *(["What to change first:"] if result["advice"] else []),
        *result["advice"],
        f"At this nozzle temperature the hot end gives at most {limits['least_mm3_s']:.3g} mm3/s; beyond it "
        f"{_ENDS.get(limits['cause'], limits['cause'])}.",
        f"Coarse guess: a bridge of {result['context']['bridge_mm']:g} mm sags {coarse['bridge_sag_mm']:.2g} mm; "
        f"overhangs hold up to {coarse['overhang_deg']:.0f} deg from the vertical.",
        *(f"Measured: {note}" for note in result["own"]),
        *(f"Note: {note}" for note in result["notes"]),
        *([f"Written: {result['picture']}"] if result.get("picture") else []),
    )
