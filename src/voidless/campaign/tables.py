"""The tables of a campaign file, one function a table; each keeps its faults and returns what is sound."""

from __future__ import annotations

from typing import Any

from voidless.campaign.faults import Faults
from voidless.campaign.types import (
    Factor,
    Limits,
    Objective,
    Probability,
    Sense,
    Specification,
    SpecimenOrder,
)
from voidless.errors import InputError
from voidless.quantities import QUANTITIES, Role, names, quantity, suggest
from voidless.tomlfile import Document, finite, known_keys, typed

__all__ = [
    "conditions",
    "factors",
    "fixed_settings",
    "head",
    "known_tables",
    "limits",
    "nuisance",
    "objective",
    "specifications",
    "specimens",
    "transfer",
]

_LONGEST_NAME = 200
_MOST_SPECIMENS = 1000
_TABLES = (
    "campaign", "settings", "factors", "responses", "specifications", "objective", "limits", "specimens",
    "nuisance", "materials", "machines", "transfer",
)  # fmt: skip
_HEAD = ("name", "material", "machine", "probability")
_WHOLE_LIMITS = ("builds",)
_LIMITS = ("builds", "hours", "attended_hours", "grams", "rate_mm3_s")


def known_tables(document: Document, faults: Faults) -> None:
    """Check the names of the tables; `schema_version`, where given, must be 1."""
    for key in document.data:
        with faults.kept():
            known_keys(Document(document.where, {key: None}, document.lines), (*_TABLES, "schema_version"))
    version = document.data.get("schema_version", 1)
    if version != 1 or isinstance(version, bool):
        faults.add(
            document.place("schema_version"),
            f"schema_version = {version!r}",
            "1, or none",
            "Use the program version that wrote it.",
        )


def head(document: Document, faults: Faults) -> dict[str, Any]:
    """Return `name`, `material`, `machine` and `probability` of `[campaign]`; a wrong text is empty."""
    table = _table(document, faults, "campaign")
    _known(table, _HEAD, faults)
    found: dict[str, Any] = {"name": "", "material": "", "machine": "", "probability": Probability.NEXT_BUILD}
    for key in ("name", "material", "machine"):
        with faults.kept():
            value = typed(table.data.get(key), str, "a text", table, key)
            if not value.strip() or len(value) > _LONGEST_NAME or not value.isprintable():
                expected = f"1 to {_LONGEST_NAME} printable characters"
                faults.add(table.place(key), f"{key} = {value[:40]!r}", expected, "Give it a name.")
            found[key] = value
    word = table.data.get("probability", Probability.NEXT_BUILD.value)
    known = tuple(item.value for item in Probability)
    if word in known:
        found["probability"] = Probability(word)
    else:
        faults.add(
            table.place("probability"),
            f"probability = {word!r}",
            "one of " + ", ".join(known),
            suggest(str(word), known),
        )
    return found


def factors(document: Document, faults: Faults) -> tuple[Factor, ...]:
    """Return the factors of `[factors.NAME]`, in the order of the file."""
    table = _table(document, faults, "factors")
    found = []
    for name in table.data:
        with faults.kept():
            _setting_name(name, table.place(name), "a factor")
            found.append(_factor(name, table.section(name), faults))
    if not table.data:
        faults.add(
            document.place("factors"),
            "no factor",
            "at least one table [factors.NAME]",
            "Name a setting to vary, with low and high.",
        )
    return tuple(found)


def _factor(name: str, table: Document, faults: Faults) -> Factor:
    _known(table, ("low", "high", "step", "hard_to_change"), faults)
    known = quantity(name, table.place(), Role.SETTING)
    low, high = (_required(table, key) for key in ("low", "high"))
    step = finite(table.data["step"], table, "step") if "step" in table.data else None
    hard = typed(table.data.get("hard_to_change", False), bool, "true or false", table, "hard_to_change")
    if not low < high:
        faults.add(
            table.place("low"),
            f"{name}: low = {low:g}, high = {high:g}",
            "low below high",
            "Swap or correct them.",
        )
    elif step is not None and not 0.0 < step <= high - low:
        faults.add(
            table.place("step"),
            f"{name}: step = {step:g}",
            f"above 0 and at most high - low = {high - low:g}",
            "Correct it or leave it out.",
        )
    if known.integer:
        step = 1.0 if step is None else step
        for key, value in (("low", low), ("high", high), ("step", step)):
            if value != round(value):
                faults.add(table.place(key), f"{name}: {key} = {value:g}", "a whole number", "Correct it.")
    return Factor(name, low, high, step, hard)


def fixed_settings(document: Document, varied: tuple[Factor, ...], faults: Faults) -> dict[str, float]:
    """Return the fixed settings of `[settings]`."""
    table = _table(document, faults, "settings")
    varied_names = {factor.name for factor in varied}
    found = {}
    for name, value in table.data.items():
        with faults.kept():
            _setting_name(name, table.place(name), "a setting")
            found[name] = finite(value, table, name)
        if name in varied_names:
            faults.add(
                table.place(name), f"{name} is fixed here and also a factor", "one of the two", "Remove one."
            )
    return found


def conditions(document: Document, faults: Faults) -> dict[str, dict[str, str]]:
    """Return the measuring conditions of `[responses.NAME]`, every value as text."""
    table = _table(document, faults, "responses")
    found = {}
    for name in table.data:
        with faults.kept():
            quantity(name, table.place(name), Role.RESPONSE)
            section = table.section(name)
            found[name] = {key: _text(value, section, key) for key, value in section.data.items()}
    return found


def specifications(document: Document, faults: Faults) -> tuple[Specification, ...]:
    """Return the limits of `[specifications.NAME]`, in the order of the file."""
    table = _table(document, faults, "specifications")
    found = []
    for name in table.data:
        with faults.kept():
            known = quantity(name, table.place(name), Role.RESPONSE)
            section = table.section(name)
            _known(section, ("min", "max"), faults)
            low, high = (
                known.check(finite(section.data[key], section, key), section.place(key))
                if key in section.data
                else None
                for key in ("min", "max")
            )
            if low is None and high is None:
                faults.add(
                    section.place(), f"{name} has neither min nor max", "one of them", "State the limit."
                )
            elif low is not None and high is not None and not low <= high:
                faults.add(
                    section.place("min"),
                    f"{name}: min = {low:g}, max = {high:g}",
                    "min at most max",
                    "Swap or correct them.",
                )
            found.append(Specification(name, low, high))
    return tuple(found)


def objective(document: Document, faults: Faults) -> Objective:
    """Return the objective; a file without one minimises the build time."""
    if "objective" not in document.data:
        return Objective()
    table = _table(document, faults, "objective")
    senses = tuple(sense.value for sense in Sense)
    _known(table, senses, faults)
    stated = [key for key in senses if key in table.data]
    if len(stated) != 1:
        faults.add(
            table.place(),
            f"{len(stated)} objectives",
            "one line, minimise or maximise",
            'Write minimise = "build_min".',
        )
        return Objective()
    with faults.kept():
        name = typed(table.data[stated[0]], str, "the name of a response", table, stated[0])
        return Objective(quantity(name, table.place(stated[0]), Role.RESPONSE).name, Sense(stated[0]))
    return Objective()


def limits(document: Document, faults: Faults) -> Limits:
    """Return what the campaign may spend."""
    table = _table(document, faults, "limits")
    _known(table, _LIMITS, faults)
    found: dict[str, Any] = {}
    for key in _LIMITS:
        if key not in table.data:
            continue
        with faults.kept():
            value = table.data[key]
            number = finite(value, table, key)
            if not number > 0.0:
                faults.add(table.place(key), f"{key} = {number:g}", "above 0", "Correct it or leave it out.")
            if key in _WHOLE_LIMITS:
                value = typed(value, int, "a whole number", table, key)
            found[key] = value if key in _WHOLE_LIMITS else number
    return Limits(**found)


def transfer(document: Document, faults: Faults) -> tuple[str, ...]:
    """Return the folders of calibrated campaigns to start from; whether they are there is seen when they are opened."""
    table = _table(document, faults, "transfer")
    _known(table, ("campaigns",), faults)
    named = table.data.get("campaigns", [])
    if not isinstance(named, list) or not all(isinstance(item, str) and item.strip() for item in named):
        faults.add(
            table.place("campaigns"), f"campaigns = {named!r}", "a list of folders", "Write them in quotes."
        )
        return ()
    return tuple(named)


def specimens(document: Document, faults: Faults) -> tuple[SpecimenOrder, ...]:
    """Return the specimens that a run prints; their kinds are checked where the catalogue is known."""
    table = _table(document, faults, "specimens")
    found = []
    for kind, count in table.data.items():
        if isinstance(count, bool) or not isinstance(count, int) or not 1 <= count <= _MOST_SPECIMENS:
            faults.add(
                table.place(kind),
                f"{kind} = {count!r}",
                f"a whole number from 1 to {_MOST_SPECIMENS}",
                "State how many a run prints.",
            )
        else:
            found.append(SpecimenOrder(kind, count))
    return tuple(found)


def nuisance(document: Document, default: tuple[str, ...], faults: Faults) -> tuple[str, ...]:
    """Return the nuisance quantities of `[nuisance.NAME]`, or the default where the file names none."""
    table = _table(document, faults, "nuisance")
    for name in table.data:
        with faults.kept():
            quantity(name, table.place(name), Role.NUISANCE)
            _known(table.section(name), ("note",), faults)
    return tuple(table.data) or default


def _table(document: Document, faults: Faults, name: str) -> Document:
    with faults.kept():
        return document.section(name)
    return Document(document.where, {}, document.lines, (name,))


def _known(table: Document, known: tuple[str, ...], faults: Faults) -> None:
    for key in table.data:
        with faults.kept():
            known_keys(Document(table.where, {key: None}, table.lines, table.prefix), known)


def _required(table: Document, key: str) -> float:
    if key not in table.data:
        name = ".".join(table.prefix)
        raise InputError(table.place(), f"[{name}] has no {key}", f"{key} = a number", f"Add {key}.")
    return finite(table.data[key], table, key)


def _setting_name(name: str, place: str, role: str) -> None:
    known = QUANTITIES.get(name)
    settings = names(Role.SETTING)
    if known is not None and known.role is Role.SETTING:
        return
    expected = "one of " + ", ".join(settings)
    if known is None:
        raise InputError(place, f"{name!r} is not a setting", expected, suggest(name, settings))
    if known.role is Role.NUISANCE:
        what = f"{name} is not chosen, so it cannot be {role}"
        raise InputError(place, what, expected, f"Use [nuisance.{name}].")
    what = f"{name} is derived from the settings, so it cannot be {role}"
    raise InputError(place, what, expected, _INSTEAD)


_INSTEAD = "Vary the settings that it follows from; limit it in [specifications] or [limits]."


def _text(value: Any, table: Document, key: str) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return f"{finite(value, table, key):g}"
    return str(typed(value, str, "a text or a number", table, key))
