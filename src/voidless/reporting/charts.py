"""
What a chart shows, as plain frozen data: axes with units, layers, caption, and words in place of the picture.

`draw.draw` turns a chart into SVG; `tables.tables` gives the numbers behind it. A plate is one figure of
one or several charts with one caption.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from voidless.errors import InputError

__all__ = [
    "Axis",
    "Bars",
    "Chart",
    "Curve",
    "Field",
    "Intervals",
    "Layer",
    "Mark",
    "Numbers",
    "Photo",
    "Plate",
    "Points",
    "Rail",
    "Rails",
    "Rule",
    "key_of",
    "real",
    "reals",
]

Numbers = tuple[float, ...]


def real(given: object) -> float:
    """Return a JSON number as float; NaN where there is none."""
    return float(given) if isinstance(given, int | float) else math.nan


def reals(given: object) -> Numbers:
    """
    Return a JSON list of numbers as floats; empty where there is none.

    Raises
    ------
    InputError
        Something else stands there.
    """
    if given is None:
        return ()
    if not isinstance(given, list | tuple):
        raise InputError("facts", f"a {type(given).__name__}", "a list of numbers", "Pass plain JSON types.")
    return tuple(real(item) for item in given)


def key_of(*parts: str) -> str:
    """
    Return a key that may stand in ids, different for different parts.

    Examples
    --------
    >>> key_of("profile", "size_error_mm:bore 1", "flow_pct")
    'profile-size_error_mm.3abore.201-flow_pct'
    """
    return "-".join(re.sub(r"[^A-Za-z0-9_]", lambda sign: f".{ord(sign.group()):x}", part) for part in parts)


@dataclass(frozen=True)
class Axis:
    """A quantity along one side; `low` and `high` None follow the data."""

    label: str
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Curve:
    """A line, with a band where `low` and `high` are given."""

    name: str
    x: Numbers
    mid: Numbers
    low: Numbers = ()
    high: Numbers = ()
    dashed: bool = False


@dataclass(frozen=True)
class Points:
    """Marks, with whiskers where `low` and `high` are given; `labels` name them in the table."""

    name: str
    x: Numbers
    y: Numbers
    low: Numbers = ()
    high: Numbers = ()
    labels: tuple[str, ...] = ()


@dataclass(frozen=True)
class Rule:
    """A straight line at one value of an axis, `across` being `x` or `y`."""

    name: str
    value: float
    across: str


@dataclass(frozen=True)
class Mark:
    """One point that matters, drawn over everything else."""

    name: str
    x: float
    y: float


@dataclass(frozen=True)
class Field:
    """Values from 0 to 1 on a grid: `z[j][i]` belongs to `y[j]` and `x[i]`; one level is traced."""

    name: str
    x: Numbers
    y: Numbers
    z: tuple[Numbers, ...]
    traced: float


@dataclass(frozen=True)
class Photo:
    """A picture in grey from 0 to 1, first row on top, with outlines of what was found in it; `step` pixels a cell."""

    name: str
    grey: tuple[Numbers, ...]
    found: tuple[Numbers, ...]
    step: float


@dataclass(frozen=True)
class Intervals:
    """One dot with whiskers a row; `strong` rows are filled."""

    name: str
    labels: tuple[str, ...]
    mid: Numbers
    low: Numbers
    high: Numbers
    strong: tuple[bool, ...]


@dataclass(frozen=True)
class Bars:
    """One bar a row, from zero."""

    name: str
    labels: tuple[str, ...]
    values: Numbers


@dataclass(frozen=True)
class Rail:
    """A range inside a longer range, on its own scale: what is allowed within what was studied."""

    label: str
    low: float
    high: float
    inner_low: float
    inner_high: float
    mid: float
    note: str = ""
    limits: Numbers = ()


@dataclass(frozen=True)
class Rails:
    """Rows of ranges, each on its own scale."""

    name: str
    rows: tuple[Rail, ...]


Layer = Curve | Points | Rule | Mark | Field | Photo | Intervals | Bars | Rails


@dataclass(frozen=True)
class Chart:
    """
    One panel.

    Attributes
    ----------
    key : str
        Unique within a page; part of every id in the drawing.
    title : str
        Stands above the panel.
    layers : tuple of layers
        Drawn in this order.
    alt : str
        What a person would say the picture shows.
    size : (int, int)
        Width and height. [px]
    """

    key: str
    title: str
    x: Axis
    y: Axis
    layers: tuple[Layer, ...]
    alt: str
    size: tuple[int, int] = (340, 260)


@dataclass(frozen=True)
class Plate:
    """One figure: charts that belong together, with one caption."""

    key: str
    caption: str
    charts: tuple[Chart, ...]
    title: str = ""
