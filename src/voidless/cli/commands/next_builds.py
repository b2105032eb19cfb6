"""`voidless next`: what to print next, and whether to stop."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

import typer

from voidless.cli.answer import answer
from voidless.cli.commands.plan import render as render_builds
from voidless.cli.options import Folder, Json
from voidless.cli.progress import stages


def command(
    folder: Folder,
    count: Annotated[int, typer.Option(metavar="N", min=1, max=200, help="Builds to propose.")] = 1,
    as_json: Json = False,
) -> None:
    """
    Propose the builds that tell most, each with its reason, or say that it is time to stop.

    While proposals are open (no result and no failure logged), the same ones are returned.

    Example: `voidless next sight-glass --count 4`
    """
    from voidless.workflows.propose import next_builds

    answer(next_builds(folder, count, progress=stages()), as_json, _render)


def _render(result: Mapping[str, Any]) -> None:
    from voidless.cli.text import number, say

    render_builds(result)
    say(*dict.fromkeys(f"{build['run']}: {build['reason']}" for build in result["runs"]))
    say(f"{'Stop' if result['stop'] else 'Go on'}: {result['reason']}")
    say(f"Probability that the present recipe passes: {number(result['probability_pass'], 2)}")
