"""Judge the G-code of a part: what the machine will really do."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from voidless.errors import InputError
from voidless.machines import Machine
from voidless.materials import Material
from voidless.quantities import Role, quantity
from voidless.settings import resolve
from voidless.toolpath.motion import profile_moves
from voidless.toolpath.moves import Moves
from voidless.toolpath.part import part_limits, part_moves, part_summary
from voidless.toolpath.priming import without_priming
from voidless.toolpath.reader import read_gcode
from voidless.toolpath.turns import rises
from voidless.toolpath.unusual import unusual_layers
from voidless.workflows.opening import SCHEMA_VERSION, open_campaign
from voidless.workflows.picture import Picture, write_picture
from voidless.workflows.predict import load_named_machine, load_named_material, number_of

if TYPE_CHECKING:
    from voidless.twin.full.fields import WeldFields

__all__ = ["judge_part"]

_SILENT = ("nozzle_c", "bed_c", "fan_pct")
"""Settings that a file may leave unsaid."""


def judge_part(
    file: str | Path,
    machine: str | None = None,
    progress: Callable[[str], None] = lambda _: None,
    material: str | None = None,
    facts: Mapping[str, str | float] | None = None,
    picture: Picture | None = None,
    campaign: str | Path | None = None,
) -> dict[str, Any]:
    """
    Return what a G-code file holds: amounts, layers, box, times, real speeds, problems, fill, welds.

    Parameters
    ----------
    file : path
        G-code.
    machine : str or None
        Library name or TOML file; its filament diameter and limits are used. None: 1.75 mm, and the
        limits that the file states.
    material : str or None
        Library name or TOML file: lay the melt into the layers (`fill`) and follow the heat of every weld (`welds`).
        Needs a machine.
    facts : mapping or None
        Settings that the file does not state, such as `bed_c`.
    picture : Picture or None
        A picture to write; `files` then names it and its data.
    campaign : path or None
        A campaign's folder instead of machine and material: what was measured on its spools and machine stands in
        place of the library's numbers (`own` says which).

    Raises
    ------
    InputError
        The file cannot be read or holds no move, welds are asked for without a machine, settings are given
        without a material, or the picture cannot be made.
    """
    path = Path(file)
    if not path.is_file():
        what = "is a folder" if path.is_dir() else "there is no such file"
        raise InputError(str(path), what, "a G-code file", "Check the name.")
    if picture is not None:
        picture.check()
    ground = _ground(machine, material, campaign)
    printer, polymer = ground.machine, ground.material
    if facts and not polymer:
        what, expected = "settings without a material", "--machine and --material, or --campaign, beside it"
        raise InputError(
            "voidless part --set", what, expected, "Settings serve the welds: name the material too."
        )
    settings = _settings(facts or {}, polymer, printer) if polymer and printer else {}
    progress("reading moves")
    program = read_gcode(path, progress=lambda share: progress(f"reading moves: {share:.0%}"))
    progress("timing moves")
    result = {
        "schema_version": SCHEMA_VERSION,
        "file": path.name,
        "machine": ground.names[0],
        **part_summary(program, printer),
    }
    moves, fields = part_moves(program, printer), None
    if picture is not None:
        picture.check_part(moves, printer, polymer is not None)
    if polymer and printer:
        from voidless.twin.full.summary import summarise_welds

        if not moves.deposits.any():
            what, expected = "lays no bead", "filament (E) that advances while X or Y moves"
            raise InputError(path.name, what, expected, "Check feed and its mode (M82, M83).")
        result["fill"] = _fill(moves, printer, progress)
        fields = _welds(moves, polymer, printer, settings, progress)
        result["material"] = ground.names[1]
        result["welds"] = summarise_welds(fields)
        result["welds"]["notes"] += [*_unheeded(facts or {}, fields.notes), *_tools(moves)]
        unusual = unusual_layers(moves, profile_moves(moves, part_limits(program, printer)))
        for item in result["welds"]["weakest_layers"]:
            item["unusual"] = list(unusual[item["layer"]])
        result["own"] = list(ground.own)
    if picture is not None:
        limits = part_limits(program, printer)
        result["files"] = write_picture(picture, path.name, moves, limits, printer, fields, progress)
    return result


@dataclass(frozen=True)
class _Ground:
    """Machine and material with their names, and what of them was measured."""

    names: tuple[str | None, str | None]
    machine: Machine | None
    material: Material | None
    own: tuple[str, ...] = ()


def _ground(machine: str | None, material: str | None, campaign: str | Path | None) -> _Ground:
    """Return what is named, or a campaign's machine and material as they were measured."""
    if campaign is not None:
        if machine or material:
            what = "a campaign and a machine or material"
            raise InputError("voidless part", what, "one or the other", "Leave out --machine and --material.")
        with open_campaign(campaign) as opened:
            names = (opened.campaign.machine, opened.campaign.material)
            return _Ground(names, opened.machine, opened.material, opened.ground_notes)
    if material and machine is None:
        raise InputError(
            "voidless part", "--material without --machine", "both", "Name the machine that prints it."
        )
    return _Ground(
        (machine, material),
        load_named_machine(machine) if machine else None,
        load_named_material(material) if material else None,
    )


def _fill(moves: Moves, machine: Machine, progress: Callable[[str], None]) -> dict[str, Any] | None:
    """Return how far beads fill the layers; None of a path that rises turn by turn, which has no flat layers."""
    from voidless.twin.part_fill import part_fill

    body = without_priming(moves)
    if rises(body):
        return None
    return part_fill(
        body, machine.nozzle_diameter_mm, lambda share: progress(f"laying melt into the layers: {share:.0%}")
    )


def _settings(facts: Mapping[str, str | float], material: Material, machine: Machine) -> dict[str, float]:
    """Return every setting, as given and as usual; a wrong one is refused before minutes of work."""
    where = "voidless part --set"
    given = {}
    for name, value in facts.items():
        item = quantity(name, where, Role.SETTING)
        given[name] = item.check(number_of(value, where), where)
    return resolve(given, material, machine, where)


def _unheeded(facts: Mapping[str, str | float], notes: tuple[str, ...]) -> list[str]:
    """Return in words which given settings change nothing, since the file itself says what was done."""
    silent = {name for name in _SILENT if any(note.startswith(f"{name} is not stated") for note in notes)}
    return [
        f"--set {name} changes nothing: the file states it"
        if name in _SILENT
        else f"--set {name} changes nothing: the file's moves say it"
        for name in facts
        if name not in {*silent, "chamber_c"}
    ]


def _tools(moves: Moves) -> list[str]:
    """Return in words that several tools lay beads, of which one material is told."""
    used = [] if moves.tool is None else np.unique(moves.tool[moves.deposits]).tolist()
    named = ", ".join(f"T{number}" for number in used)
    return (
        [f"{len(used)} tools lay beads ({named}): all are taken for this material"] if len(used) > 1 else []
    )


def _welds(
    moves: Moves,
    material: Material,
    machine: Machine,
    settings: Mapping[str, float],
    progress: Callable[[str], None],
) -> WeldFields:
    """Return what the full twin says of the welds of a file's moves."""
    from voidless.twin.full.fields import weld_fields

    progress("preparing the heat of every weld (on first use it is compiled, about a minute)")
    return weld_fields(
        moves,
        material,
        machine,
        settings,
        progress=lambda share: progress(f"following the heat of every weld: {share:.0%}"),
    )
