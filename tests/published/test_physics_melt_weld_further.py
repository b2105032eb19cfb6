"""
Further printed values of melts and welds.

Sources: Kazmer, "Injection Mold Design Engineering", appendix A, transcribed (moulding grades); an open rheology
database (polystyrene); PMC7388655, table 1 (PMMA); companion code of Kapusuzoglu and Mahadevan, JOM 72 (2020) 4695,
citing Bellehumeur et al. 2004 (ABS: 5100 Pa s at 240 °C falling as exp(-0.056 per K), 0.029 N/m). The rest is
textbook mathematics computed apart from this program; half the last printed digit unless said.
"""

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.physics.diffusion import cylinder_mean_residual
from voidless.physics.melt.viscosity import (
    GAS_CONSTANT,
    arrhenius_factor,
    viscosity_exponential_zero,
    viscosity_wlf_zero,
)
from voidless.physics.weld.reptation import reptation_time_tube
from voidless.physics.weld.shift import log10_shift_vogel, weld_rate_wlf
from voidless.units import kelvin

PS_B1, PS_B2 = 651.8653, -52.237
ROUSE, ENTANGLEMENT = 1.0423e-3, 16.518  # τe [s] and Me [kg/mol] of polystyrene at 170 °C


def test_polystyrene_leaves_its_tube():
    """200 kg/mol: 12.108 entanglements, 5.55 s at 170 °C and 0.417 s at 200 °C."""
    assert pytest.approx(12.108, abs=5e-4) == 200.0 / ENTANGLEMENT
    at_170 = float(reptation_time_tube(200.0, ENTANGLEMENT, ROUSE))
    assert at_170 == pytest.approx(5.55, abs=5e-3)
    shifted = at_170 * 10.0 ** float(log10_shift_vogel(200.0, 170.0, PS_B1, PS_B2))
    assert shifted == pytest.approx(0.417, abs=5e-4)
    assert reptation_time_tube(400.0, ENTANGLEMENT, ROUSE) == pytest.approx(8.0 * at_170, rel=1e-12)
    with pytest.raises(InputError, match="pieces_beyond_one is not"):
        reptation_time_tube(10.0, ENTANGLEMENT, ROUSE)


def _activation(viscosity, celsius):
    """Return R d ln η/d(1/T) by differences. [kJ/mol]"""
    near = kelvin(celsius + np.array([-0.05, 0.05]))
    slope = np.diff(np.log(viscosity(near))) / np.diff(1.0 / near)
    return float(slope[0]) * GAS_CONSTANT / 1e3


def test_activation_energies_near_printing():
    """ABS moulding grade 96.6, the printer maker's grade 122.6 from exp(-0.056 per K), both at 240 °C; PMMA 202."""
    assert _activation(lambda t: viscosity_wlf_zero(t, 1.93e13, 373.15, 31.4, 51.6), 240.0) == pytest.approx(
        96.6, abs=0.05
    )
    of_grade = 0.056 * GAS_CONSTANT * kelvin(240.0) ** 2
    factor = arrhenius_factor(kelvin(np.array([239.5, 240.5])), kelvin(240.0), of_grade)
    assert np.log(factor[0] / factor[1]) == pytest.approx(0.056, rel=1e-5)
    assert of_grade / 1e3 == pytest.approx(122.6, abs=0.05)
    assert _activation(lambda t: viscosity_exponential_zero(t, 1e-17, 24294.0), 240.0) == pytest.approx(
        202.0, abs=0.5
    )


def test_constants_that_contradict_their_book():
    """A PP grade whose printed constants give 4470 Pa s at 220 °C, the book 9070, met at 188 °C: not in the library."""
    found = viscosity_wlf_zero(kelvin(np.array([220.0, 188.0])), 1.99e14, 263.15, 30.02, 51.6)
    assert found[0] == pytest.approx(4470.0, abs=5.0)
    assert found[1] == pytest.approx(
        9070.0, rel=0.01
    )  # the temperature is printed to a degree: 2.2 % of viscosity
    assert abs(found[0] / 9070.0 - 1.0) > 0.5


@pytest.mark.parametrize(("celsius", "slope"), [(140.0, 0.063), (110.0, 0.074)])
def test_a_kelvin_of_healing_by_arrhenius(celsius, slope):
    """d ln I/dT = E/(R T²), 90 kJ/mol: 0.063 and 0.074 per K."""
    near = arrhenius_factor(kelvin(celsius + np.array([-0.5, 0.5])), kelvin(180.0), 90e3)
    assert np.log(near[0] / near[1]) == pytest.approx(slope, abs=5e-4)


def test_a_kelvin_of_healing_by_wlf():
    """C1 5.8, C2 210 K at 200 °C: 0.08 per K at 175 °C to 0.14 at 130 °C."""
    for celsius, slope in ((175.0, 0.08), (130.0, 0.14)):
        near = weld_rate_wlf(
            kelvin(celsius + np.array([-0.5, 0.5])), 0.2, kelvin(200.0), 5.8, 210.0, kelvin(105.0)
        )
        assert np.log(near[1] / near[0]) == pytest.approx(slope, abs=5e-3)


def test_five_per_cent_of_a_rise():
    """210 K with a mean residual of 5 %: 10.5 K cold."""
    assert 210.0 * cylinder_mean_residual(0.454261) == pytest.approx(10.5, abs=5e-4)
