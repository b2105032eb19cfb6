"""Look-ahead motion compiled: `motion_arrays.run_arrays` move by move, for files of millions of moves."""

# mypy: disable-error-code="no-untyped-def, untyped-decorator, no-untyped-call, misc"
# ruff: noqa: C901 - compiled loops: one body each, and no tuples where two comparisons do

from __future__ import annotations

import math

import numpy as np
from numba import types

from voidless.beads.stadium import filament_area
from voidless.compiling import njit
from voidless.toolpath.motion_arrays import NO_LIMIT
from voidless.toolpath.moves import Kind, Moves

__all__ = ["run_compiled"]

_DWELL, _HOME = int(Kind.DWELL), int(Kind.HOME)
_NO_LIMIT = NO_LIMIT
_GIVEN, _MADE = types.Array(types.float64, 1, "A", readonly=True), types.Array(types.float64, 1, "C")
_KINDS = types.Array(types.int8, 1, "A", readonly=True)
# columns may be read-only and may repeat one number; one signature takes them all
_SIGNATURE = types.void(
    _KINDS, *(_GIVEN,) * 13, types.float64, _GIVEN, _GIVEN, *(types.float64,) * 3, _GIVEN, *(_MADE,) * 4
)


@njit(cache=True)
def _step(before, after):
    return max(abs(before), abs(after)) if before * after < 0.0 else abs(after - before)


@njit([_SIGNATURE], cache=True, nogil=True)
def _run(
    kind, x, y, z, begin, length, volume, speed, speed_factor, flow_factor, dwell, radius, stated, bend, area,
    speeds, rates, bead_rate, travel_rate, off, steps, time, cap, peak, acceleration,
):  # fmt: skip
    count = len(kind)
    arcs = len(bend) == count
    # directions at the end of the move before, rest at first
    lx, ly, lz, le = 0.0, 0.0, 0.0, 0.0
    moved, last_rate, last_cruise = False, 0.0, _NO_LIMIT
    px, py, pz = begin[0], begin[1], begin[2]
    for i in range(count):
        dx, dy, dz = x[i] - px, y[i] - py, z[i] - pz
        px, py, pz = x[i], y[i], z[i]
        e = volume[i] * flow_factor[i] / area
        alone = length[i] == 0.0
        way = abs(e) if alone else length[i]
        still = way == 0.0 or kind[i] == _DWELL or kind[i] == _HOME
        ax, ay, az, ae = 0.0, 0.0, 0.0, 0.0
        bx, by = 0.0, 0.0
        if still:
            way = 0.0
        else:
            ax, ay, az, ae = dx / way, dy / way, dz / way, e / way
            bx, by = ax, ay
            if arcs and bend[i] != 0.0:
                chord = math.hypot(dx, dy)
                level = math.sqrt(max(1.0 - az * az, 0.0)) / chord
                cosine, sine = math.cos(0.5 * bend[i]) * level, math.sin(0.5 * bend[i]) * level
                ax, ay = dx * cosine + dy * sine, dy * cosine - dx * sine
                bx, by = dx * cosine - dy * sine, dy * cosine + dx * sine
        sx, sy = max(abs(ax), abs(bx)), max(abs(ay), abs(by))
        sz, se = abs(az), abs(ae)
        cruise = _NO_LIMIT if still else speed[i] * speed_factor[i]
        rate = stated[i]
        if math.isnan(rate):
            rate = rates[3] if alone else bead_rate if volume[i] > 0.0 else travel_rate
        if sx > 0.0:
            cruise, rate = min(cruise, speeds[0] / sx), min(rate, rates[0] / sx)
        if sy > 0.0:
            cruise, rate = min(cruise, speeds[1] / sy), min(rate, rates[1] / sy)
        if sz > 0.0:
            cruise, rate = min(cruise, speeds[2] / sz), min(rate, rates[2] / sz)
        if se > 0.0:
            cruise, rate = min(cruise, speeds[3] / se), min(rate, rates[3] / se)
        cruise = min(cruise, math.sqrt(rate * radius[i]))
        squared = 0.0
        if len(steps):
            squared = math.inf
            for change, most in (
                (_step(lx, ax), steps[0]),
                (_step(ly, ay), steps[1]),
                (_step(lz, az), steps[2]),
                (_step(le, ae), steps[3]),
            ):
                if change > 0.0:
                    squared = min(squared, most / change)
            squared *= squared
        elif moved and not alone and not still:
            missing = 0.25 * ((ax - lx) ** 2 + (ay - ly) ** 2 + (az - lz) ** 2)
            half = min(0.5 * math.sqrt((ax + lx) ** 2 + (ay + ly) ** 2 + (az + lz) ** 2), 1.0)
            squared = math.inf
            if missing > 0.0:
                squared = min(last_rate, rate) * off * half * (1.0 + half) / missing
        cap[i] = min(squared, cruise * cruise, last_cruise * last_cruise)
        time[i], peak[i], acceleration[i] = way, cruise, rate
        lx, ly, lz, le = bx, by, az, ae
        moved, last_rate, last_cruise = not (alone or still), rate, cruise
    squared = 0.0
    if len(steps):
        squared = math.inf
        for change, most in (
            (abs(lx), steps[0]),
            (abs(ly), steps[1]),
            (abs(lz), steps[2]),
            (abs(le), steps[3]),
        ):
            if change > 0.0:
                squared = min(squared, most / change)
        squared *= squared
    cap[count] = min(squared, last_cruise * last_cruise)
    for i in range(count - 1, -1, -1):
        cap[i] = min(cap[i], cap[i + 1] + 2.0 * acceleration[i] * time[i])
    start, entry = cap[0], math.sqrt(cap[0])
    cap[0] = entry
    for i in range(count):
        way, rate = time[i], acceleration[i]
        end = min(cap[i + 1], start + 2.0 * rate * way)
        leave = math.sqrt(end)
        if way == 0.0:
            time[i], peak[i] = 0.0, 0.0
        else:
            most = min(peak[i], math.sqrt(rate * way + (start + end) / 2.0))
            level = max(way - (2.0 * most * most - start - end) / (2.0 * rate), 0.0)
            time[i] = (level / most if most > 0.0 else 0.0) + (2.0 * most - entry - leave) / rate
            peak[i] = most
        time[i] += dwell[i]
        cap[i + 1] = leave
        start, entry = end, leave


def run_compiled(
    moves: Moves,
    speed_mm_s: tuple[float, ...],
    acceleration_mm_s2: tuple[float, ...],
    bead_mm_s2: float,
    travel_mm_s2: float,
    deviation_mm: float,
    step_mm_s: tuple[float, ...] | None,
):
    """Return what `motion_arrays.run_arrays` returns."""
    count = len(moves)
    time, peak, acceleration = (np.empty(count) for _ in range(3))
    junction = np.empty(count + 1)
    bend = np.empty(0) if moves.bend_rad is None else moves.bend_rad
    _run(
        moves.kind.astype(np.int8, copy=False), moves.x_mm, moves.y_mm, moves.z_mm, np.array(moves.start_mm),
        moves.length_mm, moves.volume_mm3, moves.speed_mm_s, moves.speed_factor, moves.flow_factor, moves.dwell_s,
        moves.radius_mm, moves.acceleration_mm_s2, bend,
        filament_area(moves.filament_diameter_mm), np.array(speed_mm_s), np.array(acceleration_mm_s2),
        bead_mm_s2, travel_mm_s2, deviation_mm, np.array(step_mm_s or ()), time, junction, peak, acceleration,
    )  # fmt: skip
    return time, junction, peak, acceleration
