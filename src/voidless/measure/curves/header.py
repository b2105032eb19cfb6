"""Names, units and facts that stand above rows of numbers."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from voidless.errors import InputError
from voidless.measure.curves.words import channel_of, fact_of
from voidless.measure.files.foreign import narrow
from voidless.measure.files.rows import number
from voidless.units import unit

__all__ = ["Fact", "Header", "facts_beside", "last_digit", "parse_header", "split_unit", "unit_or_none"]

_MOST_WORDS = 80
_QUANTITY = re.compile(r"([-+]?[0-9.,]+(?:[eE][-+]?[0-9]+)?)\s+(\S{1,12})")
"""A number and its unit in one cell."""
_PAIR = re.compile(
    r"\s*([^:=]{1,80}?)\s*[:=]\s*"
    r"([-+]?[\d.,]+(?:[eE][-+]?\d+)?)\s*([^\d\s][^\s]{0,12})?\s*"
)
_BRACKETS = re.compile(r"[\[(]\s*([^\])]{1,20}?)\s*[\])]\s*$")
_TRAILING = re.compile(r"(?:,\s*|\s+in\s+|\s*/\s*|_)([^\s,_]{1,12})\s*$")
_RATIO = re.compile(r"[\s,_]\s*((mm|m|in)[/_]\2)\s*$")
"""A length over a length, such as `strain_mm_mm`: it ends like a length and is a plain number."""
# Units in lower-case column names such as `force_n`; letters that could mean two units are left out.
_LOWER = {"n": "N", "kn": "kN", "mpa": "MPa", "gpa": "GPa", "pct": "%"}


@dataclass(frozen=True)
class Fact:
    """
    A fact that a header states.

    Attributes
    ----------
    label : str
        As written.
    value : float
        Its number. [unit]
    unit : str or None
        None where none is stated.
    step : float
        What its last printed digit stands for. [unit]
    """

    label: str
    value: float
    unit: str | None
    step: float = 1.0


@dataclass(frozen=True)
class Header:
    """
    What stands above a block.

    Attributes
    ----------
    names : tuple of str
        One a column, as written; empty where the block has no names.
    units : tuple of (str or None)
        One a column, as written; None where none is stated.
    facts : mapping of str to Fact
        Facts by their plain name.
    stated : tuple of (str, str)
        Every label and value of the header, as written.
    above : tuple of tuple of str
        The lines above the names, cell by cell: captions of specimens side by side may stand there.
    """

    names: tuple[str, ...]
    units: tuple[str | None, ...]
    facts: dict[str, Fact]
    stated: tuple[tuple[str, str], ...]
    above: tuple[tuple[str, ...], ...] = ()


def unit_or_none(text: str | None) -> str | None:
    """
    Return the symbol of a unit as people write it, None where a text is no unit.

    Parameters
    ----------
    text : str or None
        For example `mm²`, `[N]` or `s`.

    Returns
    -------
    symbol : str or None
        For example `mm2`.
    """
    if not text or not text.strip():
        return None
    try:
        return unit(text).symbol
    except InputError:
        return None


def split_unit(name: str) -> tuple[str, str | None]:
    """
    Return a column's name and the unit written behind it.

    Parameters
    ----------
    name : str
        For example `Force [N]`, `time_ms` or `Kraft in kN`.

    Returns
    -------
    parts : (str, str or None)
        Name without unit, and the unit's symbol, None where none is stated.
    """
    name = narrow(name)
    if ratio := _RATIO.search(name):
        return name[: ratio.start()].strip(), unit_or_none(ratio[1].replace("_", "/"))
    for pattern in (_BRACKETS, _TRAILING):
        match = pattern.search(name)
        if match:
            text = match[1]
            symbol = unit_or_none(_LOWER.get(text, text))
            # "Strain (1)" is a plain number; "Force (2)" is a second force and no unit.
            if symbol is not None and not (text.isdecimal() and channel_of(name) != "strain"):
                return name[: match.start()].strip(), symbol
    return name.strip(), None


def parse_header(head: Sequence[Sequence[str]], width: int) -> Header:
    """
    Return names, units and facts from the cells above a block.

    Parameters
    ----------
    head : sequence of sequence of str
        Cells of each line above the block, in order.
    width : int
        Number of columns of the block. [1]

    Returns
    -------
    header : Header
        Names from the last line that names a channel; units from the line below it or from the names.
    """
    index = next((at for at in reversed(range(len(head))) if _names_channels(head[at])), None)
    names: tuple[str, ...] = ()
    units: tuple[str | None, ...] = ()
    if index is not None:
        row = [cell.strip() for cell in head[index]]
        row += [""] * (width - len(row))  # a column too few is empty; one too many is missed in the rows
        below = [cell.strip() for cell in head[index + 1]] if index + 1 < len(head) else []
        apart = [split_unit(cell) for cell in row]
        under = below if _is_units(below) else []
        under = (under + [""] * len(row))[: len(row)]
        names = tuple(name for name, _ in apart)
        units = tuple(unit_or_none(cell) or stated for cell, (_, stated) in zip(under, apart, strict=True))
    stated, facts = _facts(head[:index] if index is not None else head)
    above = tuple(tuple(cell.strip() for cell in cells) for cells in head[:index]) if index else ()
    return Header(names, units, facts, stated, above)


def _names_channels(cells: Sequence[str]) -> bool:
    """Return whether cells name a force or a stress and something beside it."""
    filled = [cell for cell in cells if cell.strip()]
    known = {channel_of(cell) for cell in filled if number(cell) is None}
    return (
        len(filled) >= 2
        and bool(known & {"force", "stress"})
        and not any(number(cell) is not None for cell in filled)
    )


def _is_units(cells: Sequence[str]) -> bool:
    filled = [cell for cell in cells if cell.strip()]
    known = [cell for cell in filled if unit_or_none(cell)]
    return bool(known) and 2 * len(known) >= len(filled)


def _facts(head: Sequence[Sequence[str]]) -> tuple[tuple[tuple[str, str], ...], dict[str, Fact]]:
    stated: list[tuple[str, str]] = []
    facts: dict[str, Fact] = {}
    for cells in head:
        stated += _words_of_line(cells)
        for fact in _facts_of_line([cell.strip() for cell in cells]):
            stated.append((fact.label, f"{fact.value:g} {fact.unit or ''}".strip()))
            if name := fact_of(fact.label):
                facts.setdefault(name, fact)
    return tuple(stated), facts


def facts_beside(header: Header, starts: Sequence[int]) -> list[dict[str, Fact]]:
    """
    Return the facts that a header states of each of several specimens whose columns lie side by side.

    Parameters
    ----------
    header : Header
        Its lines above the names.
    starts : sequence of int
        First column of each specimen. [1]

    Returns
    -------
    facts : list of dict of str to Fact
        By specimen; of lines with one value for each, under a label of its own or under the line's.
    """
    found: list[dict[str, Fact]] = [{} for _ in starts]
    for cells in header.above:
        spans = [list(cells[at:end]) for at, end in zip(starts, [*starts[1:], len(cells)], strict=True)]
        label = next((cell for cell in cells if cell), "")
        lines = [span if any(map(fact_of, span)) else [label, *span] for span in spans]
        parts = [_facts_of_line([cell for cell in line if cell]) for line in lines]
        names = {fact_of(part[0].label) if len(part) == 1 else "" for part in parts}
        if len(names) == 1 and (name := names.pop()):
            for own, (fact,) in zip(found, parts, strict=True):
                own.setdefault(name, fact)
    return found


def _words_of_line(cells: Sequence[str]) -> list[tuple[str, str]]:
    """Return label and words of a line such as `Load cell: CELL`, in one cell or two; empty for other lines."""
    filled = [cell.strip() for cell in cells if cell.strip()]
    label, colon, words = filled[0].partition(":") if filled else ("", "", "")
    words = words.strip() or (filled[1] if len(filled) == 2 else "")
    whole = bool(colon) and len(filled) <= 2 and bool(label.strip()) and bool(words)
    return (
        [(label.strip(), words[:_MOST_WORDS])]
        if whole and _number(words) is None and not words[0].isdigit()
        else []
    )


def _facts_of_line(cells: list[str]) -> list[Fact]:
    filled = [cell for cell in cells if cell]
    if len(filled) >= 2:
        label = filled[0].rstrip(":= ")
        apart = _QUANTITY.fullmatch(filled[1][:200])
        if apart and unit_or_none(apart[2]) and label and number(label) is None:
            filled[1:2] = [apart[1], apart[2]]
        value = _number(filled[1])
        if value is not None and number(label) is None and label:
            bare, inside = split_unit(label)
            symbol = unit_or_none(filled[2]) if len(filled) > 2 else inside
            return [Fact(bare, value, symbol, last_digit(filled[1]))]
        return [fact for cell in filled for fact in _pair(cell)]
    return _pair(filled[0]) if filled else []


def _pair(cell: str) -> list[Fact]:
    match = _PAIR.fullmatch(cell[:200])
    value = _number(match[2]) if match else None
    if match is None or value is None:
        return []
    bare, inside = split_unit(match[1])
    return [Fact(bare, value, unit_or_none(match[3]) or inside, last_digit(match[2]))]


def last_digit(text: str) -> float:
    """
    Return what the last printed digit of a number stands for.

    Parameters
    ----------
    text : str
        A number with a decimal point or comma, such as `10,02`.

    Returns
    -------
    step : float
        For example 0.01; 0 of a zero whose power of ten no number reaches. [unit of the number]
    """
    mantissa, _, power = text.strip().lower().replace(",", ".").partition("e")
    step = float(f"1e{int(power or 0) - len(mantissa.partition('.')[2])}")
    return step if math.isfinite(step) else 0.0


def _number(text: str) -> float | None:
    plain = number(text)
    return plain if plain is not None else number(text, decimal_comma=True)
