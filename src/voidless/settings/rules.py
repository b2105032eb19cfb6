"""
The one table of rules that settings must keep.

A rule compares a quantity of the settings with a limit that machine, material or other settings set. The
same table serves single settings (errors with words) and columns (true or false).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from math import inf, isnan
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.machines.types import Machine
from voidless.materials.types import Material
from voidless.quantities import QUANTITIES, Role, names
from voidless.settings.geometry import derived

__all__ = ["Ground", "Rule", "broken", "kept", "rules"]

Floats = NDArray[np.float64]
Columns = Mapping[str, Any]

_SLACK = 1e-9  # relative; 0.8 x 0.4 is 0.32000000000000006, and snapped levels end in such digits


@dataclass(frozen=True)
class Ground:
    """What limits the settings: machine, material and a campaign's own rate limit. [mm3/s]"""

    material: Material
    machine: Machine
    rate_limit: float | None = None


@dataclass(frozen=True)
class Rule:
    """
    One rule.

    Attributes
    ----------
    settings : tuple of str
        Settings that it reads, the one to blame first.
    name, unit : str
        What is compared, as an error names it.
    value : callable
        Columns to the compared quantity.
    low, high : callable or float
        Limits, both included: numbers, or columns to numbers.
    limit : str
        Why that is the limit.
    remedy : str
        What to do about it.
    whole : bool
        Whether the value must be a whole number.
    """

    settings: tuple[str, ...]
    name: str
    unit: str
    value: Callable[[Columns], Any]
    low: Callable[[Columns], Any] | float
    high: Callable[[Columns], Any] | float
    limit: str
    remedy: str
    whole: bool = False

    def bounds(self, columns: Columns) -> tuple[Any, Any]:
        """Return both limits. [unit]"""
        low = self.low(columns) if callable(self.low) else self.low
        high = self.high(columns) if callable(self.high) else self.high
        return low, high

    def holds(self, columns: Columns) -> NDArray[np.bool_]:
        """Return where the rule is kept; what is not finite does not keep it."""
        with np.errstate(invalid="ignore", over="ignore"):  # 0 x inf: refused below, not worth a warning
            value = np.asarray(self.value(columns), dtype=float)
            low, high = self.bounds(columns)
            slack = _SLACK * np.maximum(1.0, np.abs(value))
            kept = (value >= np.asarray(low) - slack) & (value <= np.asarray(high) + slack)
        kept &= np.isfinite(value)
        if self.whole:
            kept &= value == np.round(value)
        return np.asarray(kept)


def rules(ground: Ground) -> tuple[Rule, ...]:
    """Return every rule that a machine, a material and a campaign's limits set."""
    return (
        *_possible(),
        *_machine_rules(ground.machine),
        *_material_rules(ground.material),
        *_rate_rules(ground),
    )


def kept(columns: Columns, ground: Ground) -> NDArray[np.bool_]:
    """Return where all rules are kept, of the shape of the columns."""
    shape = np.broadcast_shapes(*(np.shape(column) for column in columns.values()))
    result = np.ones(shape, dtype=bool)
    for rule in rules(ground):
        result &= rule.holds(columns)
    return result


def broken(settings: Mapping[str, float], ground: Ground) -> Iterator[Rule]:
    """Yield the rules that a set of settings breaks; a rule whose settings are not all given is left out."""
    no_number: set[str] = set()
    for rule in rules(ground):
        if no_number.intersection(rule.settings) or not all(name in settings for name in rule.settings):
            continue
        if not rule.holds(settings):
            no_number.update(name for name in rule.settings if isnan(settings[name]))  # said once is enough
            yield rule


def _of(name: str) -> Callable[[Columns], Any]:
    return lambda columns: columns[name]


def _single(name: str, low: float, high: float, limit: str, remedy: str, whole: bool = False) -> Rule:
    unit = QUANTITIES[name].unit
    return Rule((name,), name, "" if unit == "1" else unit, _of(name), low, high, limit, remedy, whole)


def _possible() -> list[Rule]:
    found = []
    for name in names(Role.SETTING):
        known = QUANTITIES[name]
        limit = "a whole number in the range of entry" if known.integer else "the range of entry"
        found.append(_single(name, known.low, known.high, limit, "Correct the value.", known.integer))
    return found


def _machine_rules(machine: Machine) -> list[Rule]:
    nozzle, name = machine.nozzle_diameter_mm, machine.name
    chamber = machine.chamber_max_c
    speed = min(machine.speed_max_mm_s[:2])
    ratio = "{} to {} x nozzle_diameter_mm {:g}"
    return [
        _single("nozzle_c", -inf, machine.nozzle_max_c, f"the hot end of {name}", "Lower it."),
        _single("bed_c", -inf, machine.bed_max_c, f"the bed of {name}", "Lower it."),
        _single(
            "chamber_c",
            -inf,
            chamber,
            f"the chamber of {name}" if chamber else f"{name} heats no chamber",
            "Lower it." if chamber else "Leave it at 0, or name a machine with a heated chamber.",
        ),
        _single(
            "fan_pct",
            -inf,
            100.0 if machine.fan else 0.0,
            "full duty" if machine.fan else f"{name} has no part-cooling fan",
            "Lower it.",
        ),
        _single(
            "layer_mm",
            0.15 * nozzle,
            0.8 * nozzle,
            ratio.format("0.15", "0.8", nozzle),
            "Change it, or name a machine with another nozzle.",
        ),
        _single(
            "width_mm",
            0.8 * nozzle,
            2.0 * nozzle,
            ratio.format("0.8", "2", nozzle),
            "Change it, or name a machine with another nozzle.",
        ),
        _single("speed_mm_s", -inf, speed, f"the slower of the axes x and y of {name}", "Lower it."),
        Rule(
            ("width_mm", "layer_mm"),
            "width_mm",
            "mm",
            _of("width_mm"),
            _of("layer_mm"),
            inf,
            "layer_mm: a bead is at least as wide as thick",
            "Widen the bead or thin the layer.",
        ),
    ]


def _material_rules(material: Material) -> list[Rule]:
    remedy = f"Change it, or state what your grade of {material.name} stands."
    return [
        _single(
            name,
            low,
            high,
            f"the range in which {material.name} melts and lasts"
            if name == "nozzle_c"
            else f"the range of {material.name}",
            remedy,
        )
        for name, (low, high) in material.limits.items()
    ]


def _rate_rules(ground: Ground) -> list[Rule]:
    machine = ground.machine
    limits = [
        (machine.max_rate_mm3_s, f"what the hot end of {machine.name} melts"),
        (
            machine.speed_max_mm_s[3] * machine.filament_area_mm2,
            f"what the drive of {machine.name} feeds at {machine.speed_max_mm_s[3]:g} mm/s",
        ),
    ]
    if ground.rate_limit is not None:
        limits.append((ground.rate_limit, "the campaign's limit rate_mm3_s"))
    return [
        Rule(
            ("speed_mm_s", "layer_mm", "width_mm", "flow_pct"),
            "rate_mm3_s",
            "mm3/s",
            lambda columns: derived(columns)["rate_mm3_s"],
            -inf,
            limit,
            words,
            "Lower speed_mm_s, layer_mm, width_mm or flow_pct.",
        )
        for limit, words in limits
    ]
