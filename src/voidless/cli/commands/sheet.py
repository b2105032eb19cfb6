"""`voidless sheet`: the document that people sign and pin up."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from voidless.cli.answer import answer
from voidless.cli.options import Folder, Json
from voidless.cli.progress import stages


def command(folder: Folder, as_json: Json = False) -> None:
    """
    Write the settings sheet: one page with the recipe, its tolerances and the evidence.

    Example: `voidless sheet sight-glass`
    """
    from voidless.workflows.sheet import write_sheet

    answer(write_sheet(folder, progress=stages()), as_json, _render)


def _render(result: Mapping[str, Any]) -> None:
    from voidless.cli.text import say

    say(*(f"{file['kind']}: {file['path']}" for file in result["files"]), *result["notes"])
