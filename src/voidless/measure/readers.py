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

TABLES = (
    TableKind(Kind.MOISTURE, is_moisture_table, read_moisture_table, "columns of time and mass"),
    TableKind(Kind.IMPACT, IMPACT.heads, read_impact, "columns of energy, width and thickness"),
    TableKind(Kind.BUBBLES, BUBBLES.heads, read_bubbles, "columns of bubbles, time and diameter"),
    TableKind(Kind.EXPANSION, EXPANSION.heads, read_expansion, "columns of pressures before and after"),
    TableKind(Kind.PRESSURE, PRESSURE.heads, read_pressure, "columns of time and pressure"),
    TableKind(Kind.SIZES, SIZES.heads, read_sizes, "columns of feature, nominal and measured"),
    TableKind(Kind.HEIGHTS, HEIGHTS.heads, read_heights, "columns of x, y and height"),
    TableKind(Kind.GAP, GAP.heads, read_gap, "columns of x, y and thickness"),
    TableKind(Kind.PROFILE, PROFILE.heads, read_profile, "columns of position and height"),
    TableKind(Kind.POINTS, POINTS.heads, read_points, "columns of hits and points"),
    TableKind(Kind.PRECISION, PRECISION.heads, read_precision, "columns of group and reading"),
    TableKind(Kind.REALISED, REALISED.heads, read_realised, "columns of setting, commanded and reading"),
    TableKind(Kind.FEED, FEED.heads, read_feed, "columns of rate, volume and mass"),
    TableKind(Kind.FILAMENT, FILAMENT.heads, read_filament, "columns of place and diameter"),
    TableKind(Kind.FAN, FAN.heads, read_fan, "columns of duty and air"),
    TableKind(Kind.LAG, LAG.heads, read_lag, "columns of distance and width"),
    TableKind(Kind.COMPLIANCE, COMPLIANCE.heads, None, "columns of force and give"),
    TableKind(Kind.SECTIONS, SECTIONS.heads, None, "columns of specimen, width and thickness"),
)
"""In the order in which they are tried; those that nothing reads alone belong to the curves of their folder."""

CONTEXTS = {Kind.COMPLIANCE: COMPLIANCE, Kind.SECTIONS: SECTIONS}
