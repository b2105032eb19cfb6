"""Heights of layers against numpy's median, layer by layer."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from voidless.toolpath.heights import layer_tops


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
