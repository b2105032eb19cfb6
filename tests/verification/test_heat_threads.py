"""The heat history by two threads: the same to the last bit, for each half of the columns has its own books."""

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
from heat_bench import AIR, exponential, raster

from voidless.errors import InputError
from voidless.physics.heat.history.run import heat_history
from voidless.physics.heat.history.types import METHODS, Surroundings


def history(threads):
    beads = raster(20e-3, 12, 0.2e-3, 0.5e-3, 0.05, 500.0)
    return heat_history(
        beads, exponential(480.0, 12.0), Surroundings(AIR, 340.0), METHODS["standard"], threads=threads
    )


def test_two_threads_give_what_one_gives():
    one = history(1)
    for other in (history(2), history(2)):
        assert other.steps == one.steps > 100_000
        np.testing.assert_array_equal(other.through, one.through)
        np.testing.assert_array_equal(other.beside, one.beside)
        np.testing.assert_array_equal(other.energy, one.energy)
    assert abs(one.energy_residual) < 1e-11


def test_other_numbers_of_threads_are_refused():
    with pytest.raises(InputError, match="threads = 3"):
        history(3)
