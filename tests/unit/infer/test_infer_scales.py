"""Scales on which responses are learned: there and back, their slopes, and what scatter is at another value."""

import numpy as np
import pytest
from scipy.optimize import approx_fprime

from voidless.infer.learned import Noise
from voidless.infer.transform import transform_for

VOIDS = np.array([-0.4, 0.0, 0.05, 0.4, 3.0, 40.0])


@pytest.mark.parametrize("name", ["void_pct", "build_min", "clarity", "strength_z_mpa"])
def test_slope_is_the_derivative_and_back_undoes_forward(name):
    scale, values = transform_for(name), np.array([0.05, 0.4, 0.9])
    steps = [approx_fprime([value], lambda x: scale.forward(x)[0], 1e-7)[0] for value in values]
    assert scale.slope(values) == pytest.approx(steps, rel=1e-5)
    assert scale.backward(scale.forward(values)) == pytest.approx(values, rel=1e-12)


def test_voids_below_zero_are_learned_but_never_told():
    scale = transform_for("void_pct")
    learned = scale.forward(VOIDS)
    assert np.all(np.diff(learned) > 0.0)
    assert scale.backward(learned) == pytest.approx(np.maximum(VOIDS, 0.0), abs=1e-12)
    assert scale.backward(np.array([1e3])) == pytest.approx(100.0)
    # far above what weighing can tell an even step is an even ratio
    assert scale.forward(np.array([40.0]))[0] - scale.forward(np.array([20.0]))[0] == pytest.approx(
        np.log(2.0), abs=1e-4
    )


def test_scatter_in_proportion_is_told_at_the_value_asked_for():
    plain = Noise(0.5, 0.1, 0.2, 0.05, True, 30.0, "strength_z_mpa").at(60.0)
    assert (plain.between, plain.within) == pytest.approx((0.5, 0.2))
    ratio = Noise(0.5, 0.1, 0.2, 0.05, True, 30.0, "build_min").at(60.0)
    assert (ratio.between, ratio.session, ratio.within, ratio.value) == pytest.approx((1.0, 0.2, 0.4, 60.0))
    assert ratio.reading == 0.05
