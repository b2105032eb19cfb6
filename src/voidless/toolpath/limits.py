"""What in a list of moves exceeds a machine."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from voidless.beads.stadium import filament_area
from voidless.toolpath.moves import Kind, Moves

if TYPE_CHECKING:
    from voidless.machines import Machine

__all__ = ["check_limits", "check_temperatures"]

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
    found: list[str] = []
    room = {"x": machine.bed_x_mm, "y": machine.bed_y_mm, "z": machine.bed_z_mm}
    for axis, most in room.items():
        place = getattr(moves, f"{axis}_mm")
        out = ~((place >= -rounding_mm) & (place <= most + rounding_mm))
        if out.any():
            worst = float(place[out][np.argmax(np.abs(place[out] - most / 2.0))])
            found.append(f"{axis} = {worst:g} mm lies outside 0 to {most:g} mm ({int(out.sum())} moves)")
    for name, (values, most) in _speeds(moves, machine, rounding_mm).items():
        over = ~(values <= most * (1.0 + _EXACT))
        if over.any():
            found.append(
                f"{name} {float(values[over].max()):.4g} is above {most:g} ({int(over.sum())} moves)"
            )
    if np.any(moves.nozzle_c > machine.nozzle_max_c):
        found.append(f"nozzle {np.nanmax(moves.nozzle_c):g} C is above {machine.nozzle_max_c:g} C")
    if np.any((moves.fan_pct < 0.0) | (moves.fan_pct > 100.0)):
        found.append("fan duty lies outside 0 to 100 %")
    return found
