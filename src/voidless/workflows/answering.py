"""What a person answers beside files: read, checked, and put together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from voidless.errors import InputError
from voidless.measure.files.facts import check_fact
from voidless.measure.files.labels import direction_of
from voidless.measure.results import Answers, Kind
from voidless.measure.tensile.strength import METHODS
from voidless.quantities import suggest
from voidless.units import unit
from voidless.workflows.opening import OpenCampaign

__all__ = ["answers_of", "check_sections", "strength_method"]

_DIRECTIONS = ("xy", "across", "z")
_STRENGTHS = ("strength_xy_mpa", "strength_across_mpa", "strength_z_mpa")


def answers_of(
    sections: Mapping[str, str],
    units: Mapping[str, str],
    facts: Mapping[str, str],
    kinds: Sequence[tuple[str, str]],
    methods: Sequence[tuple[str, str]] = (),
) -> Answers:
    """
    Return what a person answers, checked.

    Parameters
    ----------
    sections, units, facts : mapping of str to str
        Cross-section by direction or curve, unit by column, fact by name; `NAME@PATTERN` for files of that name alone.
    kinds : sequence of (str, str)
        Kind and pattern of file names.
    methods : sequence of (str, str)
        Pattern of file names, and the method by which their rows were measured that state none.

    Raises
    ------
    InputError
        A name, unit or number is wrong.
    """
    everywhere: dict[str, dict[str, Any]] = {"units": {}, "facts": {}}
    only: list[tuple[str, str, str, str | float]] = []
    for field, given in (("units", units), ("facts", facts)):
        for written, text in given.items():
            name, sign, pattern = (part.strip() for part in written.partition("@"))
            value = _unit(name, text) if field == "units" else check_fact(name, _real("--fact", name, text))
            if sign:
                only.append((pattern, field, name, value))
            else:
                everywhere[field][name] = value
    return Answers(
        units=everywhere["units"],
        facts=everywhere["facts"],
        sections={name: _number("--section", name, text) for name, text in sections.items()},
        only=(*only, *((pattern, "method", "method", name) for pattern, name in methods)),
        kinds=tuple((pattern, _kind(word)) for word, pattern in kinds),
    )


def _unit(name: str, text: str) -> str:
    unit(text, f"--unit {name}")
    return text


def _kind(word: str) -> Kind:
    known = tuple(kind.value for kind in Kind)
    if word not in known:
        expected = "one of " + ", ".join(known)
        raise InputError(
            "--as", f"{word!r} is no kind of file", expected, suggest(word, known) or "Correct it."
        )
    return Kind(word)


def check_sections(answers: Answers, given: Sequence[str]) -> None:
    """Refuse a section that is for no direction and for no curve of the files."""
    for name in answers.sections:
        if not name or direction_of(name) or any(_may_hold(file, name) for file in given):
            continue
        what, expected = f"{name!r} is no direction and no curve", "xy, across, z or the name of a curve"
        raise InputError("--section", what, expected, suggest(name, _DIRECTIONS) or "Correct the name.")


def _may_hold(file: str, curve: str) -> bool:
    """Return whether a file may hold a curve of this name; the curves of an archive are not known yet."""
    return curve in file or Path(file).stem in curve or file.lower().endswith(".zip")


def _real(where: str, name: str, text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not abs(value) < float("inf"):
        raise InputError(where, f"{name} = {text!r}", "a number", f"Write {name}=12.5, for example.")
    return value


def _number(where: str, name: str, text: str) -> float:
    value = _real(where, name, text)
    if not 0 < value < float("inf"):
        raise InputError(where, f"{name} = {text!r}", "a number above 0", f"Write {name}=12.5, for example.")
    return value


def strength_method(opened: OpenCampaign, answers: Answers) -> str:
    """Return the one method that the campaign's file states for strengths, else the usual one."""
    stated = {opened.campaign.conditions.get(name, {}).get("method") for name in _STRENGTHS} - {None}
    if len(stated) > 1:
        what = f"strengths by {', '.join(sorted(str(method) for method in stated))}"
        raise InputError(
            "campaign.toml", what, "one method for every direction", "A ratio compares like with like."
        )
    method = stated.pop() if stated else None
    if method is not None and method not in METHODS:
        raise InputError(
            "campaign.toml",
            f"strength by {method!r}",
            "one of " + ", ".join(METHODS),
            suggest(method, tuple(METHODS)),
        )
    return method or answers.strength_method
