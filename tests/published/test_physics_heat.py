"""
Closed forms of heat against numbers computed independently in double precision.

Textbook formulas (Carslaw and Jaeger 1959; Crank 1975; Rosenthal 1946; the fin of Bellehumeur et al.,
J. Manuf. Process. 6, 2004, 170); no printed table is quoted, so tolerances are half the last digit.
"""

import numpy as np
import pytest

from voidless.physics.diffusion import cylinder_centre_residual, cylinder_mean_residual, slab_mean_residual
from voidless.physics.heat.contact import contact_temperature, effusivity
from voidless.physics.heat.fin import ellipse_perimeter, fin_decay, lumped_temperature, time_constant_bead
from voidless.physics.heat.layer import excess_at_depth
from voidless.physics.heat.source import rise_point_rosenthal
from voidless.physics.melt.heating import heater_power, melt_fourier, rate_for_residual, residence_time

ABS = {"conductivity": 0.177, "density": 1050.0, "heat_capacity": 2080.0}
PLA = {"conductivity": 0.2, "density": 1240.0, "heat_capacity": 1800.0}


def test_contact_temperature_of_abs_on_pla():
    """240 °C ABS on 60 °C PLA."""
    touched = contact_temperature(240.0, 60.0, effusivity(**ABS), effusivity(**PLA))
    assert touched == pytest.approx(146.7635, abs=5e-5)


def test_contact_temperature_of_equal_materials_is_the_mean():
    """Same effusivity on both sides."""
    assert contact_temperature(240.0, 60.0, 700.0, 700.0) == pytest.approx(150.0, abs=1e-12)


def test_layer_on_a_half_space():
    """230 °C layer of 0.2 mm on 90 °C, α 1e-7: interface temperature, and when it last is above 105 °C."""
    time = np.array([0.5, 1.0, 10.0, 10.8227])
    share = excess_at_depth(1e-7 * time / 0.2e-3**2, 1.0)
    assert 90.0 + 140.0 * share == pytest.approx([145.5868, 134.0235, 105.5892, 105.0], abs=1e-4)


def test_bead_as_a_fin():
    """ABS ellipse 0.25 by 0.5 mm at 20 mm/s in 70 °C air, 75 W/(m² K)."""
    area = np.pi * 0.25e-3 * 0.5e-3 / 4.0
    tau = time_constant_bead(
        area, ellipse_perimeter(0.5e-3, 0.25e-3), 75.0, ABS["density"], ABS["heat_capacity"]
    )
    diffusivity = ABS["conductivity"] / (ABS["density"] * ABS["heat_capacity"])
    decay = fin_decay(diffusivity, 0.020, tau)
    assert decay == pytest.approx(21.17901, rel=1e-6)
    assert 1.0 / (decay * 0.020) == pytest.approx(
        2.36083, rel=1e-5
    )  # conduction along the bead adds 1e-4 to tau
    assert 70.0 + 170.0 * np.exp(-decay * 0.020) == pytest.approx(181.2988, rel=1e-6)
    assert np.log(170.0 / 35.0) / (decay * 0.020) == pytest.approx(3.7312, rel=2e-5)
    assert lumped_temperature(1.0, 240.0, 70.0, tau) == pytest.approx(
        181.2988, rel=1e-3
    )  # α b is small, not 0


def test_rosenthal_point():
    """0.05 W, k 0.2, 50 mm/s, α 1e-7, 1 mm behind, on the axis and 0.2 mm beside."""
    back = -1e-3
    on_axis = rise_point_rosenthal(0.05, 0.2, 1e-7, 0.05, back, 1e-3)
    beside = rise_point_rosenthal(0.05, 0.2, 1e-7, 0.05, back, np.hypot(1e-3, 0.2e-3))
    assert on_axis == pytest.approx(39.78874, rel=1e-6)
    assert beside == pytest.approx(0.276097, rel=2e-6)


@pytest.mark.parametrize(
    ("function", "share", "expected"),
    [
        *((cylinder_mean_residual, s, t) for s, t in ((0.5, 0.063058), (0.1, 0.334413), (0.05, 0.454261))),
        *((cylinder_mean_residual, s, t) for s, t in ((0.02, 0.612701), (0.01, 0.732556))),
        *((cylinder_centre_residual, s, t) for s, t in ((0.10, 0.479635), (0.05, 0.599491))),
        *((slab_mean_residual, s, t) for s, t in ((0.5, 0.049183), (0.1, 0.212021), (0.05, 0.282252))),
    ],
)
def test_transients_of_cylinder_and_slab(function, share, expected):
    """Scaled times of given residuals; half the last digit of time moves the residual by less than 1e-5."""
    assert function(expected) == pytest.approx(share, abs=1e-5)


def test_plug_heating_of_the_strand():
    """α 9e-8 m²/s, 12 mm: the rate that leaves 5 % of the rise undone."""
    rate = rate_for_residual(9e-8, 12e-3, 0.454261)
    assert rate * 1e9 == pytest.approx(7.4691, abs=5e-5)
    assert melt_fourier(9e-8, 12e-3, rate) == pytest.approx(0.454261, rel=1e-12)


@pytest.mark.parametrize(("residual", "rate"), [(0.10, 10.15), (0.05, 7.47), (0.02, 5.54), (0.01, 4.63)])
def test_rates_of_residuals(residual, rate):
    """Rates for 10, 5, 2 and 1 %, printed to 0.005 mm³/s, which moves the residual by up to 0.5 %."""
    assert cylinder_mean_residual(melt_fourier(9e-8, 12e-3, rate * 1e-9)) == pytest.approx(residual, rel=5e-3)


def test_heater_power_and_residence():
    """ABS, 10 mm³/s, 25 to 240 °C; filament of 1.75 mm over 12 mm."""
    assert heater_power(10e-9, 1050.0, 2080.0, 215.0) == pytest.approx(4.6956, abs=5e-5)
    assert residence_time(np.pi / 4 * 1.75e-3**2 * 12e-3, 10e-9) == pytest.approx(2.886, abs=5e-4)
