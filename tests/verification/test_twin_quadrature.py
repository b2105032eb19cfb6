"""The fast twin's healing integrals, 40 nodes even in the logarithm of time, against 1200 nodes."""

import numpy as np
import pytest

from voidless.machines import load_machine
from voidless.materials import load_material
from voidless.settings import default_settings, feasible
from voidless.twin import history
from voidless.twin.chain import run_chain
from voidless.twin.context import context_of
from voidless.twin.ground import ground_of

BENCH = load_machine("bench-0.4")
SIDES = {
    "layer_mm": (0.06, 0.32),
    "width_mm": (0.32, 0.8),
    "flow_pct": (90.0, 115.0),
    "bed_c": (20.0, 105.0),
    "fan_pct": (0.0, 100.0),
    "speed_mm_s": (2.0, 150.0),
}


def healing(polymer, columns):
    found = run_chain(columns, ground_of(polymer, BENCH), context_of({}), {})
    return np.concatenate([found.upright.healing, found.flat.healing])


@pytest.mark.parametrize(
    ("material", "usual", "worst"),
    [
        ("petg", 0.0015, 0.006),
        ("pla", 0.0015, 0.006),
        ("abs", 0.002, 0.006),
        ("pc", 0.006, 0.03),
        ("pp", 0.015, 0.12),
    ],
)
def test_nodes_are_enough(material, usual, worst, monkeypatch):
    """
    Degree of healing above 0.05, root mean square and worst: amorphous polymers 0.1 and 0.5 %.

    Welds that start near where healing stops feel the nodes: PC 2 %, PP, which stops at a finite pace, 10 %.
    """
    polymer = load_material(material)
    rng = np.random.default_rng(3)
    usual_settings = default_settings(polymer, BENCH)
    drawn = {name: np.full(4000, value) for name, value in usual_settings.items()}
    drawn |= {name: rng.uniform(*ends, 4000) for name, ends in SIDES.items()}
    drawn["nozzle_c"] = usual_settings["nozzle_c"] + rng.uniform(-25.0, 25.0, 4000)
    kept = np.flatnonzero(feasible(drawn, polymer, BENCH))[:400]
    columns = {name: values[kept] for name, values in drawn.items()}
    coarse = healing(polymer, columns)
    fine = np.geomspace(0.02, 2e4, 1200)
    monkeypatch.setattr(history, "_U", fine)
    monkeypatch.setattr(history, "_NODES", np.concatenate([[0.0], fine]))
    monkeypatch.setattr(history, "_MIDDLE", np.sqrt(np.concatenate([[fine[0] / 2.0], fine[:-1]]) * fine))
    true = healing(polymer, columns)
    off = (coarse / true - 1.0)[true > 0.05]
    assert off.size > 200
    assert np.sqrt(np.mean(off**2)) < usual
    assert np.abs(off).max() < worst
