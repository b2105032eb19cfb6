"""How much water a spool holds, from where it has been and how its filament drinks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import product

import numpy as np

from voidless.campaign.exposure import DRYER, SEALED, interval_of
from voidless.campaign.types import Exposure
from voidless.measure.moisture.air import heated_humidity, winding_pace
from voidless.measure.moisture.climate import rate_factor
from voidless.physics.moisture.sorption import water_after_exposure
from voidless.physics.moisture.spool import water_after_intervals
from voidless.twin.ground import ASSUMED
from voidless.workflows.opening import OpenCampaign

__all__ = [
    "KNOWN",
    "ROOM_C",
    "ROOM_PCT",
    "Water",
    "stay_words",
    "water_after_hours",
    "water_of",
    "waters_at_print",
    "waters_of",
]

ROOM_C, ROOM_PCT = 23.0, 50.0
"""Air where nobody wrote it down: the twin's own. [°C], [%]"""
KNOWN = ("water_diffusivity_m2_s", "water_saturation_pct", "water_activation_kj_mol")
_STARTS = (0.0, 0.5, 1.0)
"""Humidity with which a spool was at rest before its first interval: nobody knows. The middle one is shown. [1]"""


@dataclass(frozen=True)
class Water:
    """Water of the outermost strand, and between what it lies for what is not known. [%]"""

    value_pct: float
    low_pct: float
    high_pct: float


@dataclass(frozen=True)
class _Stay:
    hours: float
    temperature_c: float
    humidity_pct: float


def water_of(opened: OpenCampaign, intervals: Sequence[Exposure], at: datetime) -> Water | None:
    """
    Return the water of a spool's outermost strand at a moment; None where no interval of it is known.

    Parameters
    ----------
    opened : OpenCampaign
        Its material, with what was weighed on its own spools.
    intervals : sequence of Exposure
        Where the spool has been.
    at : datetime
        The moment, with a time zone where the intervals have one.

    Notes
    -----
    One strand in the air of each place (Crank's cylinder, superposed); inner windings follow later. What no interval
    covers is a room of 23 °C and 50 %; a dryer without a logged humidity is fed with such air; in `sealed` time stands
    still. The band is over a spool that was dry or wet before its first interval, and the doubt of the diffusivity.
    """
    stays = _stays(opened, intervals, at)
    if not stays or not all(opened.material.has(name) for name in KNOWN):
        return None
    rate, level, activation = (opened.material.property(name) for name in KNOWN)
    hours, celsius, humidity = (
        np.array([getattr(stay, name) for stay in stays])
        for name in ("hours", "temperature_c", "humidity_pct")
    )
    pace = rate_factor(celsius, 1e3 * activation.value)
    rest = 0.01 * humidity * level.value
    radius = 0.5e-3 * opened.machine.filament_diameter_mm
    found = {
        (start, way): water_after_intervals(
            hours, rest, rate.value * np.exp(way * rate.log_sd) * pace, start * level.value, radius
        )
        for start, way in product(_STARTS, (-1.96, 0.0, 1.96))
    }
    return Water(found[_STARTS[1], 0.0], min(found.values()), max(found.values()))


def _stays(opened: OpenCampaign, intervals: Sequence[Exposure], at: datetime) -> list[_Stay]:
    """Return the places one after the other up to a moment, what nobody wrote down as a room."""
    timed = sorted((*interval_of(item), item) for item in intervals)
    stays: list[_Stay] = []
    reached: datetime | None = None
    for start, end, item in timed:
        begin, last = max(start, reached or start), min(end, at)
        if begin >= at:
            break
        if reached is not None and begin > reached:
            stays.append(_Stay((begin - reached).total_seconds() / 3600.0, ROOM_C, ROOM_PCT))
        if last > begin and item.place.strip().lower() != SEALED:
            stays.append(_stay(opened, item, (last - begin).total_seconds() / 3600.0))
        reached = max(last, reached or last)
    if reached is not None and at > reached:
        stays.append(_Stay((at - reached).total_seconds() / 3600.0, ROOM_C, ROOM_PCT))
    return stays


def _stay(opened: OpenCampaign, item: Exposure, hours: float) -> _Stay:
    dries = item.place.strip().lower() == DRYER
    celsius = item.temperature_c
    if celsius is None:
        celsius = opened.material.drying[0] if dries else ROOM_C
    if dries:
        inside = item.humidity_pct
        return _Stay(hours, celsius, heated_humidity(ROOM_C, ROOM_PCT, celsius) if inside is None else inside)
    return _Stay(hours, celsius, ROOM_PCT if item.humidity_pct is None else item.humidity_pct)


def stay_words(opened: OpenCampaign, intervals: Sequence[Exposure], last: Exposure) -> str:
    """
    Return what a stay did to a spool, in words; empty where the material's water is not known.

    Parameters
    ----------
    opened : OpenCampaign
        The campaign.
    intervals : sequence of Exposure
        Where the spool has been, the last stay among them.
    last : Exposure
        The stay that is spoken of.
    """
    start, end = interval_of(last)
    water = water_of(opened, intervals, end)
    if water is None:
        return ""
    hours = (end - start).total_seconds() / 3600.0
    stay, text = _stay(opened, last, hours), ""
    level = opened.material.property("water_saturation_pct").value
    if last.place.strip().lower() == DRYER:
        left = 0.01 * stay.humidity_pct * level
        text = (
            f" The dryer's air of {stay.humidity_pct:.2g} % humidity leaves {left:.2g} % water, however long."
        )
    pace = winding_pace(
        50.0,
        opened.machine.filament_diameter_mm,
        opened.material.property("water_diffusivity_m2_s").value,
        0.01 * level,
        opened.material.property("density_g_cm3").value,
        temperature_c=stay.temperature_c,
    )
    depth = pace.depth_in_a_day_mm * (hours / 24.0) ** 0.5
    band = f"{water.value_pct:.2g} % water ({water.low_pct:.2g} to {water.high_pct:.2g} %)"
    reach = f"this stay has reached about {depth:.2g} mm into a winding (to a factor of two)"
    return f"{text} By the moisture model a strand outside now holds {band}; {reach}."


def waters_of(opened: OpenCampaign) -> dict[str, dict[str, float]]:
    """Return the water at the start of each build whose spool and start were logged: `value`, `low`, `high`. [%]"""
    started = {fact.build: str(fact.value) for fact in opened.store.build_facts() if fact.name == "started"}
    intervals = opened.store.exposures()
    found = {}
    for build in opened.store.builds():
        if build.label in started and build.spool:
            mine = [item for item in intervals if item.spool == build.spool]
            water = water_of(opened, mine, datetime.fromisoformat(started[build.label]))
            if water is not None:
                found[build.label] = {"value": water.value_pct, "low": water.low_pct, "high": water.high_pct}
    return found


def waters_at_print(opened: OpenCampaign) -> dict[str, float]:
    """
    Return the water of each build at its start, where the campaign's own spool was weighed and exposure is known. [%]

    Notes
    -----
    By the logged stays of its spool; else from its hours out of the dryer, beginning with the twin's dried spool.
    """
    weighed = any(
        item.kind == "moisture" and item.numbers["applies_to"] == "strand" for item in opened.findings
    )
    if not weighed:
        return {}
    found = {label: water["value"] for label, water in waters_of(opened).items()}
    for build in opened.store.builds():
        if build.label not in found and build.exposure_h is not None:
            found[build.label] = water_after_hours(opened, build.exposure_h, build.humidity_pct)
    return found


def water_after_hours(opened: OpenCampaign, hours: float, humidity_pct: float | None) -> float:
    """Return the water of a dried strand after hours in a room; None takes the twin's humidity. [%]"""
    rate, level, activation = (opened.material.property(name).value for name in KNOWN)
    pace = float(rate_factor(np.array([ROOM_C]), 1e3 * activation)[0])
    room = ROOM_PCT if humidity_pct is None else humidity_pct
    radius = 0.5e-3 * opened.machine.filament_diameter_mm
    dried = ASSUMED.dry_humidity * level
    return float(water_after_exposure(3600.0 * hours, dried, level, 0.01 * room, rate * pace, radius))
