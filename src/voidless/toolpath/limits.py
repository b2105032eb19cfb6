"""What a list of moves asks of a machine beside what the machine allows."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from voidless.beads.stadium import filament_area
from voidless.toolpath.moves import Kind, Moves

if TYPE_CHECKING:
    from voidless.machines import Machine

__all__ = ["LimitRow", "as_read", "check_limits", "check_temperatures", "excess_in_words", "limit_rows"]

Floats = NDArray[np.float64]

_FEED_WORD_MM = 5e-6
_EXACT = 1e-9


def check_temperatures(nozzle_c: float, bed_c: float, chamber_c: float, machine: Machine) -> list[str]:
    """
    Return in words which temperatures a machine must not run at; empty if none.

    Parameters
    ----------
    nozzle_c, bed_c, chamber_c : float
        Temperatures that are asked for; the chamber's counts only where the machine heats one. [°C]
    machine : Machine
        Limits.
    """
    asked = {
        "nozzle": (nozzle_c, machine.nozzle_max_c),
        "bed": (bed_c, machine.bed_max_c),
        "chamber": (chamber_c if machine.chamber_max_c > 0.0 else 0.0, machine.chamber_max_c),
    }
    return [
        f"{name} {value:g} C is above {most:g} C"
        for name, (value, most) in asked.items()
        if not value <= most
    ]


def _speeds(moves: Moves, machine: Machine, rounding_mm: float) -> dict[str, tuple[Floats, float]]:
    """Return for each limit the values of all moves and the largest allowed."""
    filament = moves.volume_mm3 * moves.flow_factor / filament_area(moves.filament_diameter_mm)
    alone = moves.length_mm == 0.0
    way = np.where(alone, np.abs(filament), moves.length_mm)
    idle = (way == 0.0) | (moves.kind == Kind.HOME) | (moves.kind == Kind.DWELL)
    rate = np.where(idle, 0.0, moves.speed_mm_s * moves.speed_factor / np.where(idle, 1.0, way))
    fed = np.where(alone, filament, np.sign(filament) * np.maximum(np.abs(filament) - _FEED_WORD_MM, 0.0))
    if rounding_mm:
        rate = np.where(alone, rate, rate * way / (way + rounding_mm))
    table = {
        f"speed of {axis}": (np.abs(moves.steps_mm[:, column]) * rate, machine.speed_max_mm_s[column])
        for column, axis in enumerate("xyz")
    }
    table["speed of the filament"] = (np.abs(fed) * rate, machine.speed_max_mm_s[3])
    melt = np.where(moves.deposits, fed * filament_area(moves.filament_diameter_mm) * rate, 0.0)
    table["melt rate"] = (melt, machine.max_rate_mm3_s)
    return table


@dataclass(frozen=True)
class LimitRow:
    """
    One limit and how near a build comes to it.

    Attributes
    ----------
    name, unit : str
        What is limited, and its unit.
    lowest, highest : float
        Extreme values of the build; NaN where it has none.
    least, most : float
        What the machine allows; a negative infinity where only the upper end is limited.
    exceeding : int
        How many moves (or settings) lie outside; NaN counts as outside.
    values : int
        How many there are.
    """

    name: str
    unit: str
    lowest: float
    highest: float
    least: float
    most: float
    exceeding: int
    values: int = 1

    @property
    def within(self) -> bool:
        """Whether the limit is respected."""
        return self.exceeding == 0


def as_read(moves: Moves) -> Moves:
    """Return moves of a file with no speed where it states none yet: those run as fast as the limits allow."""
    return replace(moves, speed_mm_s=np.where(np.isposinf(moves.speed_mm_s), 0.0, moves.speed_mm_s))


def _row(name: str, unit: str, values: Floats, least: float, most: float, slack: float = 0.0) -> LimitRow:
    outside = int(np.sum(~((values >= least - slack) & (values <= most + slack))))
    low, high = (float(end(values)) if len(values) else float("nan") for end in (np.min, np.max))
    return LimitRow(name, unit, low, high, least, most, outside, len(values))


def _together(rows: Iterable[LimitRow]) -> LimitRow:
    """Return one limit with the extremes of all its rows; of those without values (NaN) only if there are no others."""
    rows = tuple(rows)
    valued = [row for row in rows if row.values] or rows[:1]
    low, high = np.min([row.lowest for row in valued]), np.max([row.highest for row in valued])
    return replace(
        rows[0],
        lowest=float(low),
        highest=float(high),
        exceeding=sum(row.exceeding for row in rows),
        values=sum(row.values for row in rows),
    )


def limit_rows(moves: Moves, machine: Machine, rounding_mm: float = 0.0) -> tuple[LimitRow, ...]:
    """
    Return every limit of a machine that moves can exceed, with the extremes of the moves.

    Parameters
    ----------
    moves : Moves
        Moves as planned or as read.
    machine : Machine
        Bed, speeds, melt rate, temperature of the nozzle.
    rounding_mm : float
        Length by which written positions may be off, 0.001 for words of three decimals. [mm]

    Returns
    -------
    rows : tuple of LimitRow
        Positions, speeds, melt rate, nozzle, fan. Fan and temperature are left out of account where they
        are not known.
    """
    rows = [_rows_of(part, machine, rounding_mm) for part in moves.stretches()]
    return tuple(map(_together, zip(*rows or [_rows_of(moves, machine, rounding_mm)], strict=True)))


def _rows_of(moves: Moves, machine: Machine, rounding_mm: float) -> tuple[LimitRow, ...]:
    """Return every limit of a machine with the extremes of some moves."""
    room = {"x": machine.bed_x_mm, "y": machine.bed_y_mm, "z": machine.bed_z_mm}
    rows = [_row(a, "mm", getattr(moves, f"{a}_mm"), 0.0, most, rounding_mm) for a, most in room.items()]
    for name, (values, most) in _speeds(moves, machine, rounding_mm).items():
        unit = "mm3/s" if name == "melt rate" else "mm/s"
        rows.append(_row(name, unit, values, -np.inf, most, most * _EXACT))
    known = moves.nozzle_c[~np.isnan(moves.nozzle_c)], moves.fan_pct[~np.isnan(moves.fan_pct)]
    rows.append(_row("nozzle", "C", known[0], -np.inf, machine.nozzle_max_c))
    rows.append(_row("fan duty", "%", known[1], 0.0, 100.0))
    return tuple(rows)


def check_limits(moves: Moves, machine: Machine, rounding_mm: float = 0.0) -> list[str]:
    """
    Return in words what in a list of moves exceeds a machine; empty if nothing does.

    Parameters
    ----------
    moves : Moves
        Moves as planned or as read.
    machine : Machine
        Bed, speeds, melt rate, temperatures.
    rounding_mm : float
        Length by which written positions may be off, 0.001 for words of three decimals. [mm]

    Returns
    -------
    violations : list of str
        One sentence per limit with the worst value and the number of moves concerned. NaN counts as
        exceeding, except where fan and temperature are not known.
    """
    return [excess_in_words(row) for row in limit_rows(moves, machine, rounding_mm) if not row.within]


def excess_in_words(row: LimitRow) -> str:
    """Return by how much the moves of a row exceed its limit, in words."""
    if row.name == "nozzle":
        return f"nozzle {row.highest:g} C is above {row.most:g} C"
    if row.name == "fan duty":
        return "fan duty lies outside 0 to 100 %"
    count = "(1 move)" if row.exceeding == 1 else f"({row.exceeding:,} moves)"
    if row.unit == "mm":
        middle = row.most / 2.0
        worst = row.highest if abs(row.highest - middle) >= abs(row.lowest - middle) else row.lowest
        return f"{row.name} = {worst:g} mm lies outside 0 to {row.most:g} mm {count}"
    return f"{row.name} {row.highest:.4g} {row.unit} is above {row.most:g} {row.unit} {count}"
