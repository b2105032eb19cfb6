"""What matters, and by how much."""

from __future__ import annotations

from voidless.reporting.charts import Axis, Chart, Intervals, Plate, key_of, real
from voidless.reporting.facts import Facts
from voidless.reporting.words import axis_label, sentence, short, term

__all__ = ["effects", "shares"]

_SHOWN = 12
_LEAST_SHARE = 3.0
"""A share is told from none when its interval lies above this one. [%] Our choice, as in the sentences."""


def _chart(response: str, learned: Facts) -> Chart | None:
    terms = [item for item in learned.get("effects", ()) if item.get("estimate") is not None]
    if not terms:
        return None
    terms = sorted(terms, key=lambda item: -abs(real(item["estimate"])))[:_SHOWN]
    claimed = [term(item["term"]) for item in terms if item.get("claimed")]
    return Chart(
        key=key_of("effects", response),
        title=sentence(short(response)),
        x=Axis(f"change of {axis_label(response)}"),
        y=Axis(""),
        layers=(
            Intervals(
                name=short(response),
                labels=tuple(term(item["term"]) for item in terms),
                mid=tuple(real(item["estimate"]) for item in terms),
                low=tuple(real(item.get("low")) for item in terms),
                high=tuple(real(item.get("high")) for item in terms),
                strong=tuple(bool(item.get("claimed")) for item in terms),
            ),
        ),
        alt=f"Effects on {short(response)} with intervals. Claimed: {', '.join(claimed) or 'none'}.",
    )


def effects(facts: Facts) -> Plate | None:
    """Return the effects of every response, the largest first; `learn.effects_note` says what they are."""
    found = facts["learn"].get("responses", {})
    charts = tuple(chart for name, learned in found.items() if (chart := _chart(name, learned)))
    if not charts:
        return None
    cut = any(len(learned.get("effects", ())) > _SHOWN for learned in found.values())
    rest = f" The {_SHOWN} largest are drawn." if cut else ""
    said = f"{note} " if (note := facts["learn"].get("effects_note")) else ""
    return Plate(
        "effects",
        f"{said}The bar is the interval of the estimate. Filled: told apart from zero. Hollow: not told "
        f"apart.{rest}",
        charts,
    )


def _share_chart(response: str, learned: Facts) -> Chart | None:
    rows = sorted(learned.get("shares") or (), key=lambda item: -real(item["share"]))[:_SHOWN]
    rows = [item for item in rows if not 100.0 * real(item.get("high")) < _LEAST_SHARE]
    if not rows or learned.get("shares_foretold"):
        return None
    low, high = ([100.0 * real(item.get(end)) for item in rows] for end in ("low", "high"))
    return Chart(
        key=key_of("shares", response),
        title=sentence(short(response)),
        x=Axis("share (%)", 0.0, 100.0),
        y=Axis(""),
        layers=(
            Intervals(
                name="share",
                labels=tuple(term(str(item["source"])) for item in rows),
                mid=tuple(100.0 * real(item["share"]) for item in rows),
                low=tuple(low),
                high=tuple(high),
                strong=tuple(end > _LEAST_SHARE for end in low),
            ),
        ),
        alt=f"What explains the change of {short(response)} over the studied range, with intervals.",
        size=(300, 200),
    )


def shares(facts: Facts) -> Plate | None:
    """Return how much of each response's change over the studied range every source explains, where builds tell it."""
    found = facts["learn"].get("responses", {})
    charts = tuple(chart for name, learned in found.items() if (chart := _share_chart(name, learned)))
    if not charts:
        return None
    held = [short(name) for name, learned in found.items() if learned.get("shares_foretold")]
    away = f" Not drawn, as builds are too few to tell it: {', '.join(held)}." if held else ""
    return Plate(
        "shares",
        "How much of each response's variance over the studied range a setting explains, alone or together. The bar "
        f"is the 95 % interval. Filled: surely more than {_LEAST_SHARE:g} %. Surely less is not drawn.{away}",
        charts,
    )
