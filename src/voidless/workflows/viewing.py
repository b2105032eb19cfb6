"""The toolpaths that a campaign has given out, and one of them as beads to look at from all sides."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.toolpath.heights import layer_tops
from voidless.toolpath.motion import profile_moves
from voidless.toolpath.part import part_limits, part_moves
from voidless.toolpath.priming import without_priming
from voidless.toolpath.reader import read_gcode
from voidless.toolpath.view import BeadView, view_beads
from voidless.workflows.opening import SCHEMA_VERSION, OpenCampaign, code_version, open_campaign
from voidless.workflows.picture import SAID, bead_columns
from voidless.workflows.writing import output_folder

if TYPE_CHECKING:
    from voidless.toolpath.moves import Moves
    from voidless.twin.full.fields import WeldFields

__all__ = ["one_toolpath", "toolpath_list"]

Floats = NDArray[np.float64]

_FOLDERS = ("builds", "parts")
_MOST_BEADS = 600_000
"""More would be some 100 MB for a browser. [1]"""
_SHOWN = {"width": "width_mm", "speed": "speed_mm_s", "weld": "through_share", "fill": "fill"}


def toolpath_list(folder: str | Path) -> dict[str, Any]:
    """
    Return the G-code files of a campaign that stand in its output folder, newest first.

    Parameters
    ----------
    folder : path
        The campaign's folder.
    """
    with open_campaign(folder) as opened:
        rows = [
            {
                "name": name,
                "kind": path.parent.name,
                "size_mb": path.stat().st_size / 1e6,
                "written": path.stat().st_mtime,
            }
            for name, path in _files(opened).items()
        ]
        rows.sort(key=lambda row: (-float(row["written"]), row["name"]))  # type: ignore[arg-type]
        toolpaths = [{name: row[name] for name in ("name", "kind", "size_mb")} for row in rows]
        return {
            "schema_version": SCHEMA_VERSION,
            "campaign": {"name": opened.campaign.name},
            "toolpaths": toolpaths,
            "provenance": {"code_version": code_version()},
        }


def one_toolpath(folder: str | Path, name: str, welds: bool = False, fill: bool = False) -> dict[str, Any]:
    """
    Return the beads of one G-code file of a campaign, with scales of colour for what they show.

    Parameters
    ----------
    folder : path
        The campaign's folder.
    name : str
        As `toolpath_list` names it.
    welds : bool
        Whether to follow the heat of every weld, which takes a while.
    fill : bool
        Whether to lay all beads on cells and tell how far each one's room is filled, which takes a while.

    Returns
    -------
    toolpath : dict
        `beads`, columns as of a picture's data; `tops_mm`, height of each layer; `layer_numbers`; `scales` by what is
        shown: `column`, `label`, `low`, `high`, `ticks`; `colours` from low to high.

    Raises
    ------
    InputError
        There is no such file, or it holds too many beads or none.
    """
    with open_campaign(folder) as opened:
        files = _files(opened)
        if name not in files:
            raise InputError(
                "toolpath", f"no file {name!r}", "one that `voidless make` wrote", "Make it first."
            )
        program = read_gcode(files[name])
        moves = without_priming(part_moves(program, opened.machine))
        view = view_beads(moves, profile_moves(moves, part_limits(program, opened.machine)))
        if len(view) > _MOST_BEADS:
            raise InputError(
                name,
                f"{len(view)} beads",
                f"at most {_MOST_BEADS}",
                "Draw its layers: voidless part --picture.",
            )
        fields = _welds(opened, moves, name) if welds else None
        columns = bead_columns(view, fields, _fill(opened, moves, view) if fill else None)
        numbers, tops = layer_tops(view.end_mm[:, 2], view.layer)
        return {
            "schema_version": SCHEMA_VERSION,
            "campaign": {"name": opened.campaign.name},
            "name": name,
            "layer_numbers": numbers.tolist(),
            "tops_mm": np.round(tops, 6).tolist(),
            "beads": columns,
            **_scales(view, columns),
            "provenance": {"code_version": code_version()},
        }


def _files(opened: OpenCampaign) -> dict[str, Path]:
    """Return the G-code files by name; a name is one part of a path, so that none leads elsewhere."""
    out = output_folder(opened)
    return {path.name: path for part in _FOLDERS for path in sorted((out / part).glob("*.gcode"))}


def _welds(opened: OpenCampaign, moves: Moves, name: str) -> WeldFields:
    """Return the welds at the settings of the run that a file's name ends with, else at the usual ones."""
    from voidless.twin.full.fields import weld_fields

    run = name.removesuffix(".gcode").rpartition("_")[2]
    found = [build.settings for build in opened.store.builds() if build.run == run]
    usual = dict(zip(opened.space.names, opened.usual.tolist(), strict=True))
    settings = opened.settings(found[0] if found else usual)
    return weld_fields(moves, opened.material, opened.machine, settings)


def _fill(opened: OpenCampaign, moves: Moves, view: BeadView) -> Floats:
    """Return how far each bead's room is filled."""
    from voidless.twin.bead_fill import bead_fill
    from voidless.twin.deposit import deposit_layers
    from voidless.twin.part_fill import CELLS, usual_width

    layers = deposit_layers(
        moves, opened.machine.nozzle_diameter_mm, usual_width(moves), cells_per_bead=CELLS
    )
    return bead_fill(layers, view)


def _scales(view: BeadView, columns: Mapping[str, Any]) -> dict[str, Any]:
    from voidless.reporting.shade import shade_of

    length = np.linalg.norm(view.end_mm - view.start_mm, axis=1).tolist()
    scales, colours = {}, []
    for shown, column in _SHOWN.items():
        if column not in columns or all(value is None for value in columns[column]):
            continue
        shade = shade_of(columns[column], length, SAID[shown])
        colours = shade.colours
        scales[shown] = {
            "column": column,
            "label": shade.label,
            "low": shade.low,
            "high": shade.high,
            "ticks": [{"place": place, "text": text} for place, text in shade.ticks()],
        }
    return {"scales": scales, "colours": colours}
