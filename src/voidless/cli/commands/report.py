"""`voidless report`: the whole campaign with its evidence."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from voidless.cli.answer import answer
from voidless.cli.options import Folder, Json
from voidless.cli.progress import stages


def command(folder: Folder, as_json: Json = False) -> None:
    """
    Write the report of the whole campaign: one HTML file with plots, tables and checksums.

    Example: `voidless report sight-glass`
    """
    from voidless.workflows.document import write_report

    answer(write_report(folder, progress=stages()), as_json, _render)


def _render(result: Mapping[str, Any]) -> None:
    from voidless.cli.text import say

    say(*(f"{file['kind']}: {file['path']}" for file in result["files"]), *result["notes"])
