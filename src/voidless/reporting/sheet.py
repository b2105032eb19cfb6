"""The settings sheet: what to set, what it gives, and on what evidence, on one A4 page."""

from __future__ import annotations

from dataclasses import dataclass

from voidless.reporting.cautions import IN_USE, PRINTING
from voidless.reporting.facts import Facts, complete, limits_of
from voidless.reporting.page import render
from voidless.reporting.verdict import verdict
from voidless.reporting.words import counted, number, span, spread, to_set

__all__ = ["settings_sheet"]

_FILES_SHOWN = 12


@dataclass(frozen=True)
class _SettingRow:
    name: str
    value: float | None
    varied: bool
    tolerance: str


@dataclass(frozen=True)
class _PredictedRow:
    name: str
    limits: str
    mean: str
    build: str
    part: str


def _settings(facts: Facts) -> list[_SettingRow]:
    fixed = facts["campaign"].get("settings") or {}
    recipe = (facts["window"].get("recipe") or {}).get("settings") or {}
    found = {**fixed, **recipe} if recipe else {}
    varied = {item["name"] for item in facts["campaign"].get("factors", ())} or set(recipe)
    ranges = {
        item["factor"]: f"{number(item['low'])} – {number(item['high'])}"
        for item in facts["window"].get("tolerances") or ()
        if item.get("low") is not None and item.get("high") is not None
    }
    return [
        _SettingRow(name, value, name in varied, ranges.get(name, ""))
        for name, value in to_set(found).items()
    ]


def _limits(facts: Facts, response: str) -> str:
    found = limits_of(facts, response)
    if {word for word, _ in found} == {"at least", "at most"} and len(found) == 2:
        return f"{number(found[0][1])} to {number(found[1][1])}"
    return " and ".join(f"{word} {number(limit)}" for word, limit in found)


def _predicted(facts: Facts) -> list[_PredictedRow]:
    found = (facts["window"].get("recipe") or {}).get("predicted") or {}
    return [
        _PredictedRow(
            name,
            _limits(facts, name),
            spread(item.get("mean"), item.get("low"), item.get("high")),
            span(item.get("low"), item.get("high")),
            span(item.get("part_low"), item.get("part_high")),
        )
        for name, item in found.items()
    ]


def _evidence(facts: Facts) -> str:
    parts = [counted(many, name) for name, many in facts["counts"].items() if many is not None]
    if not parts:
        return "No count of builds and results was given: take the settings as unsupported."
    basis = (facts["window"].get("recipe") or {}).get("basis")
    source = " The prediction is the physics model's alone." if basis == "prior" else ""
    return "Rests on " + ", ".join(parts) + "." + source


def settings_sheet(facts: Facts) -> str:
    """
    Return the settings sheet of a campaign as an HTML document for one A4 page.

    Parameters
    ----------
    facts : mapping
        What the workflows found, as plain JSON types; optional `material` and `machine` with a `title` each.

    Raises
    ------
    InputError
        A part has the wrong shape.
    """
    found = complete(facts)
    ground = [
        (head, (found.get(head) or {}).get("title") or found["campaign"].get(head) or "not named")
        for head in ("material", "machine")
    ]
    build_min = (found["window"].get("recipe") or {}).get("build_min")
    if build_min is not None:
        ground.append(("build time of the specimens", f"{number(build_min, 3)} min"))
    return render(
        "sheet.html.j2",
        facts=found,
        verdict=verdict(found),
        ground=ground,
        settings=_settings(found),
        predicted=_predicted(found),
        evidence=_evidence(found),
        files=found["files"][:_FILES_SHOWN],
        files_left=max(len(found["files"]) - _FILES_SHOWN, 0),
        cautions=(*PRINTING, *IN_USE),
    )
