"""Units stated, answered or proven, and what must be asked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError, QuestionError
from voidless.measure.curves.header import Fact, Header
from voidless.measure.curves.words import DIMENSIONS
from voidless.units import convert, unit

__all__ = ["Column", "Geometry", "Measured", "columns_with_units", "geometry", "unit_option"]

Floats = NDArray[np.float64]

TARGETS = {"force": "N", "time": "s", "travel": "mm", "extension": "mm", "strain": "1", "stress": "MPa"}
USUAL = {"force": "N", "time": "s", "travel": "mm", "extension": "mm", "strain": "%", "stress": "MPa"}
GEOMETRY = {
    "section": ("section_mm2", "mm2"),
    "thickness": ("thickness_mm", "mm"),
    "width": ("width_mm", "mm"),
    "gauge_length": ("gauge_length_mm", "mm"),
    "span": ("span_mm", "mm"),
    "speed": ("speed_mm_min", "mm/min"),
}
_PROOFS = {
    "time": "duration",
    "force": "max_force",
    "extension": "max_extension",
    "travel": "max_travel",
    "point": "duration",
}
"""Header facts with a unit that prove the unit of a column when they equal its largest value."""


@dataclass(frozen=True)
class Column:
    """A column: its name as written, its channel, its unit where stated, values and decimals as printed."""

    name: str
    channel: str
    unit: str | None
    values: Floats
    decimals: int


@dataclass
class Measured:
    """Channels in the project's units, how each unit is known, and what must be asked."""

    values: dict[str, Floats] = field(default_factory=dict)
    origin: dict[str, str] = field(default_factory=dict)
    warnings: list[str] = field(default_factory=list)
    question: QuestionError | None = None


def unit_option(name: str, unit_text: str) -> str:
    """
    Return the command-line option that answers a unit.

    Parameters
    ----------
    name : str
        Name of the column or label.
    unit_text : str
        A unit.

    Returns
    -------
    option : str
        For example `--unit Force=N`; the whole of it is quoted where the name has blanks.
    """
    pair = f"{name}={unit_text}"
    return f'--unit "{pair}"' if " " in name else f"--unit {pair}"


def columns_with_units(
    columns: Sequence[Column], header: Header, answers: Mapping[str, str], where: str
) -> Measured:
    """
    Return channels in N, mm, s, MPa and plain numbers.

    Parameters
    ----------
    columns : sequence of Column
        Columns of one specimen.
    header : Header
        Its facts may prove a unit.
    answers : mapping of str to str
        Units a person answers, by column name or channel; a unit that the file states comes first.
    where : str
        File and line, for errors.

    Returns
    -------
    measured : Measured
        Columns without a known unit are left out and asked for in `question`.

    Raises
    ------
    InputError
        Two columns are forces, none is, or a unit does not fit its channel.
    """
    found = Measured()
    asked: list[tuple[str, str]] = []
    said = {key.strip().lower(): value for key, value in answers.items()}
    for column in columns:
        if column.channel in ("specimen", ""):
            continue
        channel, symbol, origin = _known(column, header, said)
        if symbol is None:
            if channel != "point":
                asked.append((column.name, USUAL[channel]))
            continue
        channel = _by_dimension(column, channel, symbol, where)
        _add(found, channel, column, (symbol, origin), where)
    if "force" not in found.values and not any(column.channel == "force" for column in columns):
        raise InputError(
            where, "no column is a force", "a column such as Force or Load", "Export the force as well."
        )
    if asked:
        options = " ".join(unit_option(name, usual) for name, usual in asked)
        names = ", ".join(name for name, _ in asked)
        found.question = QuestionError(
            where, f"the file states no unit for {names}", options, "Say the unit that the machine used."
        )
    return found


def _known(column: Column, header: Header, said: Mapping[str, str]) -> tuple[str, str | None, str]:
    """Return channel, unit and how the unit is known."""
    if column.unit is not None:
        return column.channel, column.unit, f"stated for {column.name!r}"
    answer = said.get(column.name.strip().lower(), said.get(column.channel))
    if answer is not None:
        return column.channel, unit(answer, f"--unit {column.name}").symbol, f"answered for {column.name!r}"
    proof = header.facts.get(_PROOFS.get(column.channel, ""))
    if proof is not None and proof.unit is not None and _proves(proof, column):
        channel = "time" if column.channel == "point" else column.channel
        words = f"the header's {proof.label!r} ({proof.value:g} {proof.unit}) is the largest {column.name!r}"
        return channel, proof.unit, words
    return column.channel, None, ""


def _proves(fact: Fact, column: Column) -> bool:
    largest = float(column.values.max())
    printed = f"{fact.value:.12g}".partition(".")[2]
    # Either of the two may be rounded: half the last digit of the coarser one.
    digits = min(len(printed), column.decimals)
    tolerance = 0.5001 * 10.0**-digits if digits else 1e-9 * fact.value
    return fact.value > 0 and abs(largest - fact.value) <= tolerance


def _by_dimension(column: Column, channel: str, symbol: str, where: str) -> str:
    """Return the channel that the unit makes of a column: a strain in mm is an extension."""
    dimension = unit(symbol).dimension
    if channel == "strain" and dimension == "length":
        return "extension"
    if channel in ("extension", "travel") and dimension == "number":
        return "strain"
    expected = DIMENSIONS.get(channel, "number")
    if dimension != expected:
        raise InputError(
            where, f"column {column.name!r} in {symbol}", f"a unit of {expected}", "Correct the unit."
        )
    return channel


def _add(found: Measured, channel: str, column: Column, known: tuple[str, str], where: str) -> None:
    symbol, origin = known
    if channel in found.values:
        if channel == "force":
            raise InputError(
                where, f"two columns are forces, {column.name!r} the second", "one", "Leave one out."
            )
        found.warnings.append(f"{where}: column {column.name!r} is a second {channel}; not used")
        return
    factor = convert(1.0, symbol, TARGETS[channel], where)
    found.values[channel] = column.values if factor == 1.0 else column.values * factor
    found.origin[channel] = origin


@dataclass(frozen=True)
class Geometry:
    """
    Dimensions that a header states.

    Attributes
    ----------
    values, steps : mapping of str to float
        By names with their unit: what is stated, and what its last printed digit stands for. [unit in the name]
    unitless : tuple of str
        Labels of facts that no unit is known for.
    """

    values: dict[str, float]
    steps: dict[str, float]
    unitless: tuple[str, ...]


def geometry(header: Header, answers: Mapping[str, str], where: str) -> Geometry:
    """
    Return the dimensions that a header states, and those it states without a unit.

    Parameters
    ----------
    header : Header
        Its facts.
    answers : mapping of str to str
        Units a person answers, by label.
    where : str
        File and line, for errors.

    Returns
    -------
    dimensions : Geometry
        With their last digits, and what no unit is known for.

    Raises
    ------
    InputError
        A unit does not fit its fact.
    """
    said = {key.strip().lower(): value for key, value in answers.items()}
    found: dict[str, float] = {}
    steps: dict[str, float] = {}
    unitless = []
    for name, (quantity, target) in GEOMETRY.items():
        fact = header.facts.get(name)
        if fact is None or not fact.value > 0:
            continue
        symbol = fact.unit or said.get(fact.label.strip().lower()) or said.get(name)
        if symbol is None:
            unitless.append(fact.label)
        else:
            found[quantity] = convert(fact.value, symbol, target, f"{where}, {fact.label}")
            steps[quantity] = found[quantity] * fact.step / fact.value
    return Geometry(found, steps, tuple(unitless))
