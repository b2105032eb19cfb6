"""`voidless new`: start a campaign."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any

import typer

from voidless.cli.answer import answer
from voidless.cli.options import Folder, Json


def command(
    folder: Folder,
    source: Annotated[
        Path, typer.Option("--from", metavar="FILE.toml", help="The campaign file.", show_default=False)
    ],
    as_json: Json = False,
) -> None:
    """
    Start a campaign in a new folder from a campaign file.

    Example: `voidless new sight-glass --from sight-glass.toml`
    """
    from voidless.workflows.new import new_campaign

    answer(new_campaign(folder, source), as_json, _render)


def _render(result: Mapping[str, Any]) -> None:
    from voidless.cli.text import say, say_settings

    say(f"Campaign {result['name']!r} in {result['folder']}: {result['material']} on {result['machine']}.")
    say_settings(result["fixed"], "Fixed:")
    say(
        *(f"Note: {note}" for note in result["notes"]),
        f"Next: voidless plan {result['folder']}",
    )
