"""Beads, polymers and measures for checks of the heat history."""

import sys
from pathlib import Path

import numpy as np

from voidless.physics.heat.history.grid import Beads
from voidless.physics.heat.history.run import heat_history
from voidless.physics.heat.history.types import METHODS, Polymer, Surroundings

sys.path.insert(0, str(Path(__file__).parents[1] / "nightly"))
import heat_cross_sections as sections

AIR = 298.15


def exponential(reference, scale, conductivity=0.2, heat_per_volume=1.6e6, stop=250.0):
    """
    Return a polymer whose healing rate is exp((T - reference) / scale).

    An integral of it tells temperature: an error of one part in a hundred is one of a hundredth of the scale.
    """
    return Polymer(conductivity, heat_per_volume, stop, lambda warm: (warm - reference) / scale)


def laid(passes, layers, thickness, width, air=0.0):
    """Return straight beads: (x0, y0, x1, y1, layer, start s, end s, laid K) each."""
    rows = np.array(passes, dtype=float)
    count = len(rows)
    return Beads(
        rows[:, 0:2],
        rows[:, 2:4],
        rows[:, 4].astype(np.int64),
        rows[:, 5],
        rows[:, 6],
        np.full(count, width),
        rows[:, 7],
        np.full(count, air),
        np.zeros(count, dtype=bool),
        np.full(layers, thickness),
    )


def plate(times, warm, side=20e-3, thickness=0.2e-3, width=0.5e-3, air=0.0):
    """Return a plate whose layers are laid at once, each at its own time and temperature."""
    lines = (np.arange(round(side / width)) + 0.5) * width
    passes = [
        (0.0, y, side, y, k, t, t, kelvin)
        for k, (t, kelvin) in enumerate(zip(times, warm, strict=True))
        for y in lines
    ]
    return laid(passes, len(times), thickness, width, air)


def raster(side, layers, thickness, width, speed, warm, gap=0.5, angle_deg=0.0, crossed=False, air=20.0):
    """Return a square printed line by line, every second layer across where `crossed`."""
    lines = (np.arange(round(side / width)) + 0.5) * width
    passes, time = [], 0.0
    for k in range(layers):
        for n, at in enumerate(lines):
            ends = [(0.0, at), (side, at)][:: 1 if n % 2 == 0 else -1]
            if crossed and k % 2:
                ends = [(y, x) for x, y in ends]
            until = time + side / speed
            passes.append((*ends[0], *ends[1], k, time, until, warm))
            time = until + width / speed
        time += gap
    rows = np.array(passes)
    turn = np.deg2rad(angle_deg)
    matrix = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    rows[:, 0:2], rows[:, 2:4] = rows[:, 0:2] @ matrix, rows[:, 2:4] @ matrix
    return laid(rows, layers, thickness, width, air)


def middle(history, layer, share=0.4):
    """Return the events of a layer whose cells lie in the middle of the body."""
    xy = history.cells.event_xy
    low, high = xy.min(axis=0), xy.max(axis=0)
    near = np.all(np.abs(xy - 0.5 * (low + high)) < share * (high - low), axis=1)
    return np.flatnonzero(near & (history.cells.event_layer == layer))


def through(history, layer, share=0.4):
    """Return the mean healing integral through the lower face of a layer, in the middle of the body."""
    return float(np.nanmean(history.through[middle(history, layer, share)]))


def section_history(name, method, length=14e-3):
    """Return the heat history of a scenario of the cross-sections: five beads by five layers, each laid at once."""
    law, conductivity, heat, h, w, warm, bed, air, coefficient, gap, period = sections.SCENARIOS[name]
    polymer = Polymer(conductivity, heat, sections.STOP[law], lambda kelvin: sections.log_rate(law, kelvin))
    passes = [
        (
            0.0,
            (b + 0.5) * w,
            length,
            (b + 0.5) * w,
            k,
            k * period + b * gap,
            k * period + b * gap,
            warm + 273.15,
        )
        for k in range(sections.LAYERS)
        for b in range(sections.BEADS)
    ]
    beads = laid(passes, sections.LAYERS, h, w, coefficient)
    around = Surroundings(air + 273.15, bed + 273.15, 1e4)
    return heat_history(beads, polymer, around, METHODS[method] if isinstance(method, str) else method)


def section_integrals(name, method):
    """Return integrals through layers and beside, each (layers, beads), at half length."""
    history = section_history(name, method)
    cells, width = history.cells, sections.SCENARIOS[name][4]
    x, y = cells.event_xy.T
    centred = np.abs(x - 0.5 * (x.min() + x.max())) < 1.2 * cells.across[0]
    bead = np.floor((y - y.min() + 0.5 * cells.across[1]) / width + 1e-6).astype(int)
    found = np.full((2, sections.LAYERS, sections.BEADS), np.nan)
    for k in range(sections.LAYERS):
        for b in range(sections.BEADS):
            place = centred & (cells.event_layer == k) & (bead == b)
            found[0, k, b] = np.mean(history.through[place]) if k else np.nan
            side = history.beside[place]
            found[1, k, b] = np.nanmean(side) if b else np.nan
    return found
