"""Picture of a prediction: every response with its interval, and where the losses come from."""

from __future__ import annotations

import math

from voidless.quantities import QUANTITIES
from voidless.reporting.charts import Axis, Bars, Chart, Plate, Rail, Rails, key_of, real
from voidless.reporting.facts import Facts, require
from voidless.reporting.page import render
from voidless.reporting.words import axis_label, short, spread, to_set, unit_mark, words

__all__ = ["chain_charts", "chain_figure"]


_STAGES = {
    "gaps": "gaps between beads",
    "bubbles": "bubbles of water",
    "roughness": "rough top face",
    "colour": "colour of the bulk",
    "unhealed": "welds that are not healed",
    "notches": "notches at the layer lines",
    "softness": "a section that stays soft",
    "seams": "seams of the contours",
}


def _rail(name: str, item: Facts) -> Rail:
    """Return a response from nothing to twice its mean or its band's end: the length tells how little is known."""
    mean, low, high = (real(item.get(key)) for key in ("mean", "low", "high"))
    ends = [abs(end) for end in (low, high) if not math.isnan(end)]
    most = max([2.0 * abs(mean), *ends]) or 1.0
    least = -most if low < 0.0 or mean < 0.0 else 0.0
    possible = QUANTITIES.get(name.partition(":")[0])
    if possible is not None:
        most = min(most, possible.high)
    note = (
        f"{spread(mean, low, high)} ({spread(low, low, high)} to {spread(high, low, high)}) {unit_mark(name)}"
    )
    return Rail(short(name), least, most, low, high, mean, note.strip())


def _share_chart(name: str, shares: Facts) -> Chart:
    rows = sorted(shares.items(), key=lambda item: -abs(real(item[1])))
    return Chart(
        key=key_of("chain", name),
        title=f"Where {words(name)} is lost",
        x=Axis("lost share (%)"),
        y=Axis(""),
        layers=(
            Bars(
                "share",
                tuple(_STAGES.get(str(key), words(str(key))) for key, _ in rows),
                tuple(100.0 * real(x) for _, x in rows),
            ),
        ),
        alt=f"Sources of the loss of {words(name)}: "
        + ", ".join(f"{_STAGES.get(str(key), key)} {100.0 * real(x):.0f} %" for key, x in rows),
    )


def chain_charts(prediction: Facts) -> Plate:
    """
    Return the charts of a prediction: its responses, and the losses of each chain it names.

    Parameters
    ----------
    prediction : mapping
        `responses` {name: {mean, low, high}}; optional `chain` {response: {stage: share}}.

    Raises
    ------
    InputError
        There is no response.
    """
    found = {
        name: item
        for name, item in (prediction.get("responses") or {}).items()
        if item.get("mean") is not None
    }
    require(bool(found), "a prediction without responses", "at least one response with a mean")
    first = Chart(
        key="chain-responses",
        title="Responses",
        x=Axis("mean"),
        y=Axis(""),
        layers=(Rails("95 % interval", tuple(_rail(name, item) for name, item in found.items())),),
        alt="Predicted responses with 95 % intervals: "
        + "; ".join(
            f"{axis_label(name)} {spread(x['mean'], x.get('low'), x.get('high'))}"
            for name, x in found.items()
        ),
        size=(340, 260),
    )
    losses = tuple(_share_chart(name, x) for name, x in (prediction.get("chain") or {}).items() if x)
    return Plate(
        "chain",
        "Each response from nothing to twice its mean, further where its interval is, no further than it can be; one "
        "that may be negative to both sides. Dark, the 95 % interval: the longer, the less is known; dot, the mean.",
        (first, *losses),
    )


def _wetness(conditions: Facts) -> dict[str, float]:
    """Return the conditions that are quantities of the campaign too: how long the spool was where."""
    return {name: real(value) for name, value in conditions.items() if name in QUANTITIES}


def chain_figure(prediction: Facts) -> str:
    """
    Return the picture of a prediction as an HTML document that needs nothing else.

    Parameters
    ----------
    prediction : mapping
        As `chain_charts`; `settings`, `conditions`, `outside_range` and `advice` stand beside the picture where given.

    Raises
    ------
    InputError
        There is no response.
    """
    return render(
        "chain.html.j2",
        plate_given=chain_charts(prediction),
        settings=to_set(prediction.get("settings") or {}) | _wetness(prediction.get("conditions") or {}),
        material=prediction.get("material") or "material not named",
        machine=prediction.get("machine") or "machine not named",
        outside_range=prediction.get("outside_range") or [],
        advice=prediction.get("advice") or [],
        notes=[
            *(f"Measured: {note}" for note in prediction.get("own") or ()),
            *(prediction.get("notes") or ()),
        ],
    )
