"""`voidless learn`: what matters, what interacts, what drifted."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from voidless.cli.answer import answer
from voidless.cli.options import Folder, Json
from voidless.cli.progress import stages


def command(folder: Folder, as_json: Json = False) -> None:
    """
    Learn from the results: effects and interactions with intervals, drift, scatter, what is confounded.

    Example: `voidless learn sight-glass`
    """
    from voidless.workflows.learn import learn_effects

    answer(learn_effects(folder, progress=stages()), as_json, _render)


def _render(result: Mapping[str, Any]) -> None:
    from voidless.cli.text import number, say, table

    for name, facts in result["responses"].items():
        rows = [
            [e["term"], e["estimate"], e["low"], e["high"], e["p"], e["claimed"]] for e in facts["effects"]
        ]
        between, within = facts["between_build_sd"], number(facts["within_build_sd"])
        between = "not known yet" if between is None else number(between)
        values = _many(facts["n"], "value") if facts["n"] else "from other responses"
        counts = f"{values} of {_many(facts['builds'], 'build')}"
        say(
            "",
            f"{name} [{facts['unit']}]: {counts}; scatter between builds {between}, within a build {within}",
        )
        if not rows:
            say(facts["note"] or "Too few builds to tell effects one by one.")
            continue
        table(["effect", "estimate", "low 95 %", "high 95 %", "p", "claimed"], rows)
        say(*([facts["note"]] if facts["note"] else []))
    say("", *result["statements"])
    for row in result["strength"]:
        say(row["text"])
    if result["strength_compared"]["text"]:
        say(result["strength_compared"]["text"])


def _many(count: int, what: str) -> str:
    return f"{count} {what}" + ("" if count == 1 else "s")
