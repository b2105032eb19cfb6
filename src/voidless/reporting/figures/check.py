"""What was measured against what was predicted."""

from __future__ import annotations

import math

from voidless.reporting.charts import Axis, Chart, Curve, Plate, Points, key_of, real
from voidless.reporting.facts import Facts
from voidless.reporting.words import axis_label, sentence, short, words

__all__ = ["check"]


def _inside(rows: list[Facts]) -> tuple[int, int]:
    judged = [row for row in rows if row.get("low") is not None and row.get("high") is not None]
    return sum(real(x["low"]) <= real(x["observed"]) <= real(x["high"]) for x in judged), len(judged)


def _chart(response: str, rows: list[Facts]) -> Chart:
    observed, predicted = ([real(row[key]) for row in rows] for key in ("observed", "predicted"))
    low, high = ([real(row.get(key)) for row in rows] for key in ("low", "high"))
    ends = [value for value in (*observed, *predicted, *low, *high) if math.isfinite(value)]
    room = 0.05 * (max(ends) - min(ends)) or 0.5
    span = (min(ends) - room, max(ends) + room)
    good, judged = _inside(rows)
    return Chart(
        key=key_of("check", response),
        title=sentence(short(response)),
        x=Axis(f"measured {axis_label(response)}", *span),
        y=Axis("predicted", *span),
        layers=(
            Curve("equal", span, span, dashed=True),
            Points(
                "build",
                tuple(observed),
                tuple(predicted),
                tuple(low),
                tuple(high),
                tuple(str(row.get("build", "")) for row in rows),
            ),
        ),
        alt=f"Measured against predicted {words(response)}: {good} of {judged} builds inside their interval.",
        size=(300, 280),
    )


def check(facts: Facts) -> Plate | None:
    """Return measured against predicted for every response; `learn.check_note` says how it was predicted."""
    rows: dict[str, list[Facts]] = {}
    for row in facts["learn"].get("check") or ():
        if row.get("observed") is not None and row.get("predicted") is not None:
            rows.setdefault(row["response"], []).append(row)
    if not rows:
        return None
    said = f" {facts['learn']['check_note']}" if facts["learn"].get("check_note") else ""
    good, judged = (sum(part) for part in zip(*(_inside(found) for found in rows.values()), strict=True))
    return Plate(
        "check",
        f"Each dot is a build; whiskers are the 95 % interval of its prediction. {good} of {judged} lie "
        f"inside; far fewer would mean that the intervals are too narrow.{said}",
        tuple(_chart(name, found) for name, found in rows.items()),
    )
