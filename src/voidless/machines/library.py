"""Loading of machines: the library's data files, with a user's overrides put over them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from importlib import resources
from pathlib import Path
from typing import Any

from voidless.errors import InputError
from voidless.machines.types import AXES, AXIS_NUMBERS, CLEARANCES, NUMBERS, Machine
from voidless.quantities import Role, quantity, suggest
from voidless.tomlfile import Document, finite, known_keys, merged, parse_document, read_document, typed

__all__ = ["load_machine", "machine_names"]

_DATA = resources.files("voidless.machines") / "data"
_NAMES = ("bench-0.4", "bench-0.6", "enclosed-0.4")
_TEXTS = ("title", "start_gcode", "end_gcode")
_TABLES = ("usual", "setting_sd", "notes")
_KEYS = ("base", "fan", *_TEXTS, *_TABLES, *NUMBERS, *AXIS_NUMBERS, *CLEARANCES)
_PER_NOZZLE = {"layer_per_nozzle": "layer_mm", "width_per_nozzle": "width_mm"}


def machine_names() -> tuple[str, ...]:
    """Return the names of the machines of the library."""
    return _NAMES


def load_machine(name: str, overrides: Mapping[str, Any] | Path | Document | None = None) -> Machine:
    """
    Return a machine of the library, or a user's own that is built on one.

    Parameters
    ----------
    name : str
        Name of the machine; one that the library lacks needs overrides with `base`.
    overrides : mapping, Path, Document or None
        Table with `base` and any field of `Machine`. A TOML file holds the table at its top or as
        `[machines.NAME]`.

    Raises
    ------
    InputError
        The name, a key or a value is wrong; `where` names file and line if there is a file.

    Notes
    -----
    `usual` may hold `layer_per_nozzle` and `width_per_nozzle`, so that another nozzle brings its own
    usual layer thickness and bead width; `layer_mm` and `width_mm` rule where they are given.

    Examples
    --------
    >>> load_machine("bench-0.4").usual["layer_mm"]
    0.2
    >>> load_machine("ours", {"base": "bench-0.4", "nozzle_diameter_mm": 0.8}).usual["layer_mm"]
    0.4
    """
    over = _document(name, overrides)
    known_keys(over, _KEYS)
    for key in _TABLES:
        over.section(key)
    base = over.data.get("base", name)
    if base not in _NAMES:
        raise _unknown(name, base, over)
    text = (_DATA / f"{base}.toml").read_text(encoding="utf-8")
    changed = {key: value for key, value in over.data.items() if key != "base"}
    table = merged(parse_document(text, f"{base}.toml").data, changed)
    table.setdefault("melt_zone_mm3", _melt_zone(table, over))
    if "lag_s" in changed and "lag_s" not in changed.get("notes", {}):  # the library's note is on its own lag
        table["notes"] = {**table["notes"], "lag_s": f"Stated in {over.place('lag_s')}"}
    numbers: dict[str, Any] = {key: _bounded(table[key], NUMBERS[key], over, key) for key in NUMBERS}
    stated = [key for key in CLEARANCES if key in table]
    clearances: dict[str, Any] = {key: _bounded(table[key], CLEARANCES[key], over, key) for key in stated}
    return Machine(
        name=name,
        **{key: typed(table[key], str, "a text", over, key) for key in _TEXTS},
        **numbers,
        **{key: _per_axis(table[key], AXIS_NUMBERS[key], over, key) for key in AXIS_NUMBERS},
        **clearances,
        fan=typed(table["fan"], bool, "true or false", over, "fan"),
        usual=_usual(table["usual"], numbers["nozzle_diameter_mm"], over),
        setting_sd=_scatter(table["setting_sd"], over),
        notes={key: typed(value, str, "a text", over, "notes", key) for key, value in table["notes"].items()},
    )


def _document(name: str, overrides: Mapping[str, Any] | Path | Document | None) -> Document:
    if isinstance(overrides, Document):
        return overrides
    if isinstance(overrides, Path):
        document = read_document(overrides)
        return document.section("machines", name) if "machines" in document.data else document
    return Document(f"machine {name}", overrides or {})


def _unknown(name: str, base: Any, over: Document) -> InputError:
    if base != name:
        what = f"base = {base!r} is not in the library"
    else:
        what = f"machine {name!r} is not in the library" + (" and names no base" if over.data else "")
    describe = f'Describe it in [machines.{name}] with base = "bench-0.4".'
    if over.data and base == name:
        describe = 'Add base = "bench-0.4", or another of these, to its description.'
    remedy = suggest(str(base), _NAMES) or describe
    return InputError(over.place("base"), what, "one of " + ", ".join(_NAMES), remedy)


def _bounded(value: Any, bounds: tuple[float, float], over: Document, *path: str) -> float:
    number = finite(value, over, *path)
    low, high = bounds
    if not low <= number <= high:
        raise InputError(
            over.place(*path),
            f"{path[-1]} = {number:g}",
            f"{low:g} to {high:g}",
            "Correct the value or its unit.",
        )
    return number


def _melt_zone(table: Mapping[str, Any], over: Document) -> float:
    """Return the volume of filament in the melt zone, which fills it as it goes in. [mm3]"""
    diameter, length = (
        finite(table[key], over, key) for key in ("filament_diameter_mm", "melt_zone_length_mm")
    )
    return math.pi * diameter**2 / 4.0 * length


def _per_axis(value: Any, bounds: tuple[float, float], over: Document, key: str) -> Any:
    if not isinstance(value, list | tuple) or len(value) != len(AXES):
        raise InputError(
            over.place(key),
            f"{key} = {value!r}",
            "one number each for " + ", ".join(AXES),
            "Write four numbers.",
        )
    return tuple(_bounded(number, bounds, over, key) for number in value)


def _usual(table: Mapping[str, Any], nozzle_diameter_mm: float, over: Document) -> dict[str, float]:
    found: dict[str, float] = {}
    for key, value in table.items():
        number = finite(value, over, "usual", key)
        if key in _PER_NOZZLE:
            found.setdefault(_PER_NOZZLE[key], round(number * nozzle_diameter_mm, 6))
            continue
        place = over.place("usual", key)
        found[key] = quantity(key, place, Role.SETTING).check(number, place)
    return found


def _scatter(table: Mapping[str, Any], over: Document) -> dict[str, float]:
    found = {}
    for key, value in table.items():
        quantity(key, over.place("setting_sd", key), Role.SETTING)
        found[key] = _bounded(value, (0.0, 1000.0), over, "setting_sd", key)
    return found
