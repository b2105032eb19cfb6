"""
Density of water and of a weighed part.

Sources: Tanaka et al., Metrologia 38 (2001) 301, whose formula gives the table below (values computed
from its published coefficients to 1e-4 kg/m³; the one at 298.15 K is also printed by an open chemistry
library); the worked example of weighing was computed independently and checked by Monte Carlo (2 million
draws).
"""

import pytest

from voidless.measure.weighing.density import (
    Density,
    Weighing,
    air_density,
    immersion_density,
    void_share,
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
    share, uncertainty = void_share(found, Density(1.2750, 0.0010))
    assert share == pytest.approx(0.459952, abs=5e-7)
    assert uncertainty == pytest.approx(0.078584, abs=5e-7)


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
    from dataclasses import replace

    value = getattr(EXAMPLE, field)
    up, down = (
        immersion_density(replace(EXAMPLE, **{field: value + sign * step})).value_g_cm3 for sign in (1, -1)
    )
    assert (up - down) / (2 * step) == pytest.approx(slope, abs=tolerance)
