"""Properties from tables: the library's, and what a user's file states over them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from voidless.errors import InputError
from voidless.materials.properties import PROPERTIES
from voidless.materials.types import MARKS, SPREAD_KINDS, Property
from voidless.quantities import suggest
from voidless.tomlfile import Document, finite, known_keys, typed
from voidless.units import convert

__all__ = ["STATED", "library_property", "stated_property"]

_KEYS = ("value", "unit", "spread", "kind", "valid", "mark", "source")
_UNSOURCED = "The user's own file, which names no source."
STATED = "as the user's file states"
"""`Property.valid` of a value that the user's own file states."""


def library_property(name: str, entry: Mapping[str, Any], sources: Mapping[str, str]) -> Property:
    """Return a property as a data file of the library states it; `source` there is a key of `sources`."""
    known = PROPERTIES[name]
    return Property(
        name=name,
        value=float(entry["value"]),
        unit=known.unit,
        spread=float(entry["spread"]),
        spread_kind=entry["kind"],
        valid=entry["valid"],
        source=sources[entry["source"]],
        mark=entry["mark"],
    )


def stated_property(name: str, before: Property | None, properties: Document) -> Property:
    """
    Return a property as a user states it, a number or a table of what changes, over what was known before.

    Raises
    ------
    InputError
        A key, unit or number is wrong, or too little is stated of a property that was not known.
    """
    section = _section(name, properties)
    entry, known = section.data, PROPERTIES[name]
    if before is None and not {"value", "spread", "kind"} <= set(entry):
        missing = ", ".join(key for key in ("value", "spread", "kind") if key not in entry)
        expected = "value, spread and kind"
        raise InputError(section.place(), f"{name} lacks {missing}", expected, "The base has none to keep.")
    kind = _word("kind", before.spread_kind if before else "", SPREAD_KINDS, section)
    value = _value(before.value if before else 0.0, known.unit, section)
    spread = _spread(before.spread if before else 0.0, known.unit, kind, section)
    if not known.low <= value <= known.high:
        expected = f"{known.low:g} to {known.high:g}"
        what = f"{name} = {value:g} {known.unit}"
        raise InputError(section.place("value"), what, expected, "Correct the value or its unit.")
    if not spread >= (1.0 if kind == "factor" else 0.0):
        expected = "at least 1 for a factor, at least 0 otherwise"
        raise InputError(section.place("spread"), f"spread of {name} = {spread:g}", expected, "Correct it.")
    return Property(name, value, known.unit, spread, kind, **_evidence(before, section))


def _section(name: str, properties: Document) -> Document:
    """Return what is stated of a property as a table, also where a plain number is."""
    known_keys(
        Document(properties.where, {name: None}, properties.lines, properties.prefix), tuple(PROPERTIES)
    )
    entry = properties.data[name]
    if not isinstance(entry, Mapping):
        entry = {"value": finite(entry, properties, name)}
    section = Document(properties.where, entry, properties.lines, (*properties.prefix, name))
    known_keys(section, _KEYS)
    return section


def _value(before: float, unit: str, section: Document) -> float:
    if "value" not in section.data:
        return before
    stated = typed(section.data.get("unit", unit), str, "a text", section, "unit")
    return convert(finite(section.data["value"], section, "value"), stated, unit, section.place("unit"))


def _spread(before: float, unit: str, kind: str, section: Document) -> float:
    if "spread" not in section.data:
        return before
    spread = finite(section.data["spread"], section, "spread")
    if kind == "factor":
        return spread
    stated = typed(section.data.get("unit", unit), str, "a text", section, "unit")
    return convert(spread, stated, unit, section.place("unit"))  # no two units differ by an offset alone


def _evidence(before: Property | None, section: Document) -> dict[str, str]:
    """Return validity, source and mark: of the user's value if one is stated, else of the value before."""
    if before is not None and "value" not in section.data:
        texts = {"valid": before.valid, "source": before.source, "mark": before.mark}
    else:
        mark = "seen" if "source" in section.data else "assumed"
        texts = {"valid": STATED, "source": _UNSOURCED, "mark": mark}
    for key in ("valid", "source"):
        texts[key] = typed(section.data.get(key, texts[key]), str, "a text", section, key)
    texts["mark"] = _word("mark", texts["mark"], MARKS, section)
    return texts


def _word(key: str, before: str, words: tuple[str, ...], section: Document) -> str:
    word = section.data.get(key, before)
    if word not in words:
        expected = "one of " + ", ".join(words)
        raise InputError(section.place(key), f"{key} = {word!r}", expected, suggest(str(word), words))
    return str(word)
