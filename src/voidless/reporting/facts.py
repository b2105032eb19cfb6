"""The facts a document is made of, with every missing part made empty so that its section can say so."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from voidless.errors import InputError

__all__ = ["Facts", "complete", "limits_of", "require"]

Facts = Mapping[str, Any]

_PARTS: dict[str, type] = {
    "campaign": dict,
    "counts": dict,
    "files": list,
    "ground": dict,
    "instruments": dict,
    "evidence": dict,
    "learn": dict,
    "next": dict,
    "proof": dict,
    "provenance": dict,
    "reduced": dict,
    "results": list,
    "runs": list,
    "strength": list,
    "window": dict,
}


def complete(facts: Facts) -> dict[str, Any]:
    """
    Return the facts with every known part present, empty where nothing was given.

    Raises
    ------
    InputError
        A part has the wrong shape, or `schema_version` is one this program does not know.
    """
    require(facts.get("schema_version", 1) == 1, f"schema_version {facts.get('schema_version')!r}", "1")
    found = dict(facts)
    for name, kind in _PARTS.items():
        given = facts.get(name)
        require(given is None or isinstance(given, kind), f"{name} is {type(given).__name__}", kind.__name__)
        found[name] = kind() if given is None else given
    return found


def require(holds: bool, what: str, expected: str) -> None:
    """
    Return nothing when a condition on the facts holds.

    Raises
    ------
    InputError
        It does not hold.
    """
    if not holds:
        raise InputError("facts", what, expected, "Pass the facts as the workflows return them.")


def limits_of(facts: Facts, response: str) -> tuple[tuple[str, float], ...]:
    """Return the limits that a response must keep, each with its word; one without feature holds for all."""
    specifications: Sequence[Facts] = facts.get("campaign", {}).get("specifications", ())
    return tuple(
        (word, float(item[side]))
        for item in specifications
        if item.get("response") in (response, response.partition(":")[0])
        for side, word in (("min", "at least"), ("max", "at most"))
        if item.get(side) is not None
    )
