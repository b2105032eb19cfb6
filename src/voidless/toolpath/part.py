"""What a G-code file holds: filament, path, layers, box, time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from voidless.beads.stadium import filament_area
from voidless.toolpath.heights import THICKEST_MM
from voidless.toolpath.limits import as_read, check_limits
from voidless.toolpath.motion import MotionLimits, SpeedProfile, profile_moves, spent_time
from voidless.toolpath.moves import Moves
from voidless.toolpath.priming import without_priming
from voidless.toolpath.ramps import climbing_share
from voidless.toolpath.reader import Program
from voidless.toolpath.turns import turned

if TYPE_CHECKING:
    from voidless.machines import Machine

__all__ = ["part_limits", "part_moves", "part_summary", "stated_limits"]

Floats = NDArray[np.float64]

_HEIGHT_DECIMALS = 3
_ASSUMED = MotionLimits((200.0, 200.0, 12.0, 60.0), (1000.0, 1000.0, 200.0, 5000.0), 1000.0, 1000.0, 0.02)
"""Limits for a file that states none, with no machine named. Assumed: usual values of a small machine."""
_WRITTEN_MM = 0.001
_SPEEDS = ("commanded", "entry", "peak", "exit", "slow")
_UNKNOWN_SHOWN = 12
_WAITS = ("M0", "M1", "M25", "M226", "M600", "M601")
"""Words at which a machine waits for a person, who is not in the file."""
_BACKWARDS = 0.2
"""Share of the moves with feed in the plane that may draw back, as wiping does, before absolute feed is doubted."""
_NONE = np.empty(0)


def stated_limits(stated: Mapping[str, Mapping[str, float]]) -> tuple[MotionLimits, list[str]]:
    """
    Return the limits of motion that a file states and, in words, which had to be assumed.

    Parameters
    ----------
    stated : mapping
        `Program.stated`.
    """

    def axes(name: str, usual: tuple[float, ...]) -> tuple[float, ...]:
        found = stated.get(name, {})
        return tuple(found.get(letter) or value for letter, value in zip("XYZE", usual, strict=True))

    missing = [name.partition("_")[0] for name in ("speed_mm_s", "acceleration_mm_s2") if name not in stated]
    steps = stated.get("step_mm_s")
    deviation = stated.get("deviation_mm", {}).get("J")
    if not steps and deviation is None:
        missing.append("junctions")
    limits = replace(
        _ASSUMED,
        speed_mm_s=axes("speed_mm_s", _ASSUMED.speed_mm_s),
        acceleration_mm_s2=axes("acceleration_mm_s2", _ASSUMED.acceleration_mm_s2),
        deviation_mm=deviation if deviation is not None else _ASSUMED.deviation_mm,
        step_mm_s=tuple(steps.get(letter, 1.0) for letter in "XYZE") if steps and deviation is None else None,
    )
    words = (
        [f"the file states no limits for {', '.join(missing)}; time assumes usual ones"] if missing else []
    )
    if limits.step_mm_s is not None and (
        unsaid := [letter for letter in "XYZE" if letter not in (steps or {})]
    ):
        words.append(f"the file states no speed step for {', '.join(unsaid)}; time assumes 1 mm/s")
    return limits, words


def _doubts(program: Program, moves: Moves) -> list[str]:
    """Return in words what a file leaves open: pauses without an end, and feed that seems to run backwards."""
    found = []
    if waits := {word: program.unknown[word] for word in _WAITS if word in program.unknown}:
        count = sum(waits.values())
        times = "once" if count == 1 else f"{count} times"
        found.append(
            f"the machine waits for a person {times} ({', '.join(waits)}), nobody knows how long: time and welds "
            "are told without, and the welds there will be colder"
        )
    if not moves.deposits.any():
        found.append("the file lays no bead: no filament advances while X or Y moves")
    fed = back = 0
    for part in moves.stretches():
        steps = part.steps_mm
        along = (part.volume_mm3 != 0.0) & ((steps[:, 0] != 0.0) | (steps[:, 1] != 0.0))
        fed, back = fed + int(along.sum()), back + int((along & (part.volume_mm3 < 0.0)).sum())
    if back > _BACKWARDS * fed:
        found.append(
            f"filament is drawn back along {100.0 * back / fed:.0f} % of the moves that feed: feed may be meant as "
            "relative (M83) where the file leaves it absolute"
        )
    return found


def _amounts(moves: Moves, flow: Any) -> dict[str, float]:
    """Return filament and volume with a factor on the flow of each move."""
    filament = moves.filament_mm * flow
    moving = float(filament[moves.deposits].sum())
    return {
        "filament_mm": float(filament.sum()),
        "moving_filament_mm": moving,
        "volume_mm3": moving * filament_area(moves.filament_diameter_mm),
    }


def _high_above(body: Moves) -> list[str]:
    """Return in words that the first layer begins where its thickness cannot be read off its height."""
    heights = body.z_mm[body.deposits & (body.layer >= 0)]
    if not len(heights) or not heights.min() > THICKEST_MM:
        return []
    return [f"the lowest bead lies at {heights.min():.4g} mm; its layer is taken as thick as the next one"]


def _climbing(written: Moves, body: Moves) -> list[str]:
    """Return in words that beads climb between layers and where they count."""
    before, after = (
        np.unique(moves.layer[moves.deposits & (moves.layer >= 0)]).size for moves in (written, body)
    )
    if body.z_mm is written.z_mm:
        return []
    share = 100.0 * climbing_share(written)
    where = f"they count to the layer that they lead up to, {after} layers of {before} heights"
    return [f"beads climb between layers along {share:.2g} % of the path: {where}"]


def _box(moves: Moves) -> list[list[float]] | None:
    """Return the lowest and the highest corner of all beads. [mm]"""
    if not moves.deposits.any():
        return None
    low, high = np.full(3, np.inf), np.full(3, -np.inf)
    for part in moves.stretches():
        rows = np.flatnonzero(part.deposits)
        ends = (axis[rows] for axis in (part.x_mm, part.y_mm, part.z_mm))
        for axis, points in enumerate(zip(ends, part.starts_mm(rows).T, strict=True)):
            low[axis] = min(low[axis], *(values.min(initial=np.inf) for values in points))
            high[axis] = max(high[axis], *(values.max(initial=-np.inf) for values in points))
    return [[round(float(value), 6) for value in corner] for corner in (low, high)]


def _with_diameter(program: Program, machine: Machine | None, problems: list[str]) -> Moves:
    """Return the moves with the volume that the filament at hand gives."""
    moves = program.moves
    if machine is None or machine.filament_diameter_mm == moves.filament_diameter_mm:
        return moves
    if program.diameter_mm is not None:
        problems.append(
            f"the file states a filament of {program.diameter_mm:g} mm, the machine has "
            f"{machine.filament_diameter_mm:g} mm; the file's is used"
        )
        return moves
    ratio = filament_area(machine.filament_diameter_mm) / filament_area(moves.filament_diameter_mm)
    return replace(
        moves, volume_mm3=moves.volume_mm3 * ratio, filament_diameter_mm=machine.filament_diameter_mm
    )


def part_moves(program: Program, machine: Machine | None) -> Moves:
    """Return the moves of a file with the volume that the machine's filament gives."""
    return _with_diameter(program, machine, [])


def part_limits(program: Program, machine: Machine | None) -> MotionLimits:
    """Return the limits that time a file's moves: the machine's, or those that the file states."""
    return MotionLimits.of(machine) if machine is not None else stated_limits(program.stated)[0]


def _limits(program: Program, machine: Machine | None, moves: Moves, problems: list[str]) -> MotionLimits:
    """Return the limits that time the moves; what is assumed or exceeded is added to the problems."""
    if machine is not None:
        problems += check_limits(as_read(moves), machine, _WRITTEN_MM)
    else:
        problems += stated_limits(program.stated)[1]
    return part_limits(program, machine)


def _limits_said(limits: MotionLimits, source: str) -> dict[str, Any]:
    """Return limits as they go out, with where they come from."""
    stepped = limits.step_mm_s is not None
    return {
        "source": source,
        "speed_mm_s": list(limits.speed_mm_s),
        "acceleration_mm_s2": list(limits.acceleration_mm_s2),
        "junction": "speed step" if stepped else "deviation",
        "step_mm_s": list(limits.step_mm_s) if limits.step_mm_s is not None else None,
        "deviation_mm": None if stepped else limits.deviation_mm,
    }


def _bead_speeds(moves: Moves, profile: SpeedProfile) -> dict[str, float] | None:
    """Return how fast beads are laid, as commanded and really, each millimetre of bead with equal weight."""
    moving = moves.deposits & (profile.time_s > moves.dwell_s)
    if not moving.any():
        return None
    fastest = profile.peak_mm_s.max(where=moving, initial=0.0)
    total, first = np.zeros(len(_SPEEDS) + 2), 0
    for part in moves.stretches():
        rows = slice(first, first + len(part))
        first += len(part)
        bead = moving[rows]
        length, time = part.length_mm[bead], (profile.time_s[rows] - part.dwell_s)[bead]
        commanded = np.minimum(part.speed_mm_s[bead], fastest)  # none stated: as fast as any
        along = (profile.entry_mm_s[rows][bead], profile.peak_mm_s[rows][bead], profile.exit_mm_s[rows][bead])
        slow = length / time < 0.5 * commanded
        total += [length.sum(), time.sum(), *((v * length).sum() for v in (commanded, *along, slow))]
    length_mm, time_s, *weighed = total.tolist()
    means = dict(zip(_SPEEDS, (value / length_mm for value in weighed), strict=True))
    slow_pct = 100.0 * means.pop("slow")
    return {**means, "real": length_mm / time_s, "below_half_pct": slow_pct}


def part_summary(program: Program, machine: Machine | None = None) -> dict[str, Any]:
    """
    Return what a G-code file holds, as written, and with the file's factors applied beside it.

    Parameters
    ----------
    program : Program
        What `read_gcode` returned.
    machine : Machine or None
        Filament diameter and limits; None takes 1.75 mm and the limits that the file states.

    Returns
    -------
    summary : dict
        `filament_mm` net of retraction, purge included; `moving_filament_mm` fed while X or Y moves,
        `volume_mm3` of it; `path_mm` of those moves in the plane; `layers`, their distinct heights, or turns;
        `box_mm`, their lowest and highest corner; `time_s` without homing and heating, `layer_times_s` from
        the bottom up, each of all that lies on one height (`one_by_one`: where parts are finished one after the other
        the next layer comes sooner), and `kind_times_s` that it consists of; `bead_speed_mm_s`, commanded, at the
        ends, at the peak and real, and the share of bead below half its commanded speed; `limits` that time the
        moves; `applied_*` with the factors of M220 and M221; `problems` in words; `unknown_words` with counts.

    Notes
    -----
    Distinct heights are told apart at 1 µm; of a path that rises all the way each turn is a layer. Lines that prime
    the nozzle beside the body (`priming`) have no layer time. Accelerations that
    the file sets per move (M204) hold within the limits of the axes.
    """
    problems = list(program.problems)
    moves = _with_diameter(program, machine, problems)
    limits = _limits(program, machine, moves, problems)
    problems += _doubts(program, moves)
    ones = np.broadcast_to(1.0, len(moves))
    written = replace(moves, speed_factor=ones, flow_factor=ones)
    amounts = _amounts(moves, ones)
    applied = {f"applied_{name}": value for name, value in _amounts(moves, moves.flow_factor).items()}
    if program.unknown:
        common = sorted(program.unknown, key=lambda word: (-program.unknown[word], word))[:_UNKNOWN_SHOWN]
        problems.append(
            "words that were not read: " + ", ".join(f"{w} ({program.unknown[w]})" for w in common)
        )
    same = bool((moves.speed_factor == 1.0).all() and (moves.flow_factor == 1.0).all())
    applied_s = None if same else float(profile_moves(moves, limits).time_s.sum())
    profile = profile_moves(written, limits)
    speeds = _bead_speeds(written, profile)
    profile = replace(profile, junction_mm_s=_NONE, peak_mm_s=_NONE, acceleration_mm_s2=_NONE)  # memory
    body = without_priming(written)
    problems += _high_above(body) + _climbing(written, body)
    layered, _ = turned(body)
    spent = spent_time(layered, profile)
    return {
        **amounts,
        "path_mm": sum(float(_path_mm(part)[part.deposits].sum()) for part in moves.stretches()),
        "layers": _layers(written) if layered is body else len(np.unique(layered.layer[moves.deposits])),
        "box_mm": _box(moves),
        "time_s": spent.total_s,
        **applied,
        "applied_time_s": spent.total_s if applied_s is None else applied_s,
        "filament_diameter_mm": moves.filament_diameter_mm,
        "moves": len(moves),
        "kind_times_s": spent.by_kind,
        "layer_times_s": spent.per_layer_s.tolist(),
        "one_by_one": _one_by_one(layered, flat=layered is body),
        "bead_speed_mm_s": speeds,
        "limits": _limits_said(limits, "machine" if machine else "file" if program.stated else "assumed"),
        "problems": problems,
        "unknown_words": dict(sorted(program.unknown.items())),
    }


def _one_by_one(moves: Moves, flat: bool) -> bool:
    """Return whether beads go back to a lower layer: parts are finished one after the other."""
    if flat and climbing_share(moves) > 0.0:
        return False  # it wanders over heights that are no layers
    layer = moves.layer[moves.deposits & (moves.layer >= 0)]
    return bool((np.diff(layer) < 0).any())


def _layers(moves: Moves) -> int:
    return len(np.unique(np.round(moves.z_mm[moves.deposits], _HEIGHT_DECIMALS)))


def _path_mm(moves: Moves) -> Floats:
    """Return the length of each move's path in the XY plane, along the arc where it is one. [mm]"""
    rise = np.diff(moves.z_mm, prepend=moves.start_mm[2])
    return np.sqrt(np.maximum(moves.length_mm**2 - rise**2, 0.0))
