"""
Viscosity (Kazmer, "Injection Mold Design Engineering", appendix A, p. 392, transcribed; PMC7388655).

Melt density (Danner and High; Cho and Sanchez).
"""

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.physics.melt.density import melt_density_tait
from voidless.physics.melt.nozzle import pressure_drop, shear_rate_apparent, shear_rate_wall
from voidless.physics.melt.viscosity import viscosity_cross, viscosity_exponential_zero, viscosity_wlf_zero
from voidless.units import kelvin


def test_abs_moulding_grade():
    """η0 at 239 °C: formula 2190.4, book 2210 (1 %); at 2000 1/s about 120."""
    zero = viscosity_wlf_zero(kelvin(239.0), 1.93e13, 373.15, 31.4, 51.6)
    assert zero == pytest.approx(2190.4, abs=0.05)
    assert zero == pytest.approx(2210.0, rel=0.01)
    assert viscosity_cross(zero, 2000.0, 9.97e4, 0.247) == pytest.approx(119.949, abs=5e-4)


@pytest.mark.parametrize(("celsius", "expected"), [(220.0, 24809.0), (240.0, 3637.1), (260.0, 615.8)])
def test_pmma_grade(celsius, expected):
    """Cross with an exponential, B 1e-17 Pa s and Tb 24294 K; computed from the printed constants."""
    assert viscosity_exponential_zero(kelvin(celsius), 1e-17, 24294.0) == pytest.approx(expected, rel=1e-4)


def test_pmma_grade_in_shear():
    """100 1/s at 240 °C."""
    zero = viscosity_exponential_zero(kelvin(240.0), 1e-17, 24294.0)
    assert viscosity_cross(zero, 100.0, 1.48e5, 0.21) == pytest.approx(1198.5, abs=0.05)


@pytest.mark.parametrize(
    ("polymer", "celsius", "at_0", "at_30"),
    [
        ("pc", 280.0, 1066.393, 1091.282),
        ("pc", 250.0, 1087.020, 1109.791),
        ("pp", 230.0, 738.035, 767.130),
        ("pmma", 150.0, 1129.383, 1147.520),
        ("ps", 190.0, 975.622, 996.529),
    ],
)
def test_tait_densities(polymer, celsius, at_0, at_30):
    """Danner and High's constants at 0.1 and 30 MPa, computed independently."""
    density = melt_density_tait(polymer, kelvin(celsius), [0.1e6, 30e6])
    assert density == pytest.approx([at_0, at_30], abs=5e-4)


def test_tait_agrees_with_another_source():
    """PMMA at 150 °C by Cho and Sanchez (Polymer Handbook VI-591): 1129.297 kg/m³; two sources, 0.1 %."""
    assert melt_density_tait("pmma", kelvin(150.0), 0.1e6) == pytest.approx(1129.297, rel=1e-3)


def test_tait_refuses_outside_its_fit():
    """PMMA was fitted to 432 K."""
    with pytest.raises(InputError, match="temperature is not between 387 and 432"):
        melt_density_tait("pmma", 450.0, 1e5)
    with pytest.raises(InputError, match="no Tait constants for 'petg'"):
        melt_density_tait("petg", 500.0, 1e5)


def test_nozzle():
    """0.4 mm at 5 mm³/s: apparent and true shear rate (n 0.35), pressure for 300 Pa s and 1 mm."""
    assert shear_rate_apparent(5e-9, 0.4e-3) == pytest.approx(795.775, abs=5e-4)
    assert shear_rate_wall(5e-9, 0.4e-3, 0.35) == pytest.approx(1165.24, abs=5e-3)
    assert pressure_drop(300.0, 1e-3, 5e-9, 0.4e-3) == pytest.approx(2.38732e6, rel=5e-6)
    assert np.all(shear_rate_wall(5e-9, 0.4e-3, 1.0) == shear_rate_apparent(5e-9, 0.4e-3))
