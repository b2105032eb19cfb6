"""
Density of water and of a weighed part.

Sources: Tanaka et al., Metrologia 38 (2001) 301, whose formula gives the table below (values computed
from its published coefficients to 1e-4 kg/m³; the one at 298.15 K is also printed by an open chemistry
library); the worked example of weighing was computed independently and checked by Monte Carlo (2 million
draws).
"""

from dataclasses import replace

import numpy as np
import pytest

from voidless.measure.weighing.budget import (
    density_shares,
    draw_void_share,
    immersion_density,
    void_share,
)
from voidless.measure.weighing.density import (
    Density,
    Weighing,
    air_density,
    water_density,
)

WATER = {15: 999.1026, 18: 998.5984, 20: 998.2067, 21: 997.9950, 22: 997.7730, 23: 997.5408,
         24: 997.2988, 25: 997.0470, 27: 996.5151, 30: 995.6488}  # fmt: skip


@pytest.mark.parametrize("temperature", WATER)
def test_water(temperature):
    assert water_density(float(temperature)) == pytest.approx(WATER[temperature], abs=5e-5)


def test_water_at_25():
    assert water_density(25.0) == pytest.approx(997.047021671824, abs=1e-9)


def test_air():
    """OIML simplified formula, from memory; computed values to five decimals."""
    assert air_density(20.0, 1013.25, 50.0) == pytest.approx(1.19929, abs=5e-6)
    assert air_density(23.0, 1013.25, 50.0) == pytest.approx(1.18611, abs=5e-6)


EXAMPLE = Weighing(5.0, 1.071, 23.0, 1e-4, 3e-4, 0.2)


def test_worked_example():
    found = immersion_density(EXAMPLE)
    assert found.value_g_cm3 == pytest.approx(1.26913561, abs=5e-9)
    assert found.uncertainty_g_cm3 == pytest.approx(1.1433e-4, abs=5e-9)
    share = void_share(found, Density(1.2750, 0.0010))
    assert share.value_pct == pytest.approx(0.459952, abs=5e-7)
    assert share.uncertainty_pct == pytest.approx(0.078584, abs=5e-7)
    parts = {each.name: abs(each.effect) for each in share.shares}
    assert parts["weighing of the piece"] == pytest.approx(0.00897, abs=5e-6)
    assert parts["reference density"] == pytest.approx(0.07807, abs=5e-6)
    # "3u detection limit about 0.24 % here": two digits are printed.
    assert share.detection_pct == pytest.approx(0.24, abs=5e-3)


def test_worked_example_source_by_source():
    """Contributions 6.9e-6, 9.68e-5, 6.04e-5, 2.7e-6 g/cm³, to their last printed digit."""
    parts = {each.name: abs(each.effect) for each in density_shares(EXAMPLE)}
    assert parts["reading in air"] == pytest.approx(6.9e-6, abs=5e-8)
    assert parts["reading in water"] == pytest.approx(9.68e-5, abs=5e-8)
    assert parts["water temperature"] == pytest.approx(6.04e-5, abs=5e-8)
    assert parts["air"] == pytest.approx(2.7e-6, abs=5e-8)


def test_worked_example_by_drawing():
    """Printed: 0.459982 +- 0.078549 % of 2 million draws; ours are 200 000, hence three standard errors."""
    draws = draw_void_share(EXAMPLE, Density(1.2750, 0.0010), np.random.default_rng(5), 200_000)
    assert draws.mean() == pytest.approx(0.459982, abs=3 * 0.0785 / 200_000**0.5)
    assert draws.std() == pytest.approx(0.078549, rel=3 / 400_000**0.5)


def test_a_clinging_bubble():
    """One of 1 mm, 5.236e-4 cm³, reads as 0.0133 % more voids on a part of 3.94 cm³."""
    bubble = replace(EXAMPLE, mass_water_g=EXAMPLE.mass_water_g - 5.236e-4 * 0.99754)
    solid = Density(1.2750, 0.0010)
    shares = [void_share(immersion_density(each), solid).value_pct for each in (bubble, EXAMPLE)]
    # the printed value neglects the ratio of densities, 0.46 % of it, and its last digit
    assert shares[0] - shares[1] == pytest.approx(0.0133, abs=1.5e-4)


def test_buoyancy_of_air_is_not_left_out():
    """Without it the same readings give 1.26945893, 0.025 % too much: the trap of the short formula."""
    found = immersion_density(EXAMPLE).value_g_cm3
    short = 5.0 * water_density(23.0) * 1e-3 / (5.0 - 1.071)
    assert short == pytest.approx(1.26945893, abs=5e-9)
    assert short - found == pytest.approx(3.23e-4, abs=5e-7)


@pytest.mark.parametrize(
    ("field", "step", "slope", "tolerance"),
    [
        ("mass_air_g", 1e-5, -0.0691257, 5e-7),
        ("mass_water_g", 1e-5, 0.3227156, 5e-7),
        ("water_c", 1e-3, -3.0177e-4, 5e-8),
    ],
)
def test_sensitivities(field, step, slope, tolerance):
    """Central differences of the density against the printed sensitivities, to their last digit."""
    value = getattr(EXAMPLE, field)
    up, down = (
        immersion_density(replace(EXAMPLE, **{field: value + sign * step})).value_g_cm3 for sign in (1, -1)
    )
    assert (up - down) / (2 * step) == pytest.approx(slope, abs=tolerance)
