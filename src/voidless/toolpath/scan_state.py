"""
State of a machine while its G-code is read.

Numbers lie in two flat lists so that the byte scanner and the reader by words hand the same state to and
fro: `real` by the indices X to FLOW_FACTOR, `whole` by the indices MODE to BEHIND.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, field

from voidless.toolpath.moves import Kind

__all__ = ["LONGEST_LINE", "REAL", "UNTOLD", "WHOLE", "Reading", "Row", "Values"]

LONGEST_LINE = 1_048_576
"""Longer lines are no G-code; also bounds the memory that a file can ask for. [bytes]"""

Values = dict[str, float]
Row = tuple[int, float, float, float, float, float, float, float, float]
"""Kind, x, y, z, length, filament, speed, acceleration, bend."""

X, Y, Z, SHIFT_X, SHIFT_Y, SHIFT_Z, FED, SCALE, SPEED, FEED_AREA = range(10)
BEAD_RATE, TRAVEL_RATE, DRAW_RATE = range(10, 13)
FAN, NOZZLE, BED, TOOL, SPEED_FACTOR, FLOW_FACTOR = range(13, 19)
REAL = 19
HELD = FAN
"""From here on `real` is what holds during moves: a row of states is it, after the first move's number."""
(
    MODE,
    RELATIVE,
    RELATIVE_FEED,
    PLANE,
    CENTRE_ABSOLUTE,
    LINE,
    ROWS,
    STATES,
    CHANGED,
    ARCS,
    RATED,
    ENDED,
    BEHIND,
) = range(13)
WHOLE = 13
UNTOLD = 2
"""Of RELATIVE_FEED: it is 1, but G90 came behind M83 and nothing was fed since; 1 again once that is told."""


def _real() -> list[float]:
    real = [0.0] * REAL
    real[SCALE] = real[FEED_AREA] = real[SPEED_FACTOR] = real[FLOW_FACTOR] = 1.0
    real[SPEED] = math.inf
    for unknown in (FAN, NOZZLE, BED, BEAD_RATE, TRAVEL_RATE, DRAW_RATE):
        real[unknown] = math.nan
    return real


def _whole() -> list[int]:
    whole = [0] * WHOLE
    whole[MODE] = -1
    whole[CHANGED] = 1
    return whole


@dataclass
class Reading:
    """
    Modes, position and feed while a file is read, and what lines read by words have added.

    Attributes
    ----------
    name : str
        File name that errors carry.
    real, whole : list
        The numbers of the state, see the module.
    rows, states, pauses : list
        Moves, states and pauses (number of the row, seconds) that wait to be put into the columns.
    problems : dict
        What is doubtful, in plain words: how often, and the line where first.
    """

    name: str
    real: list[float] = field(default_factory=_real)
    whole: list[int] = field(default_factory=_whole)
    rows: list[Row] = field(default_factory=list)
    states: list[tuple[float, ...]] = field(default_factory=list)
    pauses: list[tuple[int, float]] = field(default_factory=list)
    diameter: float | None = None
    areas: dict[int, float] = field(default_factory=dict)
    nozzles: dict[int, float] = field(default_factory=dict)
    drawn: bool = False
    draw_mm: float | None = None
    draw_speed: float = math.inf
    draw_lift: float = 0.0
    restore_extra: float = 0.0
    restore_speed: float | None = None
    stated: dict[str, Values] = field(default_factory=dict)
    unknown: Counter[str] = field(default_factory=Counter)
    problems: dict[str, tuple[int, int]] = field(default_factory=dict)

    @property
    def where(self) -> str:
        """File and line, as errors name them."""
        return f"{self.name}:{self.whole[LINE]}"

    @property
    def here(self) -> tuple[float, float, float]:
        """Position in machine coordinates. [mm]"""
        return self.real[X], self.real[Y], self.real[Z]

    def doubt(self, words: str) -> None:
        """Count what is doubtful about the line being read."""
        count, first = self.problems.get(words, (0, self.whole[LINE]))
        self.problems[words] = (count + 1, first)

    def hold(self, index: int, value: float) -> None:
        """Set a number that holds during the moves to come."""
        before = self.real[index]
        if value != before and not (math.isnan(value) and math.isnan(before)):
            self.real[index] = value
            self.whole[CHANGED] = 1

    def rate(self, index: int, value: float) -> None:
        """Set an acceleration that holds during the moves to come; `RATED` is one more than the first such move."""
        self.real[index] = value
        self.whole[RATED] = self.whole[RATED] or self.whole[ROWS] + 1

    def row(
        self,
        kind: Kind,
        end: tuple[float, float, float],
        length: float = 0.0,
        fed: float = 0.0,
        speed: float | None = None,
        bend: float = 0.0,
    ) -> None:
        """Keep one move to `end` in the state that holds now; its speed, unless given, is the last F."""
        if self.whole[CHANGED]:
            self.states.append((self.whole[ROWS], *self.real[HELD:]))
            self.whole[STATES] += 1
            self.whole[CHANGED] = 0
        pace = self.real[SPEED] if speed is None else speed
        alone = kind in (Kind.RETRACT, Kind.RESTORE) and length == 0.0
        rate = self.real[BEAD_RATE if kind == Kind.BEAD else DRAW_RATE if alone else TRAVEL_RATE]
        self.rows.append((int(kind), *end, length, fed, pace, rate, bend))
        self.whole[ARCS] |= bend != 0.0
        self.whole[ROWS] += 1
        self.real[X], self.real[Y], self.real[Z] = end

    def pause(self, seconds: float) -> None:
        """Keep a pause at the place where the machine is."""
        self.pauses.append((self.whole[ROWS], seconds))
        self.row(Kind.DWELL, self.here)
