"""
The heat history does not know which layer it is at.

Layers share rows in groups of four far below the top, so a body raised by a layer meets other groups: what is printed
on top must heal as before.
"""

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1] / "nightly"))
import heat_bench as bench
import heat_cross_sections as sections

from voidless.physics.heat.history.run import heat_history
from voidless.physics.heat.history.types import METHODS, Polymer, Surroundings

PLA = Polymer(0.17, 1.8e6, sections.STOP["arrhenius"], lambda kelvin: sections.log_rate("arrhenius", kelvin))
COLD = 298.0
LAYERS, SIDE, WIDTH, LAYER, SPEED = 8, 8e-3, 0.5e-3, 0.2e-3, 0.04


def healing_on(base):
    """Return healing through and beside of eight layers printed on some layers as cold as the room, mid-body."""
    lines, passes, time = (np.arange(round(SIDE / WIDTH)) + 0.5) * WIDTH, [], 0.0
    for layer in range(base + LAYERS):
        for number, at in enumerate(lines):
            ends = [(0.0, at), (SIDE, at)][:: 1 if number % 2 == 0 else -1]
            until = time + SIDE / SPEED
            passes.append((*ends[0], *ends[1], layer, time, until, COLD if layer < base else 503.0))
            time = until + WIDTH / SPEED
        time += 0.5
    beads = bench.laid(passes, base + LAYERS, LAYER, WIDTH, air=20.0)
    history = heat_history(beads, PLA, Surroundings(COLD, COLD), METHODS["standard"])
    places = [bench.middle(history, layer, 0.3) for layer in range(base + 1, base + LAYERS)]
    return np.array(
        [np.nanmean(values[at] ** 0.25) for values in (history.through, history.beside) for at in places]
    )


@pytest.fixture(scope="module")
def low():
    return healing_on(24)


@pytest.mark.parametrize("more", [1, 2, 3])
def test_a_body_raised_by_layers_heals_the_same(low, more):
    """Asked: 0.5 %. Reached: 0.3 %, with one layer more."""
    assert np.max(np.abs(healing_on(24 + more) / low - 1.0)) < 0.005
