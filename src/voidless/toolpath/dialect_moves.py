"""Commands of G-code that move, feed or pause: lines, arcs, retraction, homing, positions set."""

from __future__ import annotations

import math
from collections.abc import Sequence

from voidless.toolpath import scan_state as at
from voidless.toolpath.arcs import SAGITTA_MM, arc_circle, arc_sweep, chord_angles
from voidless.toolpath.moves import Kind
from voidless.toolpath.scan_state import Reading, Values

__all__ = [
    "OFF_CIRCLE_MM", "draw_back", "dwell", "home", "native_position", "restore", "round_left", "round_right",
    "set_position", "spline", "straight",
]  # fmt: skip

OFF_CIRCLE_MM = 0.05
"""Arcs that end further off their circle are a problem of the file. [mm]"""
_MOST_CHORDS = 1000
"""Chords of one spline: enough for one of metres. [1]"""
_MOST_TURNS = 1000.0
"""More turns of one arc are taken for a fault of the file. [1]"""

Point = tuple[float, float, float]


def _target(state: Reading, values: Values) -> tuple[Point, float]:
    """Return the position that a move leads to, in machine coordinates, and the filament it feeds. [mm]"""
    real, relative = state.real, state.whole[at.RELATIVE]
    end = []
    for axis, letter in enumerate("XYZ"):
        now = real[axis]
        if letter in values:
            given = values[letter] * real[at.SCALE]
            now = now + given if relative else given + real[at.SHIFT_X + axis]
        end.append(now)
    fed = 0.0
    if "E" in values:
        given = values["E"] * real[at.SCALE] / real[at.FEED_AREA]
        if state.whole[at.RELATIVE_FEED] == at.UNTOLD and not relative:
            state.doubt(
                "feed stays relative when G90 follows M83; some controllers take it as absolute from there"
            )
            state.whole[at.RELATIVE_FEED] = 1
        if relative or state.whole[at.RELATIVE_FEED]:
            fed = given
            real[at.FED] += given
        else:
            fed = given - real[at.FED]
            real[at.FED] = given
    return (end[0], end[1], end[2]), fed


def _kind(fed: float, over_bed: bool) -> Kind:
    if fed > 0.0:
        return Kind.BEAD if over_bed else Kind.RESTORE
    return Kind.RETRACT if fed < 0.0 else Kind.TRAVEL


def _speed(state: Reading, values: Values) -> None:
    if "F" in values:
        if not values["F"] > 0.0:
            state.doubt("speed word F is not above 0; the one before holds")
            return
        state.real[at.SPEED] = values["F"] * state.real[at.SCALE] / 60.0


def _move(state: Reading, end: Point, fed: float) -> None:
    dx, dy, dz = end[0] - state.real[at.X], end[1] - state.real[at.Y], end[2] - state.real[at.Z]
    if dx == 0.0 and dy == 0.0 and dz == 0.0 and fed == 0.0:
        return
    state.row(_kind(fed, dx != 0.0 or dy != 0.0), end, math.sqrt(dx * dx + dy * dy + dz * dz), fed)


def straight(state: Reading, values: Values) -> None:
    """Move along a line."""
    _speed(state, values)
    _move(state, *_target(state, values))


_PLANES = ((0, 1, 2), (2, 0, 1), (1, 2, 0))
"""Axes of a plane, the one about which an arc turns last: XY, ZX, YZ, each right-handed (RS-274/NGC)."""


def _arc(
    state: Reading, values: Values, start: Point, end: Point, clockwise: bool
) -> tuple[float, float, float, float, float]:
    """Return centre, radius, start angle and sweep in the plane that rules; a sweep of 0 where there is none."""
    scale, (one, two, _) = state.real[at.SCALE], _PLANES[state.whole[at.PLANE]]
    if "R" in values:
        ends = start[one], start[two], end[one], end[two]
        x, y, found = arc_circle(*ends, values["R"] * scale, clockwise)
        if not found:
            return 0.0, 0.0, 0.0, 0.0, 0.0
    else:
        x, y = (_centre(state, values, axis, start[axis]) for axis in (one, two))
    return x, y, *arc_sweep(start[one], start[two], end[one], end[two], x, y, clockwise)


def _centre(state: Reading, values: Values, axis: int, start: float) -> float:
    """Return where the centre of an arc lies along an axis. [mm]"""
    letter = "IJK"[axis]
    if letter not in values:
        return start
    given = values[letter] * state.real[at.SCALE]
    return given + (state.real[at.SHIFT_X + axis] if state.whole[at.CENTRE_ABSOLUTE] else start)


def _turned(state: Reading, values: Values, sweep: float) -> float:
    """Return the sweep with the turns that a P word adds. [rad]"""
    if "P" not in values or sweep == 0.0:
        return sweep
    turns = values["P"]
    if not (1.0 <= turns <= _MOST_TURNS and turns == int(turns)):
        state.doubt("P of an arc is no number of turns from 1 to 1000; taken as 1")
        return sweep
    state.doubt("P of an arc is taken as turns in all; controllers that count turns on top lay one more")
    return sweep + math.copysign(2.0 * math.pi * (turns - 1.0), sweep)


def _round(state: Reading, values: Values, clockwise: bool) -> None:
    _speed(state, values)
    start = state.here
    end, fed = _target(state, values)
    x, y, radius, first, sweep = _arc(state, values, start, end, clockwise)
    sweep = _turned(state, values, sweep)
    if sweep == 0.0:
        state.doubt("an arc has no circle in its plane; taken as a straight line")
        _move(state, end, fed)
        return
    one, two, through = _PLANES[state.whole[at.PLANE]]
    if "IJK"[through] in values:
        state.unknown[f"G{2 if clockwise else 3} {'IJK'[through]}"] += 1
    if abs(math.hypot(end[one] - x, end[two] - y) - radius) > OFF_CIRCLE_MM:
        state.doubt("an arc ends more than 0.05 mm off its circle")
    rise = end[through] - start[through]
    level = abs(sweep) * radius
    total = math.sqrt(level * level + rise * rise)
    sign = 1.0 if sweep > 0.0 else -1.0
    kind, before = _kind(fed, over_bed=True), 0.0
    angles = chord_angles(first, sweep, radius).tolist()
    for angle in angles:
        share, bend = (angle - before) / angles[-1], sign * (angle - before)
        before = angle
        turned = first + sign * angle
        place = list(end)
        if angle != angles[-1]:
            place[one] = x + radius * math.cos(turned)
            place[two] = y + radius * math.sin(turned)
            place[through] = start[through] + angle / angles[-1] * rise
        level_bend = 0.0 if state.whole[at.PLANE] else bend  # only arcs in the bed's plane run as arcs
        state.row(kind, (place[0], place[1], place[2]), total * share, fed * share, bend=level_bend)


def round_right(state: Reading, values: Values) -> None:
    """Move clockwise along an arc."""
    _round(state, values, clockwise=True)


def round_left(state: Reading, values: Values) -> None:
    """Move anticlockwise along an arc."""
    _round(state, values, clockwise=False)


def spline(state: Reading, values: Values) -> None:
    """Move along a cubic: I J lead from the start to its first control point, P Q from the end to its second."""
    _speed(state, values)
    scale, start = state.real[at.SCALE], state.here
    end, fed = _target(state, values)
    leave, reach = (
        tuple(point[axis] + values.get(letter, 0.0) * scale for axis, letter in enumerate(letters))
        for point, letters in ((start, "IJ"), (end, "PQ"))
    )
    corners = [start[:2], leave, reach, end[:2]]
    bends = [
        math.dist((a[0] + c[0], a[1] + c[1]), (2.0 * b[0], 2.0 * b[1]))
        for a, b, c in (corners[:3], corners[1:])
    ]
    count = min(_MOST_CHORDS, max(1, math.ceil(math.sqrt(0.75 * max(bends) / SAGITTA_MM))))
    places = [_on_cubic(corners, number / count) for number in range(count)] + [end[:2]]
    level = [math.dist(places[number], places[number + 1]) for number in range(count)]
    way, rise = sum(level), end[2] - start[2]
    if not way > 0.0:
        _move(state, end, fed)
        return
    gone = 0.0
    for (x, y), step in zip(places[1:], level, strict=True):
        gone += step
        place = (x, y, end[2] if (x, y) == end[:2] else start[2] + rise * gone / way)
        state.row(_kind(fed, over_bed=True), place, math.hypot(step, rise * step / way), fed * step / way)


def _on_cubic(corners: Sequence[Sequence[float]], share: float) -> tuple[float, float]:
    """Return a point of a cubic by its four corners (Bernstein's form)."""
    left = 1.0 - share
    weights = (left**3, 3.0 * left * left * share, 3.0 * left * share * share, share**3)
    x, y = (sum(w * corner[axis] for w, corner in zip(weights, corners, strict=True)) for axis in (0, 1))
    return x, y


def dwell(state: Reading, values: Values) -> None:
    """Pause: S in seconds rules over P in milliseconds."""
    pause = values["S"] if "S" in values else values.get("P", 0.0) / 1000.0
    if pause > 0.0:
        state.pause(pause)


def draw_back(state: Reading, _: Values) -> None:
    """Draw the filament back by what M207 states, and lift the nozzle where it says so."""
    if state.drawn:
        return
    state.drawn = True
    if state.draw_mm is None:
        state.doubt("firmware retraction without a stated length (M207); taken as 0 mm")
    elif state.draw_mm > 0.0:
        state.row(Kind.RETRACT, state.here, fed=-state.draw_mm, speed=state.draw_speed)
    _lift(state, state.draw_lift)


def restore(state: Reading, _: Values) -> None:
    """Undo `draw_back`, with what M208 adds."""
    if not state.drawn:
        return
    state.drawn = False
    _lift(state, -state.draw_lift)
    length = (state.draw_mm or 0.0) + state.restore_extra
    if length > 0.0:
        speed = state.draw_speed if state.restore_speed is None else state.restore_speed
        state.row(Kind.RESTORE, state.here, fed=length, speed=speed)


def _lift(state: Reading, by: float) -> None:
    """Move by a height at the speed that the limits allow, since no word states one."""
    if by:
        x, y, z = state.here
        state.row(Kind.TRAVEL, (x, y, z + by), abs(by), speed=math.inf)


def home(state: Reading, values: Values) -> None:
    """Find the origin of the axes named, of all where none is."""
    place = list(state.here)
    for axis, letter in enumerate("XYZ"):
        if letter in values or not values:
            place[axis] = state.real[at.SHIFT_X + axis] = 0.0
    state.row(Kind.HOME, (place[0], place[1], place[2]))


def native_position(state: Reading, _: Values) -> None:
    """Call the place where the machine is by the machine's own numbers again."""
    for axis in range(3):
        state.real[at.SHIFT_X + axis] = 0.0


def set_position(state: Reading, values: Values) -> None:
    """Call the place where the machine is by other numbers."""
    real = state.real
    given = values or dict.fromkeys("XYZE", 0.0)
    for axis, letter in enumerate("XYZ"):
        if letter in given:
            real[at.SHIFT_X + axis] = real[axis] - given[letter] * real[at.SCALE]
    if "E" in given:
        real[at.FED] = given["E"] * real[at.SCALE] / real[at.FEED_AREA]
