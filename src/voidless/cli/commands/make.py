"""`voidless make`: the files to print."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

import typer

from voidless.cli.answer import answer
from voidless.cli.options import Folder, Json
from voidless.cli.progress import stages


def command(
    folder: Folder,
    runs: Annotated[
        list[str] | None, typer.Argument(metavar="[RUN...]", help="Runs or builds; all open ones if none.")
    ] = None,
    as_json: Json = False,
) -> None:
    """
    Write one G-code per build, the specimens as STL and 3MF, and run sheets to print and to fill.

    Example: `voidless make sight-glass R01 R02`
    """
    from voidless.workflows.make import make_files

    answer(make_files(folder, runs or [], progress=stages()), as_json, _render)


def _render(result: Mapping[str, Any]) -> None:
    from voidless.cli.text import say, table

    table(["build", "kind", "file"], [[f["build"], f["kind"], f["path"]] for f in result["files"]])
    say(*(f"Caution: {text}" for text in result["cautions"]))
