"""When filament has to be dried, and which builds were printed wet, in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from voidless.campaign.types import Build
from voidless.measure.moisture.air import heated_humidity
from voidless.workflows.opening import OpenCampaign
from voidless.workflows.spool_water import KNOWN, ROOM_C, ROOM_PCT, water_after_hours, water_of, waters_of

__all__ = ["drying_notes", "water_words", "wet_statements"]

_WET = 0.5
"""Share of the way from dried to at rest in a room, from which on filament counts as wet here. Assumed. [1]"""
_LONGEST_H = 1000.0


def drying_notes(opened: OpenCampaign, rows: Sequence[Mapping[str, Any]]) -> list[str]:
    """
    Return when to dry for builds to come; empty for a material that is not dried or whose water is not known.

    Parameters
    ----------
    opened : OpenCampaign
        The campaign.
    rows : sequence of mapping
        Runs of builds as `plan` and `next` list them, each with its own `build_min`, and its `block`.
    """
    limit = _wet_pct(opened)
    if not rows or limit is None:
        return []
    minutes: dict[int, float] = {}
    for row in rows:
        minutes[int(row["block"])] = minutes.get(int(row["block"]), 0.0) + float(row["build_min"])
    longest = max(minutes.values()) / 60.0
    celsius, hours = opened.material.drying
    open_h = _hours_until(opened, limit)
    kept = f"for {open_h:.2g} h" if open_h < _LONGEST_H else "as long as any session"
    text = (
        f"Dry the filament before each session: {celsius:g} °C for {hours:g} h (usual for the material; heed its data "
        f"sheet). In a room of {ROOM_C:g} °C and {ROOM_PCT:g} % an outer strand then stays under {limit:.2g} % water "
        f"{kept}, half of the way to wet; the longest session prints for {longest:.2g} h."
    )
    if longest > open_h:
        text += " Feed it from a dry box, or dry it again within the session."
    return [text + " Log where the spool is (`voidless log DIR exposure`)."]


def water_words(opened: OpenCampaign, build: str, facts: Mapping[str, Any]) -> str:
    """Return what the filament of a build held at its start; `facts`, just logged, stand before those on record."""
    starts = {item.build: str(item.value) for item in opened.store.build_facts() if item.name == "started"}
    spools = {item.label: item.spool for item in opened.store.builds()}
    spool, started = facts.get("spool") or spools.get(build), facts.get("started") or starts.get(build)
    if not spool or not started:
        return ""
    mine = [item for item in opened.store.exposures() if item.spool == spool]
    water, limit = water_of(opened, mine, datetime.fromisoformat(started)), _wet_pct(opened)
    if water is None:
        return ""
    band = f"{water.value_pct:.2g} % water ({water.low_pct:.2g} to {water.high_pct:.2g} %)"
    text = f" By the moisture model its filament held {band} at the start."
    if limit is not None and water.low_pct > limit:
        celsius, hours = opened.material.drying
        text += f" It was wet: dry it ({celsius:g} °C, {hours:g} h) before the next build."
    return text


def wet_statements(opened: OpenCampaign, builds: Sequence[Build]) -> list[str]:
    """
    Return a sentence that names builds with results that were printed wet; none where there are none.

    Parameters
    ----------
    opened : OpenCampaign
        The campaign.
    builds : sequence of Build
        Those that are learned from.
    """
    limit = _wet_pct(opened)
    if limit is None:
        return []
    waters = waters_of(opened)
    held: dict[str, tuple[float, float]] = {}
    for build in builds:
        if build.label in waters:
            held[build.label] = (waters[build.label]["value"], waters[build.label]["low"])
        elif build.exposure_h is not None:
            value = water_after_hours(opened, build.exposure_h, build.humidity_pct)
            held[build.label] = (value, value)
    wet = sorted(label for label, (_, low) in held.items() if low > limit)
    if not wet:
        return []
    least, most = (f"{pick(held[label][0] for label in wet):.2g}" for pick in (min, max))
    amount = least if least == most else f"{least} to {most}"
    said = (
        f"{', '.join(wet)}: printed wet, from filament that by the moisture model held {amount} % water. What that "
        "does is in their results. Predictions are for dry filament and lean on the hours or the water that are "
        "learned beside the settings; a dry repeat of one of them tells most."
    )
    return [said]


def _wet_pct(opened: OpenCampaign) -> float | None:
    """Return the water from which on filament counts as wet; None where the material is not dried. [%]"""
    celsius, hours = opened.material.drying
    if not hours > 0.0 or not all(opened.material.has(name) for name in KNOWN):
        return None
    level = opened.material.property("water_saturation_pct").value
    dried = heated_humidity(ROOM_C, ROOM_PCT, celsius)
    return 0.01 * (dried + _WET * (ROOM_PCT - dried)) * level


def _hours_until(opened: OpenCampaign, water_pct: float) -> float:
    """Return after how many hours in a room a dried outer strand holds so much; at most `_LONGEST_H`."""
    low, high = 0.0, _LONGEST_H
    if water_after_hours(opened, high, None) < water_pct:
        return high
    for _ in range(40):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if water_after_hours(opened, middle, None) < water_pct else (low, middle)
    return high
