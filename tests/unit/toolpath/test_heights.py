"""Heights of layers against numpy's median, layer by layer."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from voidless.toolpath.heights import layer_steps, layer_tops


@given(
    st.lists(
        st.tuples(st.floats(0.0, 100.0, allow_subnormal=False), st.integers(0, 6)), min_size=1, max_size=60
    )
)
def test_a_layer_stands_at_the_median_of_its_moves(moves):
    """In any order, and also where a path comes back to a layer."""
    height, layer = np.array([z for z, _ in moves]), np.array([n for _, n in moves])
    numbers, tops = layer_tops(height, layer)
    assert numbers.tolist() == sorted(set(layer.tolist()))
    np.testing.assert_allclose(tops, [np.median(height[layer == n]) for n in numbers], rtol=1e-15)


@pytest.mark.parametrize(
    ("tops", "steps"),
    [
        ([0.3, 0.4, 0.5], [0.3, 0.1, 0.1]),
        ([2.0, 2.1], [2.0, 0.1]),
        ([50.0, 50.2, 50.5], [0.2, 0.2, 0.3]),
        ([50.0], [50.0]),
        ([5.0, 15.0], [5.0, 10.0]),
    ],
)
def test_a_print_that_begins_high_takes_the_next_step(tops, steps):
    """Up to 2 mm a first layer is as thick as it is high; above, no nozzle lays it, so the next layer tells."""
    np.testing.assert_allclose(layer_steps(np.array(tops)), steps, atol=1e-12)
