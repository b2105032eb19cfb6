"""What goes with every prediction: spread of residence, and the air that closing gaps may shut in."""

import re
from dataclasses import replace

import numpy as np
import pytest

from voidless.machines import load_machine
from voidless.materials import load_material
from voidless.settings import default_settings
from voidless.twin.chain import run_chain
from voidless.twin.context import context_of
from voidless.twin.fast import predict
from voidless.twin.ground import ground_of
from voidless.twin.notes import notes_of

PETG, MACHINE = load_material("petg"), load_machine("bench-0.4")
SETTINGS = default_settings(PETG, MACHINE) | {"layer_mm": 0.12, "width_mm": 0.5}


def told(index, **settings):
    """Return the chain and the numbers of its last two notes: first s, one in twenty s, voids of shut-in air."""
    ground = replace(ground_of(PETG, MACHINE), thinning_index=index)
    columns = {name: np.array([float(value)]) for name, value in (SETTINGS | settings).items()}
    chain = run_chain(columns, ground, context_of({}), {})
    notes = notes_of(chain, PETG)
    return chain, [
        float(text) for note in notes[-2:] for text in re.findall(r"(\d+\.?\d*)(?= s,| s and| higher)", note)
    ]


def test_residence_of_a_newtonian_melt_spreads_from_a_half_to_root_five_means():
    """Share that has left by θ means: 1 - 1/(4 θ²), so 0.95 at √5; the axis arrives at a half."""
    chain, (first, late, _) = told(1.0)
    mean = float(chain.melt.residence[0])
    assert (first, late) == pytest.approx((0.5 * mean, 5.0**0.5 * mean), rel=0.05)  # two digits are told


def test_a_thinning_melt_spreads_less():
    """A flatter profile: later first, earlier last."""
    _, newtonian = told(1.0)
    _, thinning = told(0.3)
    assert newtonian[0] < thinning[0] < thinning[1] < newtonian[1]


def test_air_shut_in_is_what_the_closed_cusps_held_when_hot():
    """Cusps of 0.2146 h/w, closed all but entirely, shrunk by the glass transition over the melt's temperature."""
    chain, (_, _, air) = told(0.45)
    held = (1.0 - np.pi / 4.0) * 0.12 / 0.5 * (1.0 - chain.fill.open_cusps[0])
    assert air == pytest.approx(100.0 * held * chain.inputs.ground.stop / chain.melt.temperature[0], abs=0.05)
    assert told(0.45, layer_mm=0.3)[1][2] > air


def test_predict_tells_them():
    """Both sentences are part of a prediction."""
    notes = " ".join(predict(SETTINGS, PETG, MACHINE).notes)
    assert "residence_s is a mean" in notes
    assert "shut in" in notes
