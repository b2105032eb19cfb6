"""
Standard against verify on cut-outs of planned bars: contours, raster aligned, turned and crossed.

    python benchmarks/heat/cutouts.py

Five layers of one upright bar. Beads longer than 1 mm whose healing by the verify mode is 0.3 to 0.9, weighted by
length: error of the healing integral to the power 1/4. Verify is no truth: see the cross-sections for its own error.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parents[2]))
from benchmarks.heat.run import GROUND, MACHINE, SETTINGS

from voidless.physics.heat.history.grid import Beads
from voidless.physics.heat.history.run import heat_history
from voidless.physics.heat.history.types import METHODS
from voidless.physics.weld.healing import rounded_healing
from voidless.specimens.order import SpecimenOrder
from voidless.toolpath.build import plan_build
from voidless.toolpath.motion import MotionLimits, profile_moves
from voidless.twin.full.fields import polymer_of
from voidless.twin.full.laying import Laying, lay_moves

Floats = NDArray[np.float64]
PER_BEAD = ("start", "end", "layer", "time_start", "time_end", "width", "warm", "air", "joined")
LAYERS = 5
CASES: dict[str, dict[str, float]] = {
    "as planned": {},
    "crossed at 45 degrees": {"raster_deg": 45.0, "raster_step_deg": 90.0},
    "turned by 20 degrees": {"raster_deg": 20.0},
}


def planned(settings: Mapping[str, float]) -> Laying:
    """Return an upright bar as the full twin lays it."""
    moves = plan_build((SpecimenOrder(kind="bar_z", count=1),), settings, MACHINE).moves
    return lay_moves(moves, profile_moves(moves, MotionLimits.of(MACHINE)), GROUND, settings)


def lowest(beads: Beads) -> Beads:
    """Return the beads of the lowest layers."""
    keep = beads.layer < LAYERS
    return replace(
        beads, **{name: getattr(beads, name)[keep] for name in PER_BEAD}, thick=beads.thick[:LAYERS]
    )


def integrals(laying: Laying, mode: str) -> dict[str, Floats]:
    """Return the mean integral of each bead's welds, NaN where there are none."""
    beads = lowest(laying.beads)
    history = heat_history(beads, polymer_of(GROUND), laying.around, METHODS[mode])
    bead, count = history.cells.event_bead, beads.layer.size
    sides = np.repeat(bead, history.beside.shape[1])
    welds = {"through": (bead, history.through), "beside": (sides, history.beside.ravel())}
    return {name: _means(index, values, count) for name, (index, values) in welds.items()}


def _means(bead: NDArray[np.int64], values: Floats, count: int) -> Floats:
    known = np.isfinite(values)
    number = np.bincount(bead[known], minlength=count)
    total = np.bincount(bead[known], weights=values[known], minlength=count)
    return np.where(number > 0, total / np.maximum(number, 1), np.nan)


def main() -> None:
    """Print a row a case and weld."""
    print("raster | weld | beads | rms % | mean % | 95 % of beads within %")
    for name, changed in CASES.items():
        laying = planned(SETTINGS | changed)
        length = lowest(laying.beads).length
        quick, fine = integrals(laying, "standard"), integrals(laying, "verify")
        for weld, true in fine.items():
            usable = np.isfinite(true) & np.isfinite(quick[weld]) & (length > 1e-3)
            healing = rounded_healing(np.where(usable, true, 0.0))
            usable &= (healing > 0.3) & (healing < 0.9)
            if not usable.any():
                print(f"{name} | {weld} | 0 | | |")
                continue
            off = 100 * ((quick[weld][usable] / true[usable]) ** 0.25 - 1.0)
            rms = np.sqrt(np.average(off**2, weights=length[usable]))
            mean = np.average(off, weights=length[usable])
            print(
                f"{name} | {weld} | {usable.sum()} | {rms:.1f} | {mean:+.1f} | {np.quantile(abs(off), 0.95):.1f}"
            )


if __name__ == "__main__":
    main()
