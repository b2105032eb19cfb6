"""Material and machine as a campaign's own readings say: measured numbers in place of the library's."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import fmean, variance

from voidless.machines import Machine
from voidless.materials import Material
from voidless.materials.evidence import STATED
from voidless.materials.properties import PROPERTIES
from voidless.materials.types import Property
from voidless.measure.qualification.realised import RealisedLine
from voidless.workflows.readings import Finding

__all__ = ["OwnGround", "as_command", "own_ground", "realised_by"]

_REACH = 1.959964
"""Standard uncertainties in the half-width of a 95 % interval. [1]"""
_DRIVE = 0.01
"""Standard deviation of the logarithm of what a drive feeds over what it should, where only the filament's diameter was
measured. Assumed: half of what the twin doubts of diameter and drive together."""
_OFFSETS = {"nozzle_c": "nozzle_offset_k", "flow_pct": "flow_offset_log"}
"""Setting and the constant of the twin that says how it is realised."""


@dataclass(frozen=True)
class OwnGround:
    """
    Ground facts of a campaign.

    Attributes
    ----------
    material, machine : Material, Machine
        With what was measured in place of what the library says.
    notes : tuple of str
        Where each measured number came from, and what was measured and is not used.
    """

    material: Material
    machine: Machine
    notes: tuple[str, ...]


@dataclass(frozen=True)
class _Number:
    """A mean with its standard deviation, and where it came from."""

    mean: float
    sd: float
    source: str


def own_ground(
    material: Material,
    machine: Machine,
    findings: Sequence[Finding],
    ranges: Mapping[str, tuple[float, float]],
) -> OwnGround:
    """
    Return material and machine with what was measured on this campaign's spools and on this very machine.

    Parameters
    ----------
    material, machine : Material, Machine
        As library and campaign file state them.
    findings : sequence of Finding
        Those that rule.
    ranges : mapping of str to (float, float)
        Between which each setting will be commanded. [unit of the setting]

    Notes
    -----
    Several strands: mean of the logarithms (of the saturations); their doubts are not averaged away, for what is common
    to them is not known, and their scatter is added. A value that the campaign's own file states stands before one that
    was measured, and that is said. Settings stay as commanded: what a machine makes of them are constants of the twin.
    """
    notes: list[str] = []
    strands = [item for item in findings if item.kind == "moisture"]
    changed = {}
    for name, number in _water(strands, notes).items():
        found = _measured_property(material, name, number, notes)
        if found is not None:
            changed[name] = found
    offsets = {}
    for name, number in _offsets(findings, machine, ranges, notes).items():
        offsets[name] = (number.mean, number.sd)
        notes.append(f"{name} {number.mean:.3g} ± {number.sd:.2g}: your machine, {number.source}")
    machine = _with_stall(_with_lag(machine, findings, notes), findings, notes)
    return OwnGround(
        replace(material, properties={**material.properties, **changed}) if changed else material,
        replace(machine, offsets={**machine.offsets, **offsets}) if offsets else machine,
        tuple(notes),
    )


# ---- spool


def _water(strands: Sequence[Finding], notes: list[str]) -> dict[str, _Number]:
    """Return the logarithm of the diffusivity [ln(m²/s)] and the saturation [%] of weighed strands."""
    used = [item for item in strands if item.numbers["applies_to"] == "strand"]
    notes += [
        f"spool {item.subject or '-'} was weighed as wound ({item.source}): no property of the strand, not used"
        for item in strands
        if item not in used
    ]
    rates = [
        _Number(
            math.log(item.numbers["water_diffusivity_m2_s"]),
            math.log(item.numbers["water_diffusivity_high_m2_s"] / item.numbers["water_diffusivity_low_m2_s"])
            / (2 * _REACH),
            _spool(item),
        )
        for item in used
    ]
    levels = [
        _Number(
            item.numbers["water_saturation_pct"],
            item.numbers["water_saturation_uncertainty_pct"] or 0.0,
            _spool(item),
        )
        for item in used
        if item.numbers["water_saturation_pct"] is not None
    ]
    pooled = {"water_diffusivity_m2_s": _pooled(rates), "water_saturation_pct": _pooled(levels)}
    return {name: number for name, number in pooled.items() if number is not None}


def _spool(item: Finding) -> str:
    named = f"your spool {item.subject}" if item.subject else "your spool"
    return f"{named}, weighed ({item.source})"


def _pooled(numbers: Sequence[_Number]) -> _Number | None:
    """Return the mean; its doubt is that of one, and the scatter between them."""
    if not numbers:
        return None
    means = [number.mean for number in numbers]
    between = variance(means) if len(means) > 1 else 0.0
    sd = math.sqrt(fmean([number.sd**2 for number in numbers]) + between)
    return _Number(fmean(means), sd, "; ".join(dict.fromkeys(number.source for number in numbers)))


def _measured_property(material: Material, name: str, number: _Number, notes: list[str]) -> Property | None:
    """Return a property as measured; None where the campaign's file rules, or the value is impossible."""
    known = PROPERTIES[name]
    log = name == "water_diffusivity_m2_s"
    value = math.exp(number.mean) if log else number.mean
    if material.has(name) and material.property(name).valid == STATED:
        notes.append(
            f"{name} {value:.3g} was measured ({number.source}) and is not used: campaign.toml states "
            f"{material.property(name).value:.3g}"
        )
        return None
    if not max(known.low, 0.0) < value <= known.high:
        notes.append(f"{name} {value:.3g} ({number.source}) is impossible and not used")
        return None
    spread, kind = (math.exp(_REACH * number.sd), "factor") if log else (number.sd, "sd")
    words = f"95 % within a factor of {spread:.3g}" if log else f"± {spread:.2g}"
    notes.append(f"{name} {value:.3g} {known.unit}, {words}: {number.source}")
    return Property(name, value, known.unit, spread, kind, "23 degC", number.source, "derived")


# ---- machine


def realised_by(finding: Finding) -> RealisedLine:
    """Return the line from commands to what was read, of a finding of kind `realised`."""
    names = RealisedLine.__dataclass_fields__
    return RealisedLine(**{name: value for name, value in finding.numbers.items() if name in names})


def _offsets(
    findings: Sequence[Finding],
    machine: Machine,
    ranges: Mapping[str, tuple[float, float]],
    notes: list[str],
) -> dict[str, _Number]:
    """Return the constants of the twin that were measured; true flow by weighing comes before a diameter alone."""
    found: dict[str, _Number] = {}
    for item in findings:
        if item.kind == "filament":
            found.setdefault("flow_offset_log", _by_diameter(item, machine))
    for item in findings:
        if item.kind == "feed":
            found["flow_offset_log"] = _by_weighing(item)
    for item in findings:
        if item.kind == "realised" and item.subject in _OFFSETS:
            number = _by_line(item, ranges.get(item.subject), notes)
            if number is not None:
                found[_OFFSETS[item.subject]] = number
    return found


def _by_diameter(item: Finding, machine: Machine) -> _Number:
    share = item.numbers["area_mm2"] / machine.filament_area_mm2
    own = item.numbers["area_uncertainty_mm2"] / item.numbers["area_mm2"]
    return _Number(math.log(share), math.hypot(own, _DRIVE), f"its filament's diameter ({item.source})")


def _by_weighing(item: Finding) -> _Number:
    """Return the offset over the rates that the hot end keeps up with; the density's doubt is common to them."""
    said, most = item.numbers, item.numbers["rate_limit_mm3_s"]
    number = _pooled(
        [
            _Number(math.log(0.01 * flow), unsure / flow, f"extrusions weighed ({item.source})")
            for rate, flow, unsure in zip(
                said["rate_mm3_s"], said["flow_pct"], said["uncertainty_pct"], strict=True
            )
            if most is None or rate <= most
        ]
    )
    assert number is not None  # the limit is one of the rates
    return number


def _by_line(item: Finding, between: tuple[float, float] | None, notes: list[str]) -> _Number | None:
    """Return the offset in the middle of the commands to come; what a slope changes towards their ends is doubt."""
    line = realised_by(item)
    low, high = between or (line.low, line.high)
    low, high = max(low, line.low), min(high, line.high)
    if low > high:
        notes.append(
            f"{item.subject} was read from {line.low:g} to {line.high:g} ({item.source}) and the campaign goes "
            "elsewhere: not used"
        )
        return None
    middle = 0.5 * (low + high)
    value, unsure = line.at(middle)
    slope = (line.slope - 1.0) * (high - low) / 12**0.5
    if item.subject == "flow_pct":
        return _Number(
            math.log(value / middle), math.hypot(unsure, slope) / middle, f"flow read ({item.source})"
        )
    return _Number(value - middle, math.hypot(unsure, slope), f"thermometer read ({item.source})")


def _with_lag(machine: Machine, findings: Sequence[Finding], notes: list[str]) -> Machine:
    """Return the machine with the pressure lag that was measured last, unless its file states one."""
    found = [item for item in findings if item.kind == "lag"]
    if not found:
        return machine
    value, unsure, source = found[-1].numbers["lag_s"], found[-1].numbers["uncertainty_s"], found[-1].source
    if not machine.lag_assumed:
        notes.append(f"lag_s {value:.3g} was measured ({source}) and is not used: {machine.notes['lag_s']}")
        return machine
    said = f"lag_s {value:.3g} ± {unsure:.2g} s: your machine, bead widths ({source})"
    notes.append(said)
    return replace(machine, lag_s=value, notes={**machine.notes, "lag_s": said})


def _with_stall(machine: Machine, findings: Sequence[Finding], notes: list[str]) -> Machine:
    """Return the machine with the duty at which its fan was read to stand still."""
    found = [item for item in findings if item.kind == "fan" and item.numbers["stall_pct"] > 0.0]
    if not found:
        return machine
    stall = found[-1].numbers["stall_pct"]
    notes.append(f"fan_pct up to {stall:g} is no air: your machine's fan stood still ({found[-1].source})")
    return replace(machine, fan_stall_pct=stall)


def as_command(machine: Machine, setting: str, realised: float) -> float:
    """
    Return the command that the machine, as it was measured, turns into a realised value.

    Parameters
    ----------
    machine : Machine
        With its measured offsets.
    setting : str
        Name of the setting.
    realised : float
        What it really was in a build. [unit of the setting]

    Notes
    -----
    The twin adds the machine's offset to every setting; a realised value that went in unchanged would get it twice.
    """
    name = _OFFSETS.get(setting, "")
    if name not in machine.offsets:
        return realised
    mean = machine.offsets[name][0]
    return realised - mean if name.endswith("_k") else realised / math.exp(mean)
