"""Picture of a prediction: every response with its interval, and where the losses come from."""

from __future__ import annotations

from voidless.reporting.charts import Axis, Bars, Chart, Plate, Rail, Rails, key_of, real
from voidless.reporting.facts import Facts, require
from voidless.reporting.page import render
from voidless.reporting.words import axis_label, short, spread, to_set, unit_mark, words

__all__ = ["chain_charts", "chain_figure"]


def _rail(name: str, item: Facts) -> Rail:
    mean, low, high = (real(item.get(key)) for key in ("mean", "low", "high"))
    room = 0.35 * (high - low) or max(abs(mean), 1.0) * 0.1
    note = (
        f"{spread(mean, low, high)} ({spread(low, low, high)} to {spread(high, low, high)}) {unit_mark(name)}"
    )
    return Rail(short(name), low - room, high + room, low, high, mean, note.strip())


def _share_chart(name: str, shares: Facts) -> Chart:
    rows = sorted(shares.items(), key=lambda item: -abs(real(item[1])))
    return Chart(
        key=key_of("chain", name),
        title=f"Where {words(name)} is lost",
        x=Axis("lost share (%)"),
        y=Axis(""),
        layers=(
            Bars("share", tuple(words(str(key)) for key, _ in rows), tuple(100.0 * real(x) for _, x in rows)),
        ),
        alt=f"Sources of the loss of {words(name)}: "
        + ", ".join(f"{key} {100.0 * real(x):.0f} %" for key, x in rows),
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
        "chain", "Each response on its own scale: dark, the 95 % interval; dot, the mean.", (first, *losses)
    )


def chain_figure(prediction: Facts) -> str:
    """
    Return the picture of a prediction as an HTML document that needs nothing else.

    Parameters
    ----------
    prediction : mapping
        As `chain_charts`; `settings`, `outside_range` and `advice` stand beside the picture where given.

    Raises
    ------
    InputError
        There is no response.
    """
    return render(
        "chain.html.j2",
        plate_given=chain_charts(prediction),
        settings=to_set(prediction.get("settings") or {}),
        material=prediction.get("material") or "material not named",
        machine=prediction.get("machine") or "machine not named",
        outside_range=prediction.get("outside_range") or [],
        advice=prediction.get("advice") or [],
    )
