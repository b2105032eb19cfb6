"""Loading of materials: the library's data files, with a user's overrides put over them."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import resources
from pathlib import Path
from typing import Any

from voidless.errors import InputError
from voidless.materials.evidence import library_property, stated_property
from voidless.materials.properties import PROPERTIES
from voidless.materials.types import Material, Property
from voidless.quantities import QUANTITIES, Role, names, quantity, suggest
from voidless.tomlfile import Document, finite, known_keys, merged, parse_document, read_document, typed

__all__ = ["load_material", "material_names"]

_DATA = resources.files("voidless.materials") / "data"
_NAMES = ("pla", "petg", "pctg", "abs", "asa", "pc", "pmma", "pp", "pa6", "pa12", "tpu")
_KEYS = ("base", "title", "clear", "crystallises", "drying", "usual", "limits", "properties")


def material_names() -> tuple[str, ...]:
    """Return the names of the materials of the library."""
    return _NAMES


def load_material(name: str, overrides: Mapping[str, Any] | Path | Document | None = None) -> Material:
    """
    Return a material of the library, or a user's own that is built on one.

    Parameters
    ----------
    name : str
        Name of the material; one that the library lacks needs overrides with `base`.
    overrides : mapping, Path, Document or None
        Table with any of `base`, `title`, `clear`, `crystallises`, `drying`, `usual`, `limits` and
        `properties`; a property is a number or a table that names what it changes. A TOML file holds
        the table at its top or as `[materials.NAME]`.

    Raises
    ------
    InputError
        The name, a key, a unit or a value is wrong; `where` names file and line if there is a file.

    Notes
    -----
    A property whose value is overridden keeps the library's spread unless one is given, and without a
    source it is marked assumed: a number that nobody can trace is no measurement.

    Examples
    --------
    >>> load_material("petg").property("density_g_cm3").value
    1.27
    >>> load_material("ours", {"base": "petg", "properties": {"density_g_cm3": 1.268}}).si("density_g_cm3")
    1268.0
    """
    over = _document(name, overrides)
    known_keys(
        over,
        _KEYS,
        {**dict.fromkeys(names(Role.SETTING), "usual"), **dict.fromkeys(PROPERTIES, "properties")},
    )
    base = over.data.get("base", name)
    if base not in _NAMES:
        raise _unknown(name, base, over)
    for key in ("usual", "limits", "drying"):
        over.section(key)  # each must be a table
    library = _library_table(base)
    table = merged(
        library, {key: value for key, value in over.data.items() if key not in ("base", "properties")}
    )
    return Material(
        name=name,
        title=typed(table["title"], str, "a text", over, "title"),
        properties=_properties(library["properties"], over.section("properties")),
        usual=_usual(table["usual"], over),
        limits={key: _limit(key, pair, over) for key, pair in table["limits"].items()},
        clear=typed(table["clear"], bool, "true or false", over, "clear"),
        crystallises=typed(table["crystallises"], bool, "true or false", over, "crystallises"),
        drying=_drying(table["drying"], over),
    )


def _document(name: str, overrides: Mapping[str, Any] | Path | Document | None) -> Document:
    if isinstance(overrides, Document):
        return overrides
    if isinstance(overrides, Path):
        document = read_document(overrides)
        return document.section("materials", name) if "materials" in document.data else document
    return Document(f"material {name}", overrides or {})


def _library_table(name: str) -> dict[str, Any]:
    text = (_DATA / f"{name}.toml").read_text(encoding="utf-8")
    sources = parse_document((_DATA / "sources.toml").read_text(encoding="utf-8"), "sources.toml").data
    table = dict(parse_document(text, f"{name}.toml").data)
    table["properties"] = {
        key: library_property(key, entry, sources) for key, entry in table["properties"].items()
    }
    return table


def _unknown(name: str, base: Any, over: Document) -> InputError:
    if isinstance(base, str) and base != name:
        what = f"base = {base!r} is not in the library"
    elif over.data:
        what = f"material {name!r} is not in the library and names no base"
    else:
        what = f"material {name!r} is not in the library"
    describe = f'Describe it in [materials.{name}] with base = "petg", or another of these.'
    if over.data and base == name:
        describe = 'Add base = "petg", or another of these, to its description.'
    remedy = suggest(str(base), _NAMES) or describe
    return InputError(over.place("base"), what, "one of " + ", ".join(_NAMES), remedy)


def _properties(known: Mapping[str, Property], stated: Document) -> dict[str, Property]:
    changed = {name: stated_property(name, known.get(name), stated) for name in stated.data}
    return {**known, **changed}


def _usual(table: Mapping[str, Any], over: Document) -> dict[str, float]:
    found = {}
    for key, value in table.items():
        place = over.place("usual", key)
        known = quantity(key, place, Role.SETTING)
        found[key] = known.check(finite(value, over, "usual", key), place)
    return found


def _limit(key: str, pair: Any, over: Document) -> tuple[float, float]:
    place = over.place("limits", key)
    if key not in QUANTITIES or QUANTITIES[key].role is not Role.SETTING:
        settings = names(Role.SETTING)
        raise InputError(
            place, f"{key!r} is not a setting", "one of " + ", ".join(settings), suggest(key, settings)
        )
    if not isinstance(pair, list | tuple) or len(pair) != 2:
        raise InputError(place, f"{key} = {pair!r}", "[low, high]", "Write two numbers in brackets.")
    low, high = (finite(value, over, "limits", key) for value in pair)
    if not low < high:
        raise InputError(place, f"{key} = [{low:g}, {high:g}]", "low below high", "Swap or correct them.")
    return low, high


def _drying(table: Mapping[str, Any], over: Document) -> tuple[float, float]:
    known_keys(over.section("drying"), ("temp_c", "hours"))
    temperature, hours = (finite(table[key], over, "drying", key) for key in ("temp_c", "hours"))
    if not (0.0 <= temperature <= 200.0 and 0.0 <= hours <= 200.0):
        raise InputError(
            over.place("drying"),
            f"{temperature:g} degC for {hours:g} h",
            "0 to 200 degC, 0 to 200 h",
            "Correct it.",
        )
    return temperature, hours
