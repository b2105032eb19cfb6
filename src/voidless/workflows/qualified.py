"""What a qualified machine makes of commanded settings: realised beside commanded, and what it cannot do."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from voidless.campaign.types import Build
from voidless.errors import InputError
from voidless.measure.qualification.fan import FanCurve
from voidless.quantities import QUANTITIES
from voidless.records.facts import RecordedSetting
from voidless.settings import derived
from voidless.workflows.opening import OpenCampaign
from voidless.workflows.own_ground import realised_by
from voidless.workflows.readings import Finding

__all__ = ["machine_notes", "notes_of", "realised_of", "realised_words"]

_CLEAR = 2.0
"""Standard uncertainties from which on a gap is said to be off. [1]"""


def realised_of(
    opened: OpenCampaign, build: Build, logged: Sequence[RecordedSetting]
) -> list[dict[str, Any]]:
    """
    Return what the settings of a build really were, as far as anybody knows.

    Parameters
    ----------
    opened : OpenCampaign
        The campaign.
    build : Build
        A build of one run.
    logged : sequence
        What was logged of all builds: `Store.realised`.

    Returns
    -------
    realised : list of dict
        `setting`, `commanded`, `realised`, `sd` (None where nobody said), `unit`, `source`, `logged`: whether it was
        logged for this very build; else it is what the machine's readings expect. [unit of the setting]
    """
    commanded = {**opened.fixed, **build.settings}
    found: dict[str, tuple[float, float | None, str, bool]] = {}
    for item in opened.findings:
        expected = _expected(item, commanded)
        if expected is not None:
            name, value, sd = expected
            found[name] = (value, sd, f"the machine's readings ({item.source})", False)
    for fact in logged:
        if fact.build == build.label and fact.name in commanded:
            found[fact.name] = (fact.value, fact.sd, fact.source or "logged", True)
    return [
        {
            "setting": name,
            "commanded": commanded[name],
            "realised": value,
            "sd": sd,
            "unit": QUANTITIES[name].unit,
            "source": source,
            "logged": by_person,
        }
        for name, (value, sd, source, by_person) in found.items()
    ]


def _expected(item: Finding, commanded: Mapping[str, float]) -> tuple[str, float, float] | None:
    """Return setting, value and uncertainty that a finding expects; None where it does not speak of the commands."""
    if item.kind == "realised" and item.subject in commanded:
        try:
            return (item.subject, *realised_by(item).at(commanded[item.subject]))
        except InputError:
            return None  # outside the readings; the notes of the machine say so
    if item.kind == "feed":
        said, rate = item.numbers, float(derived(commanded)["rate_mm3_s"])
        if said["rate_mm3_s"][0] <= rate <= said["rate_mm3_s"][-1]:
            share, unsure = (
                0.01 * float(np.interp(rate, said["rate_mm3_s"], said[name]))
                for name in ("flow_pct", "uncertainty_pct")
            )
            return "flow_pct", commanded["flow_pct"] * share, commanded["flow_pct"] * unsure
    return None


def realised_words(rows: list[dict[str, Any]]) -> str:
    """Return realised beside commanded in one line for people; empty where nothing is known."""
    return "; ".join(
        f"{row['setting']} {row['commanded']:g} commanded, {row['realised']:.4g}"
        + (f" ± {row['sd']:.2g}" if row["sd"] else "")
        + f" {'really' if row['logged'] else 'expected'} ({row['source']})"
        for row in rows
    )


def machine_notes(opened: OpenCampaign, settings: Mapping[str, float]) -> list[str]:
    """
    Return what the machine, as it was measured, makes of settings: a fan that stalls, a rate it falls short of, a gap.

    Parameters
    ----------
    opened : OpenCampaign
        The campaign.
    settings : mapping of str to float
        A complete set. [unit of the setting]
    """
    notes = []
    for item in opened.findings:
        if item.kind == "fan":
            notes += _fan(item, settings["fan_pct"])
        elif item.kind == "feed":
            notes += _rate(item, float(derived(settings)["rate_mm3_s"]))
        elif item.kind == "gap":
            notes += _gap(item, settings["layer_mm"])
        elif item.kind == "realised" and item.subject in settings:
            notes += _outside(item, settings[item.subject])
    return notes


def notes_of(opened: OpenCampaign, rows: Sequence[Mapping[str, Any]]) -> list[str]:
    """Return what the machine, as it was measured, makes of proposed builds; what holds for all of them once."""
    told: dict[str, list[str]] = {}
    for row in rows:
        for note in machine_notes(opened, opened.settings(row["settings"])):
            told.setdefault(note, []).append(row["build"])
    return [note if len(told[note]) == len(rows) else f"{', '.join(told[note])}: {note}" for note in told]


def _fan(item: Finding, duty: float) -> list[str]:
    curve = FanCurve(**{name: item.numbers[name] for name in FanCurve.__dataclass_fields__})
    still = (
        f"fan_pct {duty:g}: your fan stands still at {curve.stall_pct:g} % and turns at {curve.start_pct:g} %"
    )
    if 0.0 < duty <= curve.stall_pct:
        return [f"{still} ({item.source}): this is no air"]
    if 0.0 < duty < curve.start_pct:
        return [f"{still} ({item.source}); what it does in between nobody read"]
    return []


def _rate(item: Finding, rate: float) -> list[str]:
    most = item.numbers["rate_limit_mm3_s"]
    if most is None or rate <= most:
        return []
    return [f"rate {rate:.3g} mm3/s: your machine's flow falls short above {most:.3g} mm3/s ({item.source})"]


def _gap(item: Finding, layer: float) -> list[str]:
    """Return how far the zero of the nozzle is off, and what that does to a first layer of this height."""
    offset, unsure = item.numbers["offset_mm"], item.numbers["uncertainty_mm"]
    if not math.isfinite(offset) or abs(offset) <= _CLEAR * unsure:
        return []
    where, way, size = ("far from", "lower", "tall") if offset > 0 else ("close to", "raise", "short")
    off, gap = f"{abs(offset):.2g} mm", layer + offset
    fed = f"a first layer of {layer:g} mm is fed {100 * abs(offset) / gap:.0f} % " if gap > 0 else ""
    if fed:
        fed += f"{'less' if offset > 0 else 'more'} than it takes, and parts come out {off} too {size}"
    else:
        fed = f"the nozzle touches the bed at {layer:g} mm"
    found = f"first layer {abs(offset):.2g} ± {unsure:.1g} mm too {where} the bed ({item.source})"
    return [f"{found}: {way} the nozzle's zero by {off}; until then {fed}"]


def _outside(item: Finding, commanded: float) -> list[str]:
    try:
        realised_by(item).at(commanded)
    except InputError as fault:
        words = f"read at {fault.expected} ({item.source}); what it really is there is not known"
        return [f"{item.subject} {commanded:g}: {words}"]
    return []
