"""
Corrections of estimated times by plans: what one layer really takes, over what the closed form says.

Used where the closed form is known to be off (`CHECKED` names where it is not). A few layers of a specimen are planned
by the real planner at anchors of pitch and speed that stand around what is asked; between them the ratio is drawn
straight over the logarithms. Plans are remembered as long as the program runs.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import product
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from voidless.beads.stadium import full_fill_pitch
from voidless.specimens.catalogue import specimen
from voidless.toolpath.estimate_parts import MotionTimes, Rows
from voidless.toolpath.fill.types import Fill, Pattern
from voidless.toolpath.motion import build_time
from voidless.toolpath.recorder import Recorder
from voidless.toolpath.sections import Section, plan_sections

if TYPE_CHECKING:
    from voidless.machines import Machine

__all__ = ["CHECKED", "FEWEST_CONTOURS", "planned_ratios"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Closed = Callable[[str, Rows, MotionTimes], Floats]

CHECKED = frozenset(
    {
        "bar_across", "bar_xy", "bar_xz", "bar_z", "block", "density_cube", "impact_bar", "iso527_1bb_xy",
        "iso527_5b_xy", "light_guide", "plaque", "wall_xy",
    }
)  # fmt: skip
"""Kinds whose closed form agrees with plans to 2 % with `FEWEST_CONTOURS` and more (docs/methods/motion.md)."""
FEWEST_CONTOURS = 2.0

_LAYER_MM = 0.2
_PITCH_MM, _PITCH_STEP, _COARSE = 0.4, 1.025, 2
"""Anchors of pitch; with two contours and more every other one: there ways aside change less from one to the next."""
_SPEED_MM_S, _SPEED_STEP = 10.0, 2.0
_OVERLAP_PCT = 20.0
_SLANTED_DEG = 45
"""Stands for every raster that runs neither along nor across."""
_HEIGHTS = 24
"""Layers that stand for all, evenly over the height."""


@dataclass(frozen=True)
class _Anchor:
    """Where a layer is planned; `machine` is told by `limits`."""

    kind: str
    contours: int
    angle: int
    pitch: int
    speed: int
    limits: tuple[float, ...]
    machine: Machine = field(compare=False)

    @property
    def pitch_mm(self) -> float:
        return _PITCH_MM * _PITCH_STEP**self.pitch

    @property
    def width_mm(self) -> float:
        return self.pitch_mm + _LAYER_MM - float(full_fill_pitch(_LAYER_MM, _LAYER_MM))

    @property
    def speed_mm_s(self) -> float:
        return _SPEED_MM_S * _SPEED_STEP**self.speed

    @property
    def row(self) -> Rows:
        """Settings as the closed form takes them."""
        numbers = (
            _LAYER_MM, self.pitch_mm, self.width_mm, self.contours, _OVERLAP_PCT, self.angle, 0.0, self.speed_mm_s,
        )  # fmt: skip
        return Rows(*(np.array([float(number)]) for number in numbers))


@lru_cache(maxsize=2000)
def _patterns(
    name: str, contours: int, angle: int, pitch_mm: float, width_mm: float, nozzle_mm: float
) -> tuple[Pattern, ...]:
    """Return the layers that stand for all of a kind, as they are planned."""
    kind = specimen(name).sized(pitch_mm)
    known: dict[bytes, object] = {}
    heights = (np.arange(_HEIGHTS) + 0.5) / _HEIGHTS * kind.height_mm
    regions = [kind.region(height) for height in heights.tolist()]
    regions = [known.setdefault(region.wkb, region) for region in regions]
    reference = kind.gauge_mm[0] if kind.gauge_mm else None
    sections = [Section(region, angle + kind.raster_offset_deg, reference) for region in regions]
    return tuple(plan_sections(sections, Fill(pitch_mm, width_mm, contours, _OVERLAP_PCT, nozzle_mm)))


@lru_cache(maxsize=20_000)
def _layer_seconds(anchor: _Anchor) -> float:
    """Return what a layer takes as it is planned, the way from the one below included. [s]"""
    machine = anchor.machine
    patterns = _patterns(
        anchor.kind,
        anchor.contours,
        anchor.angle,
        anchor.pitch_mm,
        anchor.width_mm,
        machine.nozzle_diameter_mm,
    )
    settings = {
        "layer_mm": _LAYER_MM, "width_mm": anchor.width_mm, "speed_mm_s": anchor.speed_mm_s, "flow_pct": 100.0,
        "fan_pct": 0.0, "nozzle_c": math.nan,
    }  # fmt: skip
    recorder, centre = Recorder(settings, machine), (machine.bed_x_mm / 2.0, machine.bed_y_mm / 2.0)
    for number, pattern in enumerate((patterns[0], *patterns)):  # the first way leads from the origin
        recorder.section(pattern, centre, 0, number)
    return float(build_time(recorder.finish(), machine).per_layer_s[1:].mean())


def _grid(values: Floats, first: float, step: float, stride: Integers) -> tuple[Integers, Floats]:
    """Return the anchor below each value, every so many steps, and how far it lies on the way to the next, 0 to 1."""
    place = np.log(values / first) / math.log(step)
    below = stride * np.floor(place / stride + 1e-9).astype(np.int64)
    return below, np.clip((place - below) / stride, 0.0, 1.0)


def planned_ratios(
    name: str,
    rows: Rows,
    angles: tuple[Floats, Floats],
    motion: MotionTimes,
    machine: Machine,
    closed: Closed,
) -> Floats:
    """
    Return what a layer of a specimen takes as planned over what the closed form says, `(n,)`. [1]

    Parameters
    ----------
    name : str
        Kind of specimen.
    rows : Rows
        Settings.
    angles : tuple of (n, k) float arrays
        Raster angles of each row and their weights. [deg], [1]
    motion, machine
        What moves.
    closed : callable
        The closed form of one layer alone: kind, rows and motion to seconds.
    """
    stride = np.where(rows.contours < FEWEST_CONTOURS, 1, _COARSE)
    pitch, on_pitch = _grid(rows.pitch, _PITCH_MM, _PITCH_STEP, stride)
    speed, on_speed = _grid(rows.speed, _SPEED_MM_S, _SPEED_STEP, np.ones_like(stride))
    turned = np.round(angles[0] % 180.0, 6)
    turned = np.where((turned == 0.0) | (turned == 90.0), turned, _SLANTED_DEG).astype(np.int64)
    limits = (*machine.speed_max_mm_s, machine.max_rate_mm3_s, *machine.acceleration_max_mm_s2, motion.bead,
              motion.travel, motion.travel_speed, motion.deviation, motion.draw_s, machine.nozzle_diameter_mm,
              machine.filament_diameter_mm)  # fmt: skip

    def ratio(contours: int, angle: int, at_pitch: int, at_speed: int) -> float:
        anchor = _Anchor(name, contours, angle, at_pitch, at_speed, limits, machine)
        return _layer_seconds(anchor) / float(closed(name, anchor.row, motion)[0])

    total = np.zeros(len(rows.pitch))
    for number, (more_pitch, more_speed) in product(range(turned.shape[1]), product((0, 1), (0, 1))):
        share = np.where(more_pitch, on_pitch, 1.0 - on_pitch) * np.where(
            more_speed, on_speed, 1.0 - on_speed
        )
        share = share * angles[1][:, number]
        used = np.flatnonzero(share > 0.0)
        keys = np.column_stack(
            [
                rows.contours.astype(np.int64),
                turned[:, number],
                pitch + more_pitch * stride,
                speed + more_speed,
            ]
        )[used]
        different, which = np.unique(keys, axis=0, return_inverse=True)
        found = np.array([ratio(*key) for key in different.tolist()])
        total[used] += share[used] * found[which.ravel()]
    return total
