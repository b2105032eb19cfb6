"""Pictures of a part's beads, and the data that they are drawn from."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.machines import Machine
from voidless.quantities import suggest
from voidless.toolpath.motion import MotionLimits, profile_moves
from voidless.toolpath.moves import Moves
from voidless.toolpath.priming import without_priming
from voidless.toolpath.turns import rises
from voidless.toolpath.view import BeadView, view_beads
from voidless.workflows.opening import SCHEMA_VERSION
from voidless.workflows.writing import write_text

if TYPE_CHECKING:
    from voidless.twin.deposit import LayerDeposit
    from voidless.twin.full.fields import WeldFields

__all__ = ["ALL", "SAID", "SHOWN", "Picture", "bead_columns", "write_picture"]

ALL = "all"
_WHERE = "voidless part"
SAID = {
    "beads": "",
    "width": "bead width [mm]",
    "speed": "real speed along the bead [mm/s]",
    "weld": "weld below, share of bulk strength [1]",
    "fill": "height of melt over layer thickness [1]",
}
SHOWN = tuple(SAID)
_DATA = {"beads": None, "width": "width_mm", "speed": "speed_mm_s", "weld": "through_share"}


@dataclass(frozen=True)
class Picture:
    """
    A picture that is wanted of a part.

    Attributes
    ----------
    file : Path
        `.svg`: the picture, with its data beside it; `.json`: the data alone.
    layer : str
        Number of a layer from 0, or `all`.
    show : str
        What colours tell, one of `SHOWN`.
    """

    file: Path
    layer: str = ALL
    show: str = "beads"

    def check(self) -> None:
        """
        Return nothing when the picture can be asked for.

        Raises
        ------
        InputError
            The file's ending, the layer or what is to be shown is none that is known.
        """
        if self.file.suffix not in (".svg", ".json"):
            raise InputError(
                f"{_WHERE} --picture",
                f"{self.file.name!r} ends otherwise",
                "a name ending in .svg, or in .json",
                "",
            )
        if self.show not in SHOWN:
            expected = "one of " + ", ".join(SHOWN)
            raise InputError(f"{_WHERE} --show", f"no {self.show!r}", expected, suggest(self.show, SHOWN))
        if self.layer != ALL and not (self.layer.isascii() and self.layer.isdigit()):
            raise InputError(f"{_WHERE} --layer", f"{self.layer!r}", f"a number from 0, or {ALL}", "")
        if self.show == "fill" and self.layer == ALL:
            raise InputError(f"{_WHERE} --show fill", "of all layers", "one layer", "Name it: --layer NUMBER")


def write_picture(
    picture: Picture,
    name: str,
    moves: Moves,
    limits: MotionLimits,
    machine: Machine | None,
    welds: WeldFields | None,
    progress: Callable[[str], None],
) -> list[str]:
    """
    Return the files that were written: the picture and its data, or the data alone.

    Parameters
    ----------
    picture : Picture
        What is wanted.
    name : str
        File name of the part.
    moves : Moves
        The part.
    limits : MotionLimits
        What times the moves.
    machine : Machine or None
        Its nozzle lays the deposit map.
    welds : WeldFields or None
        Welds of the same moves.
    progress : function
        Told what is being done.

    Raises
    ------
    InputError
        The picture cannot be made: no such layer, no machine or no welds where they are needed, too many beads.
    """
    if picture.show == "weld" and welds is None:
        raise InputError(f"{_WHERE} --show weld", "no material", "--material and --machine", "Name both.")
    layer = None if picture.layer == ALL else int(picture.layer)
    moves = without_priming(moves)
    view = view_beads(moves, profile_moves(moves, limits), layer)
    data: dict[str, Any] = {
        "schema_version": SCHEMA_VERSION,
        "file": name,
        "layer": picture.layer if layer is None else layer,
        "shows": picture.show,
    }
    if picture.show == "fill":
        if rises(moves):
            raise InputError(
                f"{_WHERE} --show fill",
                "of a path that rises turn by turn",
                "flat layers",
                "Show width, speed or weld: they follow its turns.",
            )
        progress(f"laying melt up to layer {layer}")
        deposit = _deposit(moves, machine, view, int(picture.layer))
        data["fill"] = _cells(deposit)
        drawn = _fill_drawing(deposit, name) if picture.file.suffix == ".svg" else ""
    else:
        data["beads"] = bead_columns(view, welds)
        if (chosen := _DATA[picture.show]) and all(value is None for value in data["beads"][chosen]):
            raise InputError(
                f"{_WHERE} --show {picture.show}", f"layer {layer} has none", "a layer on another", ""
            )
        drawn = _bead_drawing(picture, name, data["beads"]) if picture.file.suffix == ".svg" else ""
    written = [write_text(picture.file, drawn)] if drawn else []
    text = json.dumps(data, allow_nan=False, separators=(",", ":"))
    return [str(path) for path in (*written, write_text(picture.file.with_suffix(".json"), text))]


def bead_columns(
    view: BeadView, welds: WeldFields | None, fill: NDArray[np.float64] | None = None
) -> dict[str, list[float | None]]:
    """Return the beads as plain columns; what is not known is None."""
    found: dict[str, list[float | None]] = {"move": view.move.tolist(), "layer": view.layer.tolist()}
    for end, points in (("0", view.start_mm), ("1", view.end_mm)):
        for axis, letter in enumerate("xy"):
            found[f"{letter}{end}_mm"] = np.round(points[:, axis], 6).tolist()
    found["z_mm"] = np.round(view.end_mm[:, 2], 6).tolist()
    found["width_mm"] = np.round(view.width_mm, 6).tolist()
    found["speed_mm_s"] = np.round(view.speed_mm_s, 6).tolist()
    if welds is not None:
        for name in ("through_share", "beside_share"):
            share = dict(zip(welds.move.tolist(), getattr(welds, name).tolist(), strict=True))
            known = [share.get(move, math.nan) for move in view.move.tolist()]
            found[name] = [round(value, 6) if math.isfinite(value) else None for value in known]
    if fill is not None:
        found["fill"] = [round(value, 6) if math.isfinite(value) else None for value in fill.tolist()]
    return found


def _bead_drawing(picture: Picture, name: str, columns: Mapping[str, Any]) -> str:
    from voidless.reporting.layer import bead_drawing
    from voidless.reporting.shade import shade_of

    shown, shade = None, None
    if chosen := _DATA[picture.show]:
        shown = columns[chosen]
        length = np.hypot(
            np.subtract(columns["x1_mm"], columns["x0_mm"]), np.subtract(columns["y1_mm"], columns["y0_mm"])
        )
        shade = shade_of(shown, length.tolist(), SAID[picture.show])
    tilted = picture.layer == ALL
    what = "All layers seen from a corner" if tilted else f"Layer {picture.layer} from above"
    told = f"; colour: {SAID[picture.show]}" if chosen else ""
    alt = f"{name}: {what[0].lower()}{what[1:]}, beads at their width{told}."
    return bead_drawing(columns, "part", alt, shown, shade, tilted)


def _deposit(moves: Moves, machine: Machine | None, view: BeadView, layer: int) -> LayerDeposit:
    """Return one layer of the deposit map: melt is laid from the bed up to it."""
    from voidless.twin.deposit import deposit_layers

    if machine is None:
        raise InputError(f"{_WHERE} --show fill", "no machine", "--machine", "Its nozzle presses the melt.")
    nozzle = machine.nozzle_diameter_mm
    length = np.hypot(*(view.end_mm - view.start_mm)[:, :2].T)
    bead = float((view.width_mm * length).sum() / length.sum())
    return next(item for item in deposit_layers(moves, nozzle, bead) if item.layer == layer)


def _share(deposit: LayerDeposit) -> tuple[NDArray[np.float64], tuple[float, float]]:
    """Return melt over the layer thickness, NaN where none lies in the open, and the lower left corner. [1], [mm]"""
    share = np.where(deposit.inside | (deposit.fill > 0.0), deposit.fill, np.nan).astype(float)
    rows, columns = (np.flatnonzero(np.isfinite(share).any(axis=axis)) for axis in (1, 0))
    cell = deposit.grid.cell_mm
    corner = (deposit.grid.x_mm + cell * float(columns[0]), deposit.grid.y_mm + cell * float(rows[0]))
    return share[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1], corner


def _cells(deposit: LayerDeposit) -> dict[str, Any]:
    share, corner = _share(deposit)
    rows = [[round(v, 3) if math.isfinite(v) else None for v in row] for row in share.tolist()]
    return {
        "x_mm": corner[0],
        "y_mm": corner[1],
        "cell_mm": deposit.grid.cell_mm,
        "layer_mm": deposit.layer_mm,
        "height_mm": deposit.height_mm,
        "void_mm3": deposit.void_mm3,
        "under_mm3": deposit.under_mm3,
        "over_mm3": deposit.over_mm3,
        "melt_over_layer": rows,
    }


def _fill_drawing(deposit: LayerDeposit, name: str) -> str:
    from voidless.reporting.cells import cell_drawing
    from voidless.reporting.shade import Shade

    share, corner = _share(deposit)
    most = float(np.nanmax(share))
    shade = Shade(0.0, 1.25, SAID["fill"], above=most > 1.25)
    alt = f"{name}: layer {deposit.layer} from above, {SAID['fill']}."
    return cell_drawing(share, corner, deposit.grid.cell_mm, shade, "part", alt)
