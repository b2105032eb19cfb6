"""Healing and strength share of the welds of every bead of a toolpath."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.machines import Machine
from voidless.materials import Material
from voidless.physics.heat.history.run import History, heat_history
from voidless.physics.heat.history.types import Polymer, method_named
from voidless.physics.weld.healing import rounded_healing
from voidless.physics.weld.shift import log10_shift_wlf, weld_rate_wlf
from voidless.toolpath.motion import MotionLimits, profile_moves
from voidless.toolpath.moves import Moves
from voidless.twin.full.laying import Laying, lay_moves
from voidless.twin.full.room import room_filled, sides_covered
from voidless.twin.ground import Ground, ground_of
from voidless.twin.parameters import prior_means

__all__ = ["WeldFields", "polymer_of", "weld_fields"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class WeldFields:
    """
    What the welds of a toolpath are like, bead by bead in the order of laying.

    Attributes
    ----------
    move, layer : (n,) int array
        Number of the move and of the layer, from 0.
    height_mm : (layers,) float array
        Top of each layer. [mm]
    area_mm2 : (n,) float array
        Area in plan that each bead covers on the grid. [mm²]
    through, beside : (n,) float array
        Degree of healing of the weld to the layer below and to beads laid earlier in the layer; NaN where there
        is none. A bead shorter than a cell that covers none (area 0) takes that of its neighbours along the path. [1]
    through_share, beside_share : (n,) float array
        Contact times healing: share of the bulk's strength that the weld can carry. [1]
    energy_residual : float
        Energy missing in the solver's book, over the energy laid. [1]
    simulated_s : float
        Time of printing and cooling that was followed. [s]
    notes : tuple of str
        What had to be taken from the settings.
    """

    move: Integers
    layer: Integers
    height_mm: Floats
    area_mm2: Floats
    through: Floats
    beside: Floats
    through_share: Floats
    beside_share: Floats
    energy_residual: float
    simulated_s: float
    notes: tuple[str, ...]


def weld_fields(
    moves: Moves,
    material: Material,
    machine: Machine | MotionLimits,
    settings: Mapping[str, float],
    ground: Ground | None = None,
    mode: str = "standard",
    progress: Callable[[float], None] = lambda _: None,
) -> WeldFields:
    """
    Return healing and strength share of the welds of every bead.

    Parameters
    ----------
    moves : Moves
        A planned or read toolpath.
    material : Material
        The polymer.
    machine : Machine or MotionLimits
        What times the moves; with limits alone, `ground` is needed.
    settings : mapping of str to float
        Every setting; rules where the moves are silent. [shop units]
    ground : Ground or None
        Facts in SI; None: of material and machine.
    mode : str
        `standard` or `verify`.
    progress : function
        Called with the share that is done.

    Raises
    ------
    InputError
        The moves lay nothing, the mode is not known, or the body is too large for the mode.

    Notes
    -----
    Heat history and healing: docs/methods/heat.md, weld.md. Contact of each bead is the fast twin's for its width,
    layer, speed, temperature and the share of the room to its neighbours that it fills; on a free side nothing closes
    the cusps. Parameters stand at their
    expected values, those of a measured machine where it was measured: a prediction's band is the fast twin's.
    """
    if ground is None:
        assert isinstance(machine, Machine)
        ground = ground_of(material, machine)
    limits = MotionLimits.of(machine) if isinstance(machine, Machine) else machine
    theta = prior_means(machine) if isinstance(machine, Machine) else {}
    laying = lay_moves(moves, profile_moves(moves, limits), ground, settings, theta)
    history = heat_history(
        laying.beads, polymer_of(ground), laying.around, method_named(mode), progress=progress
    )
    return _fields(laying, history)


def polymer_of(ground: Ground) -> Polymer:
    """Return the polymer as the heat history sees it, with the twin's healing law."""
    at = 10.0 ** float(-log10_shift_wlf(ground.weld_time_at, ground.wlf_at, ground.wlf_c1, ground.wlf_c2))

    def log_rate(temperature: Floats) -> Floats:
        warm = np.maximum(temperature, ground.stop + 1e-9)
        law = (ground.weld_time * at, ground.wlf_at, ground.wlf_c1, ground.wlf_c2, ground.stop)
        return np.asarray(np.log(weld_rate_wlf(warm, *law)))

    heat = ground.density * ground.heat_capacity
    return Polymer(ground.conductivity, heat, ground.stop, log_rate)


def _fields(laying: Laying, history: History) -> WeldFields:
    """Return means over the cells of each bead."""
    cells, count = history.cells, laying.move.size
    bead = cells.event_bead
    through = _means(bead, _healing(history.through), count)
    sides = _healing(history.beside)
    faces = np.isfinite(sides).sum(axis=1)
    beside = np.where(faces > 0, np.nansum(sides, axis=1) / np.maximum(faces, 1), np.nan)
    beside = _means(bead, beside, count)
    bare = np.bincount(bead, minlength=count) == 0
    through, beside = (_from_neighbours(v, bare, laying.beads.joined) for v in (through, beside))
    filled, covered = (
        _from_neighbours(share, np.isnan(share), laying.beads.joined)
        for share in (room_filled(laying.beads, laying.told, cells), sides_covered(laying.beads, cells))
    )
    layers, sideways = laying.contact(
        np.where(np.isfinite(filled), filled, 1.0), np.where(np.isfinite(covered), covered, 0.0)
    )
    area = 1e6 * cells.across[0] * cells.across[1] * np.bincount(bead, minlength=count).astype(float)
    return WeldFields(
        move=laying.move,
        layer=laying.beads.layer,
        height_mm=1e3 * np.cumsum(laying.beads.thick),
        area_mm2=area,
        through=through,
        beside=beside,
        through_share=through * layers,
        beside_share=beside * sideways,
        energy_residual=history.energy_residual,
        simulated_s=history.until - float(laying.beads.time_start[0]),
        notes=laying.notes,
    )


def _from_neighbours(values: Floats, bare: NDArray[np.bool_], joined: NDArray[np.bool_]) -> Floats:
    """Return values where bare beads have the mean of the nearest others before and behind on the same string."""
    string, place = np.cumsum(~joined), np.arange(bare.size)
    before = np.maximum.accumulate(np.where(bare, -1, place))
    behind = np.minimum.accumulate(np.where(bare, bare.size, place)[::-1])[::-1]
    near = np.stack([before, behind])
    inside = (near >= 0) & (near < bare.size)
    near = np.where(inside, near, 0)
    own = np.where(inside & (string[near] == string), values[near], np.nan)
    known = np.isfinite(own)
    mean = np.where(known, own, 0.0).sum(axis=0) / np.maximum(known.sum(axis=0), 1)
    return np.asarray(np.where(bare, np.where(known.any(axis=0), mean, np.nan), values))


def _healing(integral: Floats) -> Floats:
    """Return degrees of healing, NaN where there is no weld."""
    known = np.isfinite(integral)
    return np.where(known, rounded_healing(np.where(known, integral, 0.0)), np.nan)


def _means(bead: Integers, values: Floats, count: int) -> Floats:
    """Return the mean of each bead's known values; NaN where there are none."""
    known = np.isfinite(values)
    total = np.bincount(bead[known], weights=values[known], minlength=count)
    number = np.bincount(bead[known], minlength=count)
    return np.where(number > 0, total / np.maximum(number, 1), np.nan)
