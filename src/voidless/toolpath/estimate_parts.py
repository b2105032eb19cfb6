"""Motion, settings and sections as the estimate of build times uses them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from voidless.specimens.kind import SpecimenKind
from voidless.specimens.outline import shape_area
from voidless.toolpath.recorder import RETRACT_ABOVE_MM

if TYPE_CHECKING:
    from voidless.machines import Machine

__all__ = ["MotionTimes", "Rows", "Section", "different_sections", "trapezoid"]

Floats = NDArray[np.float64]

_COARSE_MM = 0.1


def trapezoid(way: Floats, start: Floats, end: Floats, cruise: Floats, acceleration: float) -> Floats:
    """Return the time between two junction speeds; those too fast for the way are lowered. [s]"""
    start, end = np.minimum(start, cruise), np.minimum(end, cruise)
    reach = 2.0 * acceleration * way
    start, end = (
        np.sqrt(np.minimum(start**2, end**2 + reach)),
        np.sqrt(np.minimum(end**2, start**2 + reach)),
    )
    peak = np.minimum(cruise, np.sqrt(acceleration * way + (start**2 + end**2) / 2.0))
    level = np.maximum(way - (2.0 * peak**2 - start**2 - end**2) / (2.0 * acceleration), 0.0)
    cruising = np.divide(level, peak, out=np.zeros_like(level), where=peak > 0.0)  # a way of 0 takes no time
    return np.asarray(cruising + (2.0 * peak - start - end) / acceleration)


@dataclass(frozen=True)
class MotionTimes:
    """The machine's motion as the estimate uses it."""

    bead: float
    travel: float
    travel_speed: float
    deviation: float
    draw_s: float
    z_speed: float
    z_acceleration: float

    @classmethod
    def of(cls, machine: Machine) -> MotionTimes:
        """Return that of a machine."""
        axes = machine.acceleration_max_mm_s2
        draw_speed = min(machine.retract_speed_mm_s, machine.speed_max_mm_s[3])
        way, zero = np.array([machine.retract_mm]), np.zeros(1)
        draw = trapezoid(way, zero, zero, np.array([draw_speed]), axes[3])
        return cls(
            min(machine.print_acceleration_mm_s2, axes[0], axes[1]),
            min(machine.travel_acceleration_mm_s2, axes[0], axes[1]),
            min(machine.travel_speed_mm_s, *machine.speed_max_mm_s[:2]),
            machine.junction_deviation_mm,
            2.0 * float(draw[0]),
            min(machine.travel_speed_mm_s, machine.speed_max_mm_s[2]),
            min(machine.travel_acceleration_mm_s2, axes[2]),
        )

    def junction(self, cosine: Floats) -> Floats:
        """Return the speed over a junction of which the cosine of the turn is given. [mm/s]"""
        half = np.sqrt(np.clip((1.0 + cosine) / 2.0, 0.0, 1.0))
        return np.asarray(np.sqrt(self.bead * self.deviation * half / np.maximum(1.0 - half, 1e-12)))

    def travels(self, way: Floats) -> Floats:
        """Return the time of travels between stops, drawn back where they are long. [s]"""
        zero = np.zeros_like(way)
        time = trapezoid(way, zero, zero, np.full_like(way, self.travel_speed), self.travel)
        return np.asarray(time + np.where(way > RETRACT_ABOVE_MM, self.draw_s, 0.0))


@dataclass(frozen=True)
class Rows:
    """Settings of `n` rows as the estimate uses them; all `(n,)`."""

    layer: Floats
    pitch: Floats
    width: Floats
    contours: Floats
    overlap: Floats
    angle: Floats
    step: Floats
    speed: Floats

    def take(self, chosen: Any) -> Rows:
        """Return the rows chosen."""
        return Rows(*(getattr(self, name)[chosen] for name in self.__dataclass_fields__))


@dataclass(frozen=True)
class Section:
    """A section that `share` of a specimen's layers have: vertices, mitre vectors and corners."""

    vertices: Floats
    mitre: Floats
    cosine: Floats
    half_width: float
    room: float
    share: float
    reference: float | None


def _section(outline: Floats, share: float, kind: SpecimenKind) -> Section:
    from shapely import Polygon, maximum_inscribed_circle

    coarse = np.asarray(Polygon(outline).simplify(_COARSE_MM).exterior.coords, dtype=float)[:-1]
    if shape_area(coarse) < 0.0:
        coarse = coarse[::-1]
    coarse = coarse * math.sqrt(shape_area(outline) / shape_area(coarse))
    edge = np.roll(coarse, -1, axis=0) - coarse
    unit = edge / np.hypot(*edge.T)[:, None]
    normal = np.column_stack([-unit[:, 1], unit[:, 0]])  # inwards, since counter-clockwise
    before = np.roll(normal, 1, axis=0)
    mitre = (normal + before) / (1.0 + np.sum(normal * before, axis=1))[:, None]
    cosine = np.sum(unit * np.roll(unit, 1, axis=0), axis=1)
    narrow = kind.gauge_mm[0] if kind.gauge_mm and len(coarse) > 4 else float(np.ptp(coarse, axis=0).min())
    reference = kind.gauge_mm[0] if kind.gauge_mm else None
    room = float(maximum_inscribed_circle(Polygon(coarse), _COARSE_MM / 10.0).length)
    return Section(coarse, mitre, cosine, narrow / 2.0, room, share, reference)


def different_sections(kind: SpecimenKind) -> list[Section]:
    """Return the different sections of a kind; slopes are sampled at two Gauss points."""
    found: dict[bytes, tuple[Floats, float]] = {}
    for low, high in zip(kind.levels, kind.levels[1:], strict=False):
        rise = high.height_mm - low.height_mm
        points = (0.5,) if np.array_equal(low.outline, high.outline) else (0.2113248654, 0.7886751346)
        for point in points:
            outline = np.round(low.outline + point * (high.outline - low.outline), 9)
            share = rise / len(points) / kind.height_mm + found.get(outline.tobytes(), (outline, 0.0))[1]
            found[outline.tobytes()] = (outline, share)
    return [_section(outline, share, kind) for outline, share in found.values()]
