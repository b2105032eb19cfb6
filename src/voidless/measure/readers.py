"""One table of every kind of file that is a table of its own: how it is known, and what reads it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from voidless.measure.files.columns import Column, Layout
from voidless.measure.images.counted import POINTS, read_points
from voidless.measure.impact.read import LAYOUT as IMPACT
from voidless.measure.impact.read import read_impact
from voidless.measure.moisture.columns import is_moisture_table
from voidless.measure.moisture.read import read_moisture
from voidless.measure.qualification.read import (
    FAN,
    FEED,
    FILAMENT,
    GAP,
    LAG,
    REALISED,
    read_fan,
    read_feed,
    read_filament,
    read_gap,
    read_lag,
    read_realised,
)
from voidless.measure.quality.read import LAYOUT as PRECISION
from voidless.measure.quality.read import read_precision
from voidless.measure.results import Answers, Kind, Reading
from voidless.measure.size.read import HEIGHTS, SIZES, read_heights, read_sizes
from voidless.measure.surface.read import LAYOUT as PROFILE
from voidless.measure.surface.read import read_profile
from voidless.measure.tightness.expansion import EXPANSION, read_expansion
from voidless.measure.tightness.read import BUBBLES, PRESSURE, read_bubbles, read_pressure

__all__ = ["CONTEXTS", "TABLES", "TableKind", "read_moisture_table"]

Reader = Callable[[str, bytes, Answers], Reading]


@dataclass(frozen=True)
class TableKind:
    """A kind of table: who knows it by its column names, who reads it, and words for both."""

    kind: Kind
    heads: Callable[[tuple[str, ...]], bool]
    read: Reader | None
    why: str
    layout: Layout | None = None


def read_moisture_table(name: str, data: bytes, answers: Answers) -> Reading:
    """
    Return how the filaments of a table of weighings over time drink.

    Parameters
    ----------
    name : str
        Name of the file.
    data : bytes
        Its content.
    answers : Answers
        Facts of every piece, such as its diameter.

    Returns
    -------
    reading : Reading
        In `reduced`.

    Raises
    ------
    InputError
        A cell is wrong, or the weighings do not know the diffusivity.
    QuestionError
        No diameter is stated.
    """
    found = read_moisture(name, data, answers.facts)
    return Reading((), found.reduced, found.warnings)


SECTIONS = Layout(
    (Column("specimen", "", True), Column("width", "mm", True), Column("thickness", "mm", True)),
    frozenset({"energy", "response", "mass", "mass_air", "mass_water", "force"}),
)
COMPLIANCE = Layout(
    (Column("force", "N", True), Column("give", "mm", True), Column("give_uncertainty", "mm"))
)


def _of(kind: Kind, layout: Layout, read: Reader | None, why: str) -> TableKind:
    return TableKind(kind, layout.heads, read, why, layout)


TABLES = (
    TableKind(Kind.MOISTURE, is_moisture_table, read_moisture_table, "columns of time and mass"),
    _of(Kind.IMPACT, IMPACT, read_impact, "columns of energy, width and thickness"),
    _of(Kind.BUBBLES, BUBBLES, read_bubbles, "columns of bubbles, time and diameter"),
    _of(Kind.EXPANSION, EXPANSION, read_expansion, "columns of pressures before and after"),
    _of(Kind.PRESSURE, PRESSURE, read_pressure, "columns of time and pressure"),
    _of(Kind.SIZES, SIZES, read_sizes, "columns of feature, nominal and measured"),
    _of(Kind.HEIGHTS, HEIGHTS, read_heights, "columns of x, y and height"),
    _of(Kind.GAP, GAP, read_gap, "columns of x, y and thickness"),
    _of(Kind.PROFILE, PROFILE, read_profile, "columns of position and height"),
    _of(Kind.POINTS, POINTS, read_points, "columns of hits and points"),
    _of(Kind.PRECISION, PRECISION, read_precision, "columns of group and reading"),
    _of(Kind.REALISED, REALISED, read_realised, "columns of setting, commanded and reading"),
    _of(Kind.FEED, FEED, read_feed, "columns of rate, volume and mass"),
    _of(Kind.FILAMENT, FILAMENT, read_filament, "columns of place and diameter"),
    _of(Kind.FAN, FAN, read_fan, "columns of duty and air"),
    _of(Kind.LAG, LAG, read_lag, "columns of distance and width"),
    _of(Kind.COMPLIANCE, COMPLIANCE, None, "columns of force and give"),
    _of(Kind.SECTIONS, SECTIONS, None, "columns of specimen, width and thickness"),
)
"""In the order in which they are tried; those that nothing reads alone belong to the curves of their folder."""

CONTEXTS = {Kind.COMPLIANCE: COMPLIANCE, Kind.SECTIONS: SECTIONS}
