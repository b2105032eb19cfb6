"""What each word of G-code does to a machine's state: one table from command to function."""

from __future__ import annotations

import math
import re
from collections.abc import Callable

from voidless.beads.stadium import filament_area
from voidless.errors import InputError
from voidless.toolpath import scan_state as at
from voidless.toolpath.dialect_moves import (
    draw_back,
    dwell,
    home,
    native_position,
    restore,
    round_left,
    round_right,
    set_position,
    spline,
    straight,
)
from voidless.toolpath.scan_state import Reading, Values
from voidless.toolpath.words import Word, checksum_holds, split_words, strip_line

__all__ = ["COMMANDS", "HARMLESS", "INCH", "MOTION", "obey"]

INCH = 25.4
_MOST_TOOLS = 64
_IMPLAUSIBLE_MM_S = 1500.0


def _stated(name: str) -> Callable[[Reading, Values], None]:
    def keep(state: Reading, values: Values) -> None:
        found = {letter: value * state.real[at.SCALE] for letter, value in values.items() if value > 0.0}
        state.stated.setdefault(name, {}).update(found)
        if name == "speed_mm_s" and any(value > _IMPLAUSIBLE_MM_S for value in found.values()):
            state.doubt("M203 states over 1500 mm/s; it is taken as mm/s, some machines mean mm/min")

    return keep


def _acceleration(state: Reading, values: Values) -> None:
    given = {at.BEAD_RATE: "PS", at.TRAVEL_RATE: "TS", at.DRAW_RATE: "R"}
    for index, letters in given.items():
        found = [values[letter] for letter in letters if values.get(letter, 0.0) > 0.0]
        if found:
            state.rate(index, found[0] * state.real[at.SCALE])


def _junctions(state: Reading, values: Values) -> None:
    scale = state.real[at.SCALE]
    steps = {letter: values[letter] * scale for letter in "XYZE" if values.get(letter, 0.0) > 0.0}
    if "X" in steps:
        steps.setdefault("Y", steps["X"])
    if steps:
        state.stated.setdefault("step_mm_s", {}).update(steps)
    if values.get("J", 0.0) > 0.0:
        state.stated["deviation_mm"] = {"J": values["J"] * scale}


def _retraction(state: Reading, values: Values) -> None:
    scale = state.real[at.SCALE]
    if values.get("S", -1.0) >= 0.0:
        state.draw_mm = values["S"] * scale
    if values.get("F", 0.0) > 0.0:
        state.draw_speed = values["F"] * scale / 60.0
    state.draw_lift = max(0.0, values.get("Z", state.draw_lift / scale)) * scale


def _restoring(state: Reading, values: Values) -> None:
    scale = state.real[at.SCALE]
    state.restore_extra = values.get("S", state.restore_extra / scale) * scale
    if values.get("F", 0.0) > 0.0:
        state.restore_speed = values["F"] * scale / 60.0


def _volumetric(state: Reading, values: Values) -> None:
    tool = int(values.get("T", state.real[at.TOOL]))
    wanted = values.get("D", state.diameter or 0.0) > 0.0 and values.get("S", 1.0) > 0.0
    if values.get("D", 0.0) > 0.0:
        state.diameter = values["D"] * state.real[at.SCALE]
    state.areas[tool] = filament_area(state.diameter) if wanted and state.diameter else 1.0
    state.real[at.FEED_AREA] = state.areas.get(int(state.real[at.TOOL]), 1.0)


def _nozzle(state: Reading, values: Values) -> None:
    tool = int(values.get("T", state.real[at.TOOL]))
    if "S" in values or "R" in values:
        state.nozzles[tool] = values.get("S", values.get("R", math.nan))
        if tool == int(state.real[at.TOOL]):
            state.hold(at.NOZZLE, state.nozzles[tool])


def _bed(state: Reading, values: Values) -> None:
    state.hold(at.BED, values.get("S", values.get("R", state.real[at.BED])))


def _fan(state: Reading, values: Values) -> None:
    if values.get("P", 0.0) > 0.0:  # another fan than that of the part
        state.unknown["M106 P"] += 1
        return
    duty = values.get("S", 255.0)
    if 0.0 < duty < 1.0:
        state.doubt("a fan word between 0 and 1; taken as a share of full duty")
        duty *= 255.0
    state.hold(at.FAN, 100.0 * duty / 255.0)


def _fan_off(state: Reading, values: Values) -> None:
    if values.get("P", 0.0) > 0.0:
        state.unknown["M107 P"] += 1
        return
    state.hold(at.FAN, 0.0)


def _factor(index: int, name: str) -> Callable[[Reading, Values], None]:
    def keep(state: Reading, values: Values) -> None:
        if values.get("S", 0.0) > 0.0:
            state.hold(index, values["S"] / 100.0)
        elif "S" in values:
            state.doubt(f"{name} of {values['S']:g} % is not above 0; the one before holds")

    return keep


def _mode(index: int, value: int) -> Callable[[Reading, Values], None]:
    def change(state: Reading, _: Values) -> None:
        state.whole[index] = value

    return change


def _absolute(state: Reading, _: Values) -> None:
    state.whole[at.RELATIVE] = 0
    if state.whole[at.RELATIVE_FEED]:
        state.whole[at.RELATIVE_FEED] = at.UNTOLD


def _end(state: Reading, _: Values) -> None:
    state.whole[at.ENDED] = state.whole[at.LINE]


def _unit(scale: float) -> Callable[[Reading, Values], None]:
    def change(state: Reading, _: Values) -> None:
        state.real[at.SCALE] = scale

    return change


def _tool(state: Reading, tool: int) -> None:
    if tool == int(state.real[at.TOOL]):
        return
    state.nozzles[int(state.real[at.TOOL])] = state.real[at.NOZZLE]
    state.hold(at.TOOL, float(tool))
    state.hold(at.NOZZLE, state.nozzles.get(tool, math.nan))
    state.real[at.FEED_AREA] = state.areas.get(tool, 1.0)


MOTION = ("G0", "G1", "G2", "G3")
COMMANDS: dict[str, tuple[Callable[[Reading, Values], None], str]] = {
    "G0": (straight, "XYZEF"),
    "G1": (straight, "XYZEF"),
    "G2": (round_right, "XYZEFIJKRP"),
    "G3": (round_left, "XYZEFIJKRP"),
    "G4": (dwell, "SP"),
    "G5": (spline, "XYZEFIJPQ"),
    "G10": (draw_back, "S"),
    "G11": (restore, "S"),
    "G17": (_mode(at.PLANE, 0), ""),
    "G18": (_mode(at.PLANE, 1), ""),
    "G19": (_mode(at.PLANE, 2), ""),
    "G20": (_unit(INCH), ""),
    "G21": (_unit(1.0), ""),
    "G28": (home, "XYZ"),
    "G90": (_absolute, ""),
    "G91": (_mode(at.RELATIVE, 1), ""),
    "G90.1": (_mode(at.CENTRE_ABSOLUTE, 1), ""),
    "G91.1": (_mode(at.CENTRE_ABSOLUTE, 0), ""),
    "G92": (set_position, "XYZE"),
    "G92.1": (native_position, ""),
    "M2": (_end, ""),
    "M30": (_end, ""),
    "M82": (_mode(at.RELATIVE_FEED, 0), ""),
    "M83": (_mode(at.RELATIVE_FEED, 1), ""),
    "M104": (_nozzle, "SRT"),
    "M109": (_nozzle, "SRT"),
    "M106": (_fan, "SP"),
    "M107": (_fan_off, "P"),
    "M140": (_bed, "SR"),
    "M190": (_bed, "SR"),
    "M200": (_volumetric, "DST"),
    "M201": (_stated("acceleration_mm_s2"), "XYZE"),
    "M203": (_stated("speed_mm_s"), "XYZE"),
    "M204": (_acceleration, "PRST"),
    "M205": (_junctions, "XYZEJSTB"),
    "M207": (_retraction, "SFZ"),
    "M208": (_restoring, "SF"),
    "M220": (_factor(at.SPEED_FACTOR, "speed_factor"), "S"),
    "M221": (_factor(at.FLOW_FACTOR, "flow_factor"), "S"),
}
"""What each command does, and the letters of the words that it reads; others are counted as unknown."""
HARMLESS = frozenset({"M141", "M191", "M84", "M18"})
"""Commands that move, feed and heat nothing that is kept; they are not counted."""
_MODAL = re.compile(r"\s*[XYZEFIJKR](?![A-Z_])", re.IGNORECASE)
"""A line that goes on with the motion before; a name of several letters is none."""
_ALONE = {"G28": "XYZ", "G92": "XYZE"}
"""Letters that may stand without a number."""


def _command(word: Word) -> str:
    """Return a command's name: `G1`, `G92.1`."""
    return f"{word.letter}{word.value:g}" if word.value is not None else word.letter


def _carry_out(state: Reading, command: str, words: list[Word]) -> None:
    if command not in COMMANDS:
        if command not in HARMLESS:
            state.unknown[command] += 1
        return
    act, letters = COMMANDS[command]
    if command == "G10" and any(word.letter in "LP" for word in words):  # sets offsets, draws nothing
        state.unknown["G10 L/P"] += 1
        return
    values: Values = {}
    for word in words:
        if word.letter not in letters:
            state.unknown[f"{command} {word.letter}"] += 1
        elif word.value is not None:
            values[word.letter] = word.value
        elif word.letter in _ALONE.get(command, ""):
            values[word.letter] = 0.0
        else:
            raise InputError(
                f"{state.where}:{word.column}",
                f"{word.letter} has no number",
                "a decimal number",
                "Correct the file.",
            )
    if command in MOTION:
        state.whole[at.MODE] = MOTION.index(command)
    act(state, values)


def _first(text: str, state: Reading) -> Word | None:
    """Return a line's first word; None where the line starts with a name or anything else."""
    lead = text.lstrip()
    if not ("A" <= lead[0].upper() <= "Z") or (lead[1:2].isalpha() or lead[1:2] == "_"):
        return None
    return split_words(text, state.where, first_only=True)[0]


def _is_known(name: str) -> bool:
    return name in COMMANDS or name in HARMLESS


def _begins(state: Reading, text: str) -> Word | None:
    """Return the command that a line begins with; None where the whole line is to be left alone."""
    first = _first(text, state)
    if first is None or first.value is None or first.letter not in "GMT":
        state.unknown[text.split()[0][:30]] += 1
        return None
    name = _command(first)
    tool = first.letter == "T" and 0.0 <= first.value < _MOST_TOOLS and first.value == int(first.value)
    if not tool and not _is_known(name) and first.letter != "G":
        state.unknown[name] += 1
        return None
    return first


def _commands(words: list[Word]) -> list[tuple[Word, list[Word]]]:
    """Return the commands of a line, each with the words that follow it."""
    found: list[tuple[Word, list[Word]]] = []
    for word in words:
        if word.letter in "GM" or not found:
            found.append((word, []))
        else:
            found[-1][1].append(word)
    return found


def obey(state: Reading, line: str) -> None:
    """
    Carry out one line.

    A line that starts with a name of several letters, or with an M word that is not known, is counted and
    left alone, since text may follow. So is a line behind the program's end.
    """
    text = strip_line(line)
    if not text or text.isspace() or text.lstrip().startswith("%"):
        return
    if state.whole[at.ENDED]:
        state.whole[at.BEHIND] += 1
        return
    if "*" in line and not checksum_holds(line.rstrip("\r\n")):
        state.doubt("a line's checksum does not hold")
    if state.whole[at.MODE] >= 0 and _MODAL.match(text):
        _carry_out(state, MOTION[state.whole[at.MODE]], split_words(text, state.where))
        return
    first = _begins(state, text)
    if first is None:
        return
    try:
        words = split_words(text, state.where)
    except InputError:
        if _is_known(_command(first)):
            raise
        state.unknown[_command(first)] += 1
        return
    for word, given in _commands(words):
        if state.whole[at.ENDED]:
            break
        if word.letter == "T" and word.value is not None:
            _tool(state, int(word.value))
            for strange in given:
                state.unknown[f"{_command(word)} {strange.letter}"] += 1
        else:
            _carry_out(state, _command(word), given)
