"""The heat history by two threads: the same to the last bit, for each half of the columns has its own books."""

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
from heat_bench import AIR, exponential, raster

from voidless.errors import InputError
from voidless.physics.heat.history.grid import cells_of
from voidless.physics.heat.history.kernel.compiled import BOOKS, FIELDS, LANES
from voidless.physics.heat.history.kernel.cpu import compiled_advance
from voidless.physics.heat.history.kernel.share import Crew, board_of
from voidless.physics.heat.history.run import heat_history
from voidless.physics.heat.history.state import facts_of, state_of, work_of
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


def test_order_of_the_halves_does_not_matter():
    """As if the second thread were always first: what a half gives to others must not depend on the other half."""
    first, second = (by_halves(order) for order in ((0, 1), (1, 0)))
    for name in ("healed", "warm", "pending", "ledger", "body", "body_pending", "block_healed"):
        np.testing.assert_array_equal(getattr(first, name), getattr(second, name), err_msg=name)
    assert first.steps.sum() > 100_000


def by_halves(order):
    method, around, polymer = METHODS["standard"], Surroundings(AIR, 340.0), exponential(480.0, 12.0)
    cells = cells_of(raster(20e-3, 12, 0.2e-3, 0.5e-3, 0.05, 500.0), method)
    facts, state = facts_of(cells, polymer, around, method), state_of(cells, polymer, around, method, BOOKS)
    crew = Crew(*(work_of(state, LANES, FIELDS, half) for half in order), board_of(), alone=True)
    compiled_advance()(False, 0, state.tick_first.size - 2, facts, state, crew)
    return state


def test_other_numbers_of_threads_are_refused():
    with pytest.raises(InputError, match="threads = 3"):
        history(3)
