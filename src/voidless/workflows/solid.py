"""Plan a given solid part: mesh file -> sections -> toolpath and G-code."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from voidless.errors import InputError
from voidless.meshes.faults import faults_in_words, require_solid
from voidless.meshes.limits import check_bytes
from voidless.meshes.mesh import Mesh, moved
from voidless.meshes.reading import read_mesh
from voidless.meshes.sections import mesh_sections
from voidless.meshes.turning import turned_outwards
from voidless.meshes.uniting import united_volume
from voidless.toolpath.build import Solid, alike, grams, layer_count, plan_solids
from voidless.toolpath.cautions import BUILD_CAUTIONS
from voidless.toolpath.layout import arrange
from voidless.toolpath.listing import limits_listing, own_code_notes
from voidless.toolpath.motion import build_time
from voidless.toolpath.moves import Toolpath
from voidless.toolpath.sections import ALONE, Crew
from voidless.toolpath.writer import write_gcode
from voidless.workflows.feeding import fed_ahead, fed_dict, fed_words
from voidless.workflows.limits import limit_dict
from voidless.workflows.opening import SCHEMA_VERSION, OpenCampaign, code_version, open_campaign
from voidless.workflows.window import recipe_settings
from voidless.workflows.writing import output_folder, write_text

if TYPE_CHECKING:
    from voidless.machines import Machine

__all__ = ["PlannedPart", "factors_of", "make_part", "plan_part"]

_HEIGHT_MM = 0.01
"""By how much whole layers may miss a height without a word. [mm]"""
_MOST_LAYERS = 20_000


@dataclass(frozen=True, eq=False)
class PlannedPart:
    """
    A part as it is filled.

    Attributes
    ----------
    mesh : Mesh
        The part about the middle of its footprint, standing on the plane 0. [mm]
    toolpath : Toolpath
        Its build.
    notes : tuple of str
        What was assumed, which harmless faults the mesh has, what hangs in the air, in words.
    """

    mesh: Mesh
    toolpath: Toolpath
    notes: tuple[str, ...]


def plan_part(
    data: bytes,
    name: str,
    settings: Mapping[str, float],
    machine: Machine,
    unit: str | None = None,
    turn_faces: bool = False,
    crew: Crew = ALONE,
) -> PlannedPart:
    """
    Return the toolpath of a solid part, filled by the same planner as specimens.

    Parameters
    ----------
    data : bytes
        Content of an STL or 3MF file.
    name : str
        Its name.
    settings : mapping
        Complete process settings in shop units.
    machine : Machine
        Bed and limits.
    unit : str or None
        Length unit of an STL (`mm`, `cm`, `m`, `inch`); None takes millimetres.
    turn_faces : bool
        Whether faces that look to the wrong side are turned before the mesh is judged.
    crew : Crew
        How many processes plan the sections of a large part; the result is the same.

    Returns
    -------
    part : PlannedPart
        The part in the middle of the bed, as it stands in the file.

    Raises
    ------
    InputError
        The file is damaged or too large, the mesh bounds no solid, the part does not fit, or its layers are too many.

    Notes
    -----
    Sections are taken in the middle of each layer. Every part is solid and no support is planned: notes name the
    heights at which something begins in the air.
    """
    file = read_mesh(data, name, unit)
    mesh, notes = file.mesh, list(file.notes)
    if turn_faces:
        mesh, turned = turned_outwards(mesh, name)
        notes.append(f"{turned} of {len(mesh.faces)} faces were turned")
    notes += faults_in_words(require_solid(mesh, name))
    mesh = _standing(mesh)
    (placement,) = arrange([(name, mesh.size_mm)], machine)
    regions = _regions(mesh, name, float(settings["layer_mm"]))
    notes += _rounded(mesh, len(regions), float(settings["layer_mm"]))
    notes += _in_the_air(regions, float(settings["layer_mm"]))
    toolpath = plan_solids([Solid(placement, regions)], settings, machine, crew=crew)
    return PlannedPart(mesh, toolpath, (*notes, *toolpath.notes))


def _standing(mesh: Mesh) -> Mesh:
    low, high = mesh.box_mm
    return moved(mesh, (-(low[0] + high[0]) / 2.0, -(low[1] + high[1]) / 2.0, -low[2]))


def _regions(mesh: Mesh, name: str, layer_mm: float) -> list[Any]:
    if mesh.size_mm[2] < layer_mm / 2.0:
        what = f"the part is {mesh.size_mm[2]:.3g} mm high, less than half a layer of {layer_mm:g} mm"
        raise InputError(name, what, "at least one layer", "Lay its thickness upwards, or check the unit.")
    count = layer_count(mesh.size_mm[2], layer_mm)
    if count > _MOST_LAYERS:
        raise InputError(
            name, f"{count} layers", f"at most {_MOST_LAYERS}", "Raise layer_mm, or check the unit."
        )
    heights = np.minimum((np.arange(count) + 0.5) * layer_mm, mesh.size_mm[2])
    return alike(list(mesh_sections(mesh, heights)))


def _rounded(mesh: Mesh, layers: int, layer_mm: float) -> list[str]:
    """Return by how much whole layers miss the height, in words, where they do."""
    height = layers * layer_mm
    if abs(height - mesh.size_mm[2]) < _HEIGHT_MM:
        return []
    return [f"{mesh.size_mm[2]:.4g} mm high, printed {height:.4g} mm: whole layers of {layer_mm:g} mm"]


def _in_the_air(regions: Sequence[Any], layer_mm: float) -> list[str]:
    """Return where a region, or one of its pieces, has nothing below it, in words."""
    heights = []
    for number in range(1, len(regions)):
        below, here = regions[number - 1], regions[number]
        if here is below:
            continue
        pieces = getattr(here, "geoms", [here])
        if any(not piece.is_empty and not piece.intersects(below) for piece in pieces):
            heights.append(f"{number * layer_mm:.2f}")
    if not heights:
        return []
    shown = ", ".join(heights[:5]) + (f" and {len(heights) - 5} more" if len(heights) > 5 else "")
    return [f"something begins in the air at heights of {shown} mm; no support is planned: turn the part"]


def make_part(
    folder: str | Path,
    file: str | Path,
    run: str | None = None,
    dry: bool = False,
    unit: str | None = None,
    turn_faces: bool = False,
    progress: Callable[[str], None] = lambda _: None,
    processes: int = 1,
    feed_ahead: bool = False,
) -> dict[str, Any]:
    """
    Return the G-code file of a part at a campaign's settings, and what it asks of the machine.

    Parameters
    ----------
    folder : path
        The campaign's folder.
    file : path
        STL or 3MF.
    run : str or None
        Run whose settings are used; None takes the recipe that the campaign's window gives so far, as it is recorded
        where nothing has changed since.
    dry : bool
        Whether to write nothing.
    unit, turn_faces
        As of `plan_part`.
    progress : callable
        Told of each stage.
    processes : int
        Most processes that plan sections; beyond 1 the main module of the program must be importable without
        running. [1]
    feed_ahead : bool
        Whether to feed ahead of the machine's measured pressure lag.

    Raises
    ------
    InputError
        The run or the file is not there, or the part cannot be planned.
    """
    path = Path(file)
    data = _content(path)
    factors = None if run is not None else recipe_settings(folder)
    with open_campaign(folder) as opened:
        settings = opened.settings(factors or factors_of(opened, str(run)))
        progress("sections and toolpath")
        part = plan_part(
            data, path.name, settings, opened.machine, unit, turn_faces, Crew(processes, progress)
        )
        fed = fed_ahead(part.toolpath, opened.machine) if feed_ahead else None
        toolpath = fed.toolpath if fed else part.toolpath
        label = run or "recipe"
        header = [f"Part {path.name}", f"Settings of {label}", f"Voidless {code_version()}"]
        text = write_gcode(toolpath, opened.machine, settings, header)
        progress("limits")
        rows = limits_listing(text, toolpath, settings, opened.machine)
        files = []
        if not dry:
            written = write_text(output_folder(opened) / "parts" / f"{path.stem}_{label}.gcode", text)
            files.append({"build": "", "kind": "gcode", "path": str(written)})
        density = opened.material.property("density_g_cm3").value
        return {
            "schema_version": SCHEMA_VERSION,
            "files": files,
            "part": path.name,
            "settings": settings,
            "size_mm": list(part.mesh.size_mm),
            "volume_mm3": united_volume(part.mesh),
            "layers": part.toolpath.layers,
            "build_min": build_time(toolpath, opened.machine).total_s / 60.0,
            "grams": grams(toolpath, density),
            "limits": [limit_dict(row) for row in rows],
            "lag": fed_dict(fed, opened.machine),
            "notes": [
                *own_code_notes(rows, opened.machine),
                *part.notes,
                *filter(None, [fed_words(fed, opened.machine)]),
            ],
            "dry": dry,
            "cautions": list(BUILD_CAUTIONS),
        }


def _content(path: Path) -> bytes:
    if not path.is_file():
        raise InputError(str(path), "there is no such file", "an STL or 3MF file", "Check the name.")
    check_bytes(path.name, path.stat().st_size)
    return path.read_bytes()


def factors_of(opened: OpenCampaign, run: str) -> Mapping[str, float]:
    """
    Return the factors of a run.

    Raises
    ------
    InputError
        There is no such run.
    """
    known = {build.run: build.settings for build in opened.store.builds()}
    if run not in known:
        expected = "one of " + ", ".join(known) if known else "a planned run"
        raise InputError("voidless make", f"no run {run!r}", expected, "Name a planned run.")
    return dict(known[run])
