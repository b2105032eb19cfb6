"""`voidless demo`: an invented campaign through every stage."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

import typer

from voidless.cli.answer import answer
from voidless.cli.options import Folder, Json
from voidless.cli.progress import stages


def command(
    folder: Folder,
    seed: Annotated[int, typer.Option(metavar="N", help="Seed of the invented bench.")] = 1,
    as_json: Json = False,
) -> None:
    """
    Run an invented campaign, from raw bench files to the report, in a new folder.

    Example: `voidless demo demo`
    """
    from voidless.demonstration.run import run_demo

    answer(run_demo(folder, seed, progress=stages(quiet_s=0.0, every_s=0.0)), as_json, _render)


def _render(result: Mapping[str, Any]) -> None:
    from voidless.cli.text import say

    say(*result["story"])
