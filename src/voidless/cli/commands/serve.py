"""`voidless serve`: the campaign's pages on this computer."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from voidless.cli.options import Json


def command(
    folder: Annotated[Path, typer.Argument(metavar="[DIR]", help="The campaign's folder.")] = Path(),
    port: Annotated[int, typer.Option(metavar="N", min=0, max=65535, help="Port; 0 takes a free one.")] = 0,
    as_json: Json = False,
) -> None:
    """
    Serve the campaign's pages on this computer alone, until stopped.

    Example: `voidless serve sight-glass --port 8000`
    """
    from voidless.cli.answer import answer
    from voidless.cli.text import say
    from voidless.web.server import serve

    serve(
        folder, port, lambda url: answer({"schema_version": 1, "url": url}, as_json, lambda r: say(r["url"]))
    )
