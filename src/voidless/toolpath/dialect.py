"""State of a machine while its G-code is read, and what each word does to it."""

from __future__ import annotations

import math
from array import array
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from voidless.beads.stadium import filament_area
from voidless.errors import InputError
from voidless.toolpath.arcs import Arc, arc_by_centre, arc_by_radius, arc_chords
from voidless.toolpath.moves import Kind
from voidless.toolpath.words import Word, checksum_holds, split_words, strip_line

__all__ = ["COLUMNS", "Reading", "obey"]

COLUMNS = (
    "kind",
    "x_mm",
    "y_mm",
    "z_mm",
    "length_mm",
    "filament_mm",
    "speed_mm_s",
    "fan_pct",
    "nozzle_c",
    "dwell_s",
    "radius_mm",
    "acceleration_mm_s2",
    "speed_factor",
    "flow_factor",
)
"""What `Reading.rows` holds per move, one after the other."""

_INCH = 25.4
_OFF_CIRCLE_MM = 0.05

Values = dict[str, float]


@dataclass
class Reading:
    """State of the machine while a file is read: modes, position, feed, and the moves so far."""

    name: str
    line: int = 0
    place: dict[str, float] = field(default_factory=lambda: dict.fromkeys("XYZ", 0.0))
    shift: dict[str, float] = field(default_factory=lambda: dict.fromkeys("XYZ", 0.0))
    fed: float = 0.0
    scale: float = 1.0
    relative: bool = False
    relative_feed: bool = False
    diameter: float | None = None
    volumetric: bool = False
    speed: float = math.inf
    mode: int | None = None
    plane_xy: bool = True
    fan: float = math.nan
    nozzle: float = math.nan
    bead_mm_s2: float = math.nan
    travel_mm_s2: float = math.nan
    speed_factor: float = 1.0
    flow_factor: float = 1.0
    drawn: bool = False
    draw_mm: float | None = None
    draw_speed: float = math.inf
    rows: array[float] = field(default_factory=lambda: array("d"))
    stated: dict[str, Values] = field(default_factory=dict)
    unknown: Counter[str] = field(default_factory=Counter)
    problems: Counter[str] = field(default_factory=Counter)

    @property
    def where(self) -> str:
        """File and line, as errors name them."""
        return f"{self.name}:{self.line}"

    def value(self, word: Word) -> float:
        """Return a word's number; InputError where it has none."""
        if word.value is None:
            raise InputError(
                f"{self.where}:{word.column}",
                f"{word.letter} has no number",
                "a decimal number",
                "Correct the file.",
            )
        return word.value

    def values(self, words: Iterable[Word]) -> Values:
        """Return numbers by letter; InputError where one is missing."""
        return {word.letter: self.value(word) for word in words}

    def row(
        self,
        kind: Kind,
        end: tuple[float, float, float],
        length: float = 0.0,
        fed: float = 0.0,
        dwell: float = 0.0,
        radius: float = math.inf,
        speed: float | None = None,
    ) -> None:
        """Keep one move to `end` in the state that holds now; its speed, unless given, is the last F."""
        stated = self.bead_mm_s2 if kind == Kind.BEAD else self.travel_mm_s2
        path = (kind, *end, length, fed, self.speed if speed is None else speed)
        self.rows.extend((*path, self.fan, self.nozzle, dwell, radius, stated))
        self.rows.extend((self.speed_factor, self.flow_factor))

    def here(self) -> tuple[float, float, float]:
        """Position in machine coordinates. [mm]"""
        return self.place["X"], self.place["Y"], self.place["Z"]


def _target(state: Reading, values: Values) -> tuple[tuple[float, float, float], float]:
    """Return the position that a move leads to, in machine coordinates, and the filament it feeds. [mm]"""
    end = []
    for axis in "XYZ":
        now = state.place[axis]
        if axis in values:
            given = values[axis] * state.scale
            now = now + given if state.relative else given + state.shift[axis]
        end.append(now)
    fed = 0.0
    if "E" in values:
        given = values["E"] * state.scale
        if state.volumetric and state.diameter:
            given /= filament_area(state.diameter)
        fed = given if state.relative_feed or state.relative else given - state.fed
        state.fed += fed
    return (end[0], end[1], end[2]), fed


def _kind(fed: float, over_bed: bool) -> Kind:
    if fed > 0.0:
        return Kind.BEAD if over_bed else Kind.RESTORE
    return Kind.RETRACT if fed < 0.0 else Kind.TRAVEL


def _straight(state: Reading, end: tuple[float, float, float], fed: float) -> None:
    start = state.here()
    if end == start and fed == 0.0:
        return
    kind = _kind(fed, end[0] != start[0] or end[1] != start[1])
    state.row(kind, end, math.dist(start, end), fed)
    state.place = dict(zip("XYZ", end, strict=True))


def _line(state: Reading, words: list[Word]) -> None:
    values = state.values(words)
    _speed(state, values)
    _straight(state, *_target(state, values))


def _speed(state: Reading, values: Values) -> None:
    if "F" in values:
        if not values["F"] > 0.0:
            state.problems["speed word F is not above 0; the one before holds"] += 1
            return
        state.speed = values["F"] * state.scale / 60.0


def _round(state: Reading, words: list[Word], clockwise: bool) -> None:
    values = state.values(words)
    _speed(state, values)
    start = state.here()
    end, fed = _target(state, values)
    arc = _arc(state, values, start, end, clockwise) if state.plane_xy else None
    if arc is None:
        state.problems["an arc has no circle in the XY plane; taken as a straight line"] += 1
        _straight(state, end, fed)
        return
    if abs(math.hypot(end[0] - arc.centre[0], end[1] - arc.centre[1]) - arc.radius) > _OFF_CIRCLE_MM:
        state.problems["an arc ends more than 0.05 mm off its circle"] += 1
    level = abs(arc.sweep) * arc.radius
    total = math.hypot(level, end[2] - start[2])
    radius = arc.radius * (total / level) ** 2  # of curvature, which is what limits speed on a helix
    chords, done = arc_chords(arc), 0.0
    for number, (x, y, share) in enumerate(chords):
        done += share
        last = number == len(chords) - 1
        place = end if last else (x, y, start[2] + done * (end[2] - start[2]))
        state.row(_kind(fed, over_bed=True), place, total * share, fed * share, radius=radius)
    state.place = dict(zip("XYZ", end, strict=True))


def _arc(
    state: Reading,
    values: Values,
    start: tuple[float, float, float],
    end: tuple[float, float, float],
    clockwise: bool,
) -> Arc | None:
    if "R" in values:
        return arc_by_radius(start[:2], end[:2], values["R"] * state.scale, clockwise)
    offset = (values.get("I", 0.0) * state.scale, values.get("J", 0.0) * state.scale)
    return arc_by_centre(start[:2], end[:2], offset, clockwise)


def _dwell(state: Reading, words: list[Word]) -> None:
    values = state.values(words)
    pause = values.get("S", 0.0) + values.get("P", 0.0) / 1000.0
    if pause > 0.0:
        state.row(Kind.DWELL, state.here(), dwell=pause)


def _draw(state: Reading, words: list[Word], back: bool) -> None:
    if back and any(word.letter in "LP" for word in words):  # sets tool offsets, draws nothing
        state.unknown["G10 L/P"] += 1
        return
    if state.drawn == back:
        return
    length = state.draw_mm
    if length is None:
        state.problems["firmware retraction without a stated length (M207); taken as 0 mm"] += 1
        length = 0.0
    if length:
        kind = Kind.RETRACT if back else Kind.RESTORE
        state.row(kind, state.here(), fed=-length if back else length, speed=state.draw_speed)
    state.drawn = back


def _home(state: Reading, words: list[Word]) -> None:
    named = [word.letter for word in words if word.letter in "XYZ"] or list("XYZ")
    for axis in named:
        state.place[axis] = state.shift[axis] = 0.0
    state.row(Kind.HOME, state.here())


def _set_position(state: Reading, words: list[Word]) -> None:
    values = {word.letter: word.value or 0.0 for word in words}
    if not values:
        values = dict.fromkeys("XYZE", 0.0)
    for axis in "XYZ":
        if axis in values:
            state.shift[axis] = state.place[axis] - values[axis] * state.scale
    if "E" in values:
        state.fed = values["E"] * state.scale
        if state.volumetric and state.diameter:
            state.fed /= filament_area(state.diameter)


def _volumetric(state: Reading, words: list[Word]) -> None:
    values = state.values(words)
    if "D" in values:
        if values["D"] > 0.0:
            state.diameter = values["D"] * state.scale
        state.volumetric = values["D"] > 0.0
    if "S" in values:
        state.volumetric = values["S"] > 0.0 and state.diameter is not None


def _stated(name: str) -> Callable[[Reading, list[Word]], None]:
    def keep(state: Reading, words: list[Word]) -> None:
        found = {
            letter: value for letter, value in state.values(words).items() if letter in "XYZE" and value > 0.0
        }
        state.stated.setdefault(name, {}).update(found)

    return keep


def _acceleration(state: Reading, words: list[Word]) -> None:
    values = state.values(words)
    bead, travel = values.get("P", values.get("S", math.nan)), values.get("T", values.get("S", math.nan))
    state.bead_mm_s2 = bead if bead > 0.0 else state.bead_mm_s2
    state.travel_mm_s2 = travel if travel > 0.0 else state.travel_mm_s2


def _junctions(state: Reading, words: list[Word]) -> None:
    values = state.values(words)
    steps = {letter: value for letter, value in values.items() if letter in "XYZE" and value > 0.0}
    if "X" in steps:
        steps.setdefault("Y", steps["X"])
    state.stated.setdefault("step_mm_s", {}).update(steps)
    if values.get("J", 0.0) > 0.0:
        state.stated["deviation_mm"] = {"J": values["J"]}


def _retraction(state: Reading, words: list[Word]) -> None:
    values = state.values(words)
    if values.get("S", -1.0) >= 0.0:
        state.draw_mm = values["S"] * state.scale
    if values.get("F", 0.0) > 0.0:
        state.draw_speed = values["F"] * state.scale / 60.0


def _simple(change: Callable[[Reading, Values], None]) -> Callable[[Reading, list[Word]], None]:
    def apply(state: Reading, words: list[Word]) -> None:
        change(state, state.values(words))

    return apply


def _set(name: str, value: object) -> Callable[[Reading, list[Word]], None]:
    return lambda state, _: setattr(state, name, value)


def _factor(name: str) -> Callable[[Reading, Values], None]:
    def keep(state: Reading, values: Values) -> None:
        if values.get("S", 0.0) > 0.0:
            setattr(state, name, values["S"] / 100.0)
        elif "S" in values:
            state.problems[f"{name} of {values['S']:g} % is not above 0; the one before holds"] += 1

    return keep


def _fan(state: Reading, values: Values) -> None:
    state.fan = 100.0 * values.get("S", 255.0) / 255.0


def _nozzle(state: Reading, values: Values) -> None:
    state.nozzle = values.get("S", values.get("R", state.nozzle))


_READ: dict[str, Callable[[Reading, list[Word]], None]] = {
    "G0": _line,
    "G1": _line,
    "G2": lambda state, words: _round(state, words, clockwise=True),
    "G3": lambda state, words: _round(state, words, clockwise=False),
    "G4": _dwell,
    "G10": lambda state, words: _draw(state, words, back=True),
    "G11": lambda state, words: _draw(state, words, back=False),
    "G17": _set("plane_xy", True),
    "G18": _set("plane_xy", False),
    "G19": _set("plane_xy", False),
    "G20": _set("scale", _INCH),
    "G21": _set("scale", 1.0),
    "G28": _home,
    "G90": _set("relative", False),
    "G91": _set("relative", True),
    "G92": _set_position,
    "M82": _set("relative_feed", False),
    "M83": _set("relative_feed", True),
    "M104": _simple(_nozzle),
    "M109": _simple(_nozzle),
    "M106": _simple(_fan),
    "M107": _set("fan", 0.0),
    "M200": _volumetric,
    "M201": _stated("acceleration_mm_s2"),
    "M203": _stated("speed_mm_s"),
    "M204": _acceleration,
    "M205": _junctions,
    "M207": _retraction,
    "M220": _simple(_factor("speed_factor")),
    "M221": _simple(_factor("flow_factor")),
}
_LETTERS_ALONE = {"G28", "G92"}
_MOTION = ("G0", "G1", "G2", "G3")
_HARMLESS = {"M140", "M190", "M141", "M191", "M84", "M18", "M2", "M30", "M0", "M1", "T0"}


def _name(word: Word) -> str:
    """Return a command's name: `G1`, `G92.1`."""
    return f"{word.letter}{word.value:g}" if word.value is not None else word.letter


def obey(state: Reading, line: str) -> None:
    """Carry out one line."""
    text = strip_line(line)
    if not text or text.isspace() or text.lstrip().startswith("%"):
        return
    if "*" in line and "*" in line.partition(";")[0] and not checksum_holds(line.rstrip("\r\n")):
        state.problems["a line's checksum does not hold"] += 1
    lead = text.lstrip()[0].upper()
    if lead in "XYZEFIJR" and state.mode is not None:
        _READ[_MOTION[state.mode]](state, split_words(text, state.where))
        return
    first = split_words(text, state.where, first_only=True)[0] if lead.isalpha() else None
    name = _name(first) if first else text.split()[0][:30]
    if name not in _READ:
        if name not in _HARMLESS:
            state.unknown[name if first is None or first.value is not None else text.split()[0][:30]] += 1
        return
    commands: list[tuple[str, list[Word]]] = []
    for word in split_words(text, state.where):
        if word.letter in "GM":
            commands.append((_name(word), []))
        else:
            commands[-1][1].append(word)
    for command, words in commands:
        if command in _MOTION:
            state.mode = _MOTION.index(command)
        act = _READ.get(command)
        if act is None:
            state.unknown[command] += 1
        else:
            act(state, words)
