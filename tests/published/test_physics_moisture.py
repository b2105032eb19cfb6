"""Water: IAPWS-IF97 (2007 release, table 35), Crank's cylinder and slab, ideal-gas flashing."""

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.physics.diffusion import slab_mean_residual
from voidless.physics.moisture.bubbles import ATMOSPHERE, flash_share, hydrolysed_molar_mass, water_pressure
from voidless.physics.moisture.sorption import water_after_exposure
from voidless.physics.moisture.steam import saturation_pressure
from voidless.units import kelvin


@pytest.mark.parametrize(
    ("temperature", "expected"), [(300.0, 0.00353658941), (500.0, 2.63889776), (600.0, 12.3443146)]
)
def test_steam_pressure_by_the_release(temperature, expected):
    """The three check values that the release prints. [MPa]"""
    assert saturation_pressure(temperature) / 1e6 == pytest.approx(expected, rel=2e-9)


@pytest.mark.parametrize(
    ("celsius", "expected"),
    [(200, 1.55467), (220, 2.31929), (230, 2.79679), (240, 3.34665), (260, 4.69207), (300, 8.58771)],
)
def test_steam_pressure_at_printing_temperatures(celsius, expected):
    """Computed from the same equation, five decimals. [MPa]"""
    assert saturation_pressure(kelvin(celsius)) / 1e6 == pytest.approx(expected, abs=5e-6)


def test_steam_pressure_ends_at_the_critical_point():
    """Nothing is extrapolated."""
    with pytest.raises(InputError, match="temperature is not between"):
        saturation_pressure(650.0)


@pytest.mark.parametrize(("ppm", "expected"), [(50, 0.118), (100, 0.212), (200, 0.350), (500, 0.573)])
def test_flash_bound(ppm, expected):
    """Volume share if all water flashed, 240 °C, 1 atm, 1150 kg/m³."""
    share = flash_share(ppm * 1e-6, kelvin(240.0), 1150.0, ATMOSPHERE)
    assert share == pytest.approx(
        expected, abs=6e-4
    )  # printed to 0.1 %; half a digit and the rounded molar mass


def test_flash_bound_to_five_digits():
    """100 ppm: 21.185 %."""
    assert 100 * flash_share(1e-4, kelvin(240.0), 1150.0, ATMOSPHERE) == pytest.approx(21.185, abs=2e-3)


def test_drying_of_filament():
    """1.75 mm, D 1e-11: half dry after 1.341 h, 95 % after 9.661 h (0.1 %)."""
    hours = np.array([1.341, 9.661])
    left = water_after_exposure(3600.0 * hours, 1.0, 1.0, 0.0, 1e-11, 0.875e-3)
    assert left == pytest.approx([0.5, 0.05], abs=1e-4)


def test_wetting_ends_at_the_humidity():
    """From dry at half humidity: half of saturation at rest, and half of that after the time of 50 %."""
    hours = np.array([0.0, 1.341, 1000.0])
    taken = water_after_exposure(3600.0 * hours, 0.0, 0.006, 0.5, 1e-11, 0.875e-3)
    assert taken == pytest.approx([0.0, 0.0015, 0.003], abs=1e-6)


def test_drying_of_a_plate():
    """2 mm, D 1e-11: half after 5.465 h."""
    assert slab_mean_residual(1e-11 * 5.465 * 3600.0 / 2e-3**2) == pytest.approx(0.5, abs=1e-4)


def test_hydrolysis_limit():
    """25 kg/mol with 100 ppm consumed: 21.953 kg/mol."""
    assert hydrolysed_molar_mass(25.0, 1e-4) == pytest.approx(21.953, abs=5e-4)


def test_water_pressure_is_henrys():
    """At saturation the dissolved water pushes with steam pressure, at half with half."""
    assert water_pressure(0.5, 1.0, 500.0) == pytest.approx(2.63889776e6 / 2.0, rel=1e-8)
