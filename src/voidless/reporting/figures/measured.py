"""How a result was reduced: the record with its chord, toe, yield, fit or mask line."""

from __future__ import annotations

from voidless.reporting.charts import Axis, Chart, Curve, Mark, Plate, Rule, key_of, real, reals
from voidless.reporting.facts import Facts

__all__ = ["measured"]

MOST = 12
"""Most pictures of one plate; a page of hundreds helps nobody."""


def _chart(place: int, picture: Facts) -> Chart:
    lines = tuple(
        Curve(str(item["name"]), reals(item["x"]), reals(item["y"]), dashed=bool(item.get("dashed")))
        for item in picture["curves"]
    )
    rules = tuple(
        Rule(str(item["name"]), real(item["value"]), str(item["across"]))
        for item in picture.get("rules") or ()
    )
    marks = tuple(
        Mark(str(item["name"]), real(item["x"]), real(item["y"])) for item in picture.get("marks") or ()
    )
    return Chart(
        key=key_of("measured", str(place), str(picture["title"])),
        title=str(picture["title"]),
        x=Axis(str(picture["x"])),
        y=Axis(str(picture["y"])),
        layers=(*lines, *rules, *marks),
        alt=str(picture.get("says") or picture["title"]),
        size=(380, 280),
    )


def measured(reduced: list[Facts]) -> Plate | None:
    """
    Return how results were reduced, for reductions that come with a picture; None where none does.

    Parameters
    ----------
    reduced : list of mapping
        `reduced` entries of the answer of `read`; the first 12 with a `picture` are drawn, and more are told of.
    """
    pictures = [item["picture"] for item in reduced if item.get("picture")]
    if not pictures:
        return None
    more = f" The first {MOST} of {len(pictures)} are shown." if len(pictures) > MOST else ""
    return Plate(
        "measured",
        f"Each record as it was read, and what was made of it; dashed lines were computed, not read.{more}",
        tuple(_chart(place, picture) for place, picture in enumerate(pictures[:MOST])),
    )
