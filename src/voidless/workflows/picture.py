"""Pictures of a part's beads, and the data that they are drawn from."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.machines import Machine
from voidless.quantities import suggest
from voidless.reporting.layer import MOST_BEADS
from voidless.toolpath.motion import MotionLimits, profile_moves
from voidless.toolpath.moves import Moves
from voidless.toolpath.priming import without_priming
from voidless.toolpath.turns import rises, turned
from voidless.toolpath.view import BeadView, beads_of, view_beads
from voidless.workflows.opening import SCHEMA_VERSION
from voidless.workflows.writing import write_pieces, write_text

if TYPE_CHECKING:
    from voidless.twin.deposit import LayerDeposit
    from voidless.twin.full.fields import WeldFields

__all__ = ["ALL", "SAID", "SHOWN", "Picture", "bead_columns", "write_picture"]

ALL = "all"
_WHERE = "voidless part"
_AT_ONCE = 1 << 16  # numbers turned into text at a time
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

    @property
    def number(self) -> int | None:
        """Number of the layer, None of all."""
        return None if self.layer == ALL else int(self.layer)

    def check_part(self, moves: Moves, machine: Machine | None, material: bool) -> None:
        """
        Return nothing when the picture can be drawn of these moves, before the heat of any weld is followed.

        Raises
        ------
        InputError
            Machine or material is not named that it needs, there is no such layer, the path rises turn by turn where
            flat layers are needed, or there are more beads than a picture holds.
        """
        if self.show == "weld" and not material:
            raise InputError(f"{_WHERE} --show weld", "no material", "--material and --machine", "Name both.")
        if self.show == "fill" and machine is None:
            what = "Its nozzle presses the melt."
            raise InputError(f"{_WHERE} --show fill", "no machine", "--machine", what)
        moves = without_priming(moves)
        count = int(beads_of(turned(moves)[0], self.number).sum())
        if self.show == "fill" and rises(moves):
            raise InputError(
                f"{_WHERE} --show fill",
                "of a path that rises turn by turn",
                "flat layers",
                "Show width, speed or weld: they follow its turns.",
            )
        if self.file.suffix == ".svg" and self.show != "fill" and count > MOST_BEADS:
            raise InputError(
                f"{_WHERE} --picture",
                f"{count:,} beads",
                f"at most {MOST_BEADS:,} in one picture",
                "Draw one layer (--layer NUMBER), or name a file that ends in .json: it takes the data of all.",
            )


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
    layer = picture.number
    moves = without_priming(moves)
    view = view_beads(moves, profile_moves(moves, limits), layer)
    data: dict[str, Any] = {
        "schema_version": SCHEMA_VERSION,
        "file": name,
        "layer": picture.layer if layer is None else layer,
        "shows": picture.show,
    }
    pieces: Iterable[bytes]
    if picture.show == "fill":
        progress(f"laying melt up to layer {layer}")
        deposit = _deposit(moves, machine, view, int(picture.layer))
        pieces = (_text({**data, "fill": _cells(deposit)}),)
        drawn = _fill_drawing(deposit, name) if picture.file.suffix == ".svg" else ""
    else:
        columns = _columns(view, welds)
        if (chosen := _DATA[picture.show]) and not np.isfinite(columns[chosen]).any():
            raise InputError(
                f"{_WHERE} --show {picture.show}", f"layer {layer} has none", "a layer on another", ""
            )
        progress("writing the picture")
        pieces = _pieces(data, columns)
        drawn = (
            _bead_drawing(picture, name, bead_columns(view, welds)) if picture.file.suffix == ".svg" else ""
        )
    written = [write_text(picture.file, drawn)] if drawn else []
    return [str(path) for path in (*written, write_pieces(picture.file.with_suffix(".json"), pieces))]


def _text(data: object) -> bytes:
    return json.dumps(data, allow_nan=False, separators=(",", ":")).encode("utf-8")


def _pieces(data: Mapping[str, Any], columns: Mapping[str, NDArray[Any]]) -> Iterator[bytes]:
    """Yield the JSON of beads piece by piece: a file of millions is never text as a whole."""
    yield _text(data)[:-1] + b',"beads":{'
    for place, (name, column) in enumerate(columns.items()):
        yield (b"," if place else b"") + _text(name) + b":["
        for first in range(0, len(column), _AT_ONCE):
            yield (b"," if first else b"") + _text(_listed(column[first : first + _AT_ONCE]))[1:-1]
        yield b"]"
    yield b"}}"


def bead_columns(
    view: BeadView, welds: WeldFields | None, fill: NDArray[np.float64] | None = None
) -> dict[str, list[float | None]]:
    """Return the beads as plain columns; what is not known is None."""
    return {name: _listed(column) for name, column in _columns(view, welds, fill).items()}


def _columns(
    view: BeadView, welds: WeldFields | None, fill: NDArray[np.float64] | None = None
) -> dict[str, NDArray[Any]]:
    """Return the beads as columns, NaN where something is not known."""
    found: dict[str, NDArray[Any]] = {"move": view.move, "layer": view.layer}
    for end, points in (("0", view.start_mm), ("1", view.end_mm)):
        found |= {f"{letter}{end}_mm": points[:, axis] for axis, letter in enumerate("xy")}
    found |= {"z_mm": view.end_mm[:, 2], "width_mm": view.width_mm, "speed_mm_s": view.speed_mm_s}
    if welds is not None:
        for name in ("through_share", "beside_share"):
            share = np.full(1 + max(welds.move.max(initial=0), view.move.max(initial=0)), np.nan)
            share[welds.move] = getattr(welds, name)
            found[name] = share[view.move]
    return found if fill is None else {**found, "fill": fill}


def _listed(column: NDArray[Any]) -> list[float | None]:
    """Return a column as plain numbers to six decimals, None where one is not finite."""
    rounded = np.round(column, 6)
    if np.isfinite(rounded).all():
        return list(rounded.tolist())
    return [value if math.isfinite(value) else None for value in rounded.tolist()]


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
