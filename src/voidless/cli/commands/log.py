"""`voidless log`: what happened really."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

import typer

from voidless.cli.answer import answer
from voidless.cli.options import Folder, Json, pairs


def command(
    folder: Folder,
    what: Annotated[str, typer.Argument(metavar="WHAT", help="`voidless log DIR list` names them all.")],
    facts: Annotated[list[str] | None, typer.Argument(metavar="[NAME=VALUE...]", help="The facts.")] = None,
    as_json: Json = False,
) -> None:
    """
    Log a fact: a build and how it ended, a spool, its drying and storage, an instrument's check, a note.

    Example: `voidless log sight-glass build build=B03 outcome=cold note="no flow in layer 4"`

    `voidless log sight-glass exposure spool=S1 start=2031-05-02T08:00 end=2031-05-02T14:00 place=shelf
    humidity_pct=55`
    """
    from voidless.workflows.log import log_fact, log_kinds

    if what == "list":
        answer(log_kinds(), as_json, _render_kinds)
        return
    given = pairs(facts or [], f"voidless log {what}", "build=B03")
    answer(log_fact(folder, what, given), as_json, _render)


def _render(result: Mapping[str, Any]) -> None:
    from voidless.cli.text import say

    say(result["said"])


def _render_kinds(result: Mapping[str, Any]) -> None:
    from voidless.cli.text import table

    table(["what", "facts"], [[kind["what"], ", ".join(kind["facts"])] for kind in result["kinds"]])
