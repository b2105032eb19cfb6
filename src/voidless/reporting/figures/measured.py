"""How a result was reduced: the record with its chord, toe, yield, fit or mask line."""

from __future__ import annotations

from voidless.reporting.charts import (
    Axis,
    Chart,
    Curve,
    Mark,
    Photo,
    Plate,
    Points,
    Rule,
    key_of,
    real,
    reals,
)
from voidless.reporting.facts import Facts

__all__ = ["measured"]

MOST = 40
"""Most pictures of one plate; a page of hundreds helps nobody."""


def _chart(key: str, place: int, picture: Facts) -> Chart:
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
    points = tuple(
        Points(
            str(item["name"]),
            reals(item["x"]),
            reals(item["y"]),
            reals(item["low"]),
            reals(item["high"]),
            tuple(str(label) for label in item["labels"]),
        )
        for item in picture.get("points") or ()
    )
    photo = picture.get("photo")
    return Chart(
        key=key_of(key, str(place), str(picture["title"])),
        title=str(picture["title"]),
        x=Axis(str(picture["x"])),
        y=Axis(str(picture["y"])),
        layers=(*((_photo(photo),) if photo else ()), *lines, *points, *rules, *marks),
        alt=str(picture.get("says") or picture["title"]),
        size=(380, 280),
    )


def _photo(photo: Facts) -> Photo:
    grey, found = (
        tuple(tuple(each / 255.0 for each in bytes.fromhex(row)) for row in photo[key])
        for key in ("grey", "found")
    )
    return Photo(str(photo["name"]), grey, found, real(photo["step_px"]))


def measured(reduced: list[Facts], kind: str = "") -> Plate | None:
    """
    Return how results were reduced, for reductions that come with a picture; None where none does.

    Parameters
    ----------
    reduced : list of mapping
        `reduced` entries of the answer of `read`; the first 40 with a `picture` are drawn, and more are told of.
    kind : str
        Sets the keys of one plate apart from those of others on the same page.
    """
    pictures = [item["picture"] for item in reduced if item.get("picture")]
    if not pictures:
        return None
    more = f" The first {MOST} of {len(pictures)} are shown." if len(pictures) > MOST else ""
    key = key_of("measured", kind) if kind else "measured"
    return Plate(
        key,
        f"Each record as it was read, and what was made of it; dashed lines were computed, not read.{more}",
        tuple(_chart(key, place, picture) for place, picture in enumerate(pictures[:MOST])),
    )
