"""
Grid noise on curved paths: welds round rings against their own mean, which is what symmetry asks for.

    python benchmarks/heat/rings.py

Rings of one to three passes, 0.45 mm wide, 0.2 mm layers, 30 mm/s, chords of 1 mm, 6 s a layer or more. Standard
deviation over the mean of the healing (integral to the power 1/4) of single chords, away from where a ring begins;
three layers.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parents[2]))
from benchmarks.heat.run import GROUND, ROOM

from voidless.physics.heat.history.grid import Beads
from voidless.physics.heat.history.run import History, heat_history
from voidless.physics.heat.history.types import METHODS
from voidless.twin.full.fields import polymer_of

Floats = NDArray[np.float64]
WIDTH, THICK, SPEED, CHORD, LAYER_S, LAYERS = 0.45e-3, 0.2e-3, 0.03, 1e-3, 6.0, 20
LOOKED_AT = (8, 10, 12)
AWAY = 0.1  # share of the turn at either end that is left out


def rings(radius: float, passes: int) -> tuple[Beads, Floats, Floats]:
    """Return concentric rings layer by layer, and pass and place round the turn of each chord."""
    rows, time = [], 0.0
    for layer in range(LAYERS):
        begun = time
        for k in range(passes):
            own = radius - k * WIDTH
            angle = np.linspace(0.0, 2.0 * np.pi, round(2.0 * np.pi * own / CHORD) + 1)
            ends = own * np.column_stack([np.cos(angle), np.sin(angle)])
            times = time + np.arange(angle.size) * np.hypot(*(ends[1] - ends[0])) / SPEED
            share = angle[:-1] / (2.0 * np.pi)
            rows += [
                (*ends[n], *ends[n + 1], layer, times[n], times[n + 1], n > 0, k, share[n])
                for n in range(share.size)
            ]
            time = times[-1] + 0.05
        time = max(time, begun + LAYER_S)
    found = np.array(rows, dtype=float)
    count = len(found)
    beads = Beads(
        start=found[:, 0:2],
        end=found[:, 2:4],
        layer=found[:, 4].astype(np.int64),
        time_start=found[:, 5],
        time_end=found[:, 6],
        width=np.full(count, WIDTH),
        warm=np.full(count, 503.15),
        air=np.full(count, 30.0),
        joined=found[:, 7] > 0.0,
        thick=np.full(LAYERS, THICK),
    )
    return beads, found[:, 8], found[:, 9]


def noise(history: History, values: Floats, beads: Beads, chosen: NDArray[np.bool_]) -> float:
    """Return the standard deviation of chords over their mean, root mean square over layers. [1]"""
    known = np.isfinite(values)
    bead, count = history.cells.event_bead[known], beads.layer.size
    number = np.bincount(bead, minlength=count)
    total = np.bincount(bead, weights=values[known] ** 0.25, minlength=count)
    spread = []
    for layer in LOOKED_AT:
        here = chosen & (beads.layer == layer) & (number > 0)
        healing = total[here] / number[here]
        spread.append(healing.std() / healing.mean())
    return float(np.sqrt(np.mean(np.square(spread))))


def main() -> None:
    """Print a row a ring: noise through the layers and beside, by pass from the outside."""
    standard = METHODS["standard"]
    ways = {"standard": standard, "2 cells a bead": replace(standard, cells_per_bead=2)}
    print("radius mm | passes | " + " | ".join(f"{way}: through %, beside %" for way in ways))
    for radius, passes in (
        (2.5e-3, 1),
        (2.5e-3, 3),
        (5e-3, 1),
        (5e-3, 3),
        (10e-3, 1),
        (10e-3, 3),
        (20e-3, 1),
        (20e-3, 3),
    ):
        beads, which, share = rings(radius, passes)
        away = (share > AWAY) & (share < 1.0 - AWAY)
        told = []
        for method in ways.values():
            history = heat_history(beads, polymer_of(GROUND), ROOM, method)
            sides = np.isfinite(history.beside)
            beside = np.nansum(history.beside, axis=1) / np.maximum(sides.sum(axis=1), 1)
            beside[~sides.any(axis=1)] = np.nan
            through = [
                100 * noise(history, history.through, beads, away & (which == k)) for k in range(passes)
            ]
            beside_each = [100 * noise(history, beside, beads, away & (which == k)) for k in range(1, passes)]
            told.append(
                " ".join(f"{v:.1f}" for v in through)
                + ", "
                + (" ".join(f"{v:.1f}" for v in beside_each) or "-")
            )
        print(f"{1e3 * radius:g} | {passes} | " + " | ".join(told), flush=True)


if __name__ == "__main__":
    main()
