"""
Welding: WLF constants of Williams, Landel and Ferry (1955), polystyrene of an open rheology database.

Exact integrals of the healing laws of Yang and Pitchumani (2002) and Bastien and Gillespie (1991).
"""

import numpy as np
import pytest
from scipy.integrate import quad

from voidless.physics.weld.healing import (
    healing_bastien_gillespie_1991,
    healing_yang_pitchumani_2002,
    integrate_rate,
)
from voidless.physics.weld.neck import (
    neck_angle_cylinders,
    neck_angle_pokluda_1997,
    neck_ratio_eshelby,
    neck_ratio_frenkel,
    neck_ratio_pokluda_1997,
)
from voidless.physics.weld.shift import UNIVERSAL_WLF, log10_shift_vogel, log10_shift_wlf, wlf_at

PS_B1, PS_B2 = 651.8653, -52.237  # polystyrene, open rheology database, temperatures in °C
SCALE = (
    5100.0 * 0.4e-3 / 0.029
)  # η a0/Γ of ABS at 240 °C, Bellehumeur et al. 2004 as quoted in companion code


def test_universal_wlf():
    """At 60 K above the glass transition, and how much slower 30 K lower."""
    at_60, at_30 = (log10_shift_wlf(350.0 + rise, 350.0, *UNIVERSAL_WLF) for rise in (60.0, 30.0))
    assert at_60 == pytest.approx(-9.376344, abs=5e-7)
    assert 10.0 ** (at_30 - at_60) == pytest.approx(921.678, rel=1e-6)


def test_polystyrene_shift():
    """Reference 170 °C."""
    assert log10_shift_vogel(130.0, 170.0, PS_B1, PS_B2) == pytest.approx(2.847318, rel=1e-6)
    assert 10.0 ** log10_shift_vogel(200.0, 170.0, PS_B1, PS_B2) == pytest.approx(0.0751900, rel=1e-5)


def test_polystyrene_as_wlf():
    """The same law in WLF form has C1 5.53540 and C2 117.763 K at 170 °C."""
    c2 = PS_B2 + 170.0
    assert c2 == pytest.approx(117.763, abs=5e-4)
    assert PS_B1 / c2 == pytest.approx(5.53540, rel=1e-5)
    both = log10_shift_wlf(130.0, 170.0, PS_B1 / c2, c2), log10_shift_vogel(130.0, 170.0, PS_B1, PS_B2)
    assert both[0] == pytest.approx(both[1], rel=1e-12)


def test_wlf_moved_to_another_reference_is_the_same_law():
    """Shifts between two temperatures do not depend on the reference."""
    c1, c2 = wlf_at(*UNIVERSAL_WLF, 40.0)
    direct = log10_shift_wlf(420.0, 350.0, *UNIVERSAL_WLF) - log10_shift_wlf(390.0, 350.0, *UNIVERSAL_WLF)
    assert log10_shift_wlf(420.0, 390.0, c1, c2) == pytest.approx(float(direct), rel=1e-12)


def test_healing_at_constant_temperature():
    """A tenth of the weld time, and two steps at two temperatures."""
    time = np.linspace(0.0, 0.1, 5)
    assert healing_yang_pitchumani_2002(time, np.ones(5)) == pytest.approx(0.562341, abs=5e-7)
    two = integrate_rate([0.0, 0.1], [1.0, 1.0]) + integrate_rate([0.0, 0.3], [0.1, 0.1])
    assert two**0.25 == pytest.approx(0.600462, abs=5e-7)


def test_the_two_healing_laws_agree_only_at_constant_temperature():
    """Same history at rest, different history while cooling."""
    time = np.linspace(0.0, 1.0, 4001)
    still, cooling = np.full(4001, 3.0), 3.0 * np.exp(4.0 * time)
    assert healing_bastien_gillespie_1991(time, still) == pytest.approx(
        float(healing_yang_pitchumani_2002(time, still)), rel=1e-9
    )
    older, newer = healing_bastien_gillespie_1991(time, cooling), healing_yang_pitchumani_2002(time, cooling)
    assert abs(older / newer - 1.0) > 0.01


def test_healing_while_cooling_at_a_steady_rate():
    """t_w = 0.5 exp(0.05 (T0 - T)), 100 K/s for 1 s; exact between nodes, so 3 nodes do."""
    time = np.array([0.0, 0.4, 1.0])
    assert healing_yang_pitchumani_2002(time, 0.5 * np.exp(5.0 * time)) == pytest.approx(0.793928, abs=5e-7)


def test_healing_integral_of_polystyrene():
    """T = 110 + 60 exp(-t) °C from 0 to 5 s, reference 170 °C."""

    def rate(t):
        return 10.0 ** -log10_shift_vogel(110.0 + 60.0 * np.exp(-t), 170.0, PS_B1, PS_B2)

    exact = quad(rate, 0.0, 5.0, epsabs=1e-12)[0]
    time = np.linspace(0.0, 5.0, 401)
    assert exact == pytest.approx(0.155495, rel=1e-5)
    assert integrate_rate(time, rate(time)) == pytest.approx(exact, rel=1e-4)


def test_sintering_spheres():
    """Pokluda, Bellehumeur and Vlachopoulos (1997), and the neck at 10 s."""
    angle = neck_angle_pokluda_1997(np.array([1.0, 10.0, 50.0]) / SCALE)
    assert angle == pytest.approx([0.119088, 0.372515, 0.791496], abs=1e-6)
    assert neck_ratio_pokluda_1997(angle[1]) == pytest.approx(0.364379, abs=1e-6)


def test_sintering_cylinders():
    """Form of Gurrala and Regalla."""
    angle = neck_angle_cylinders(np.array([1.0, 10.0, 50.0]) / SCALE)
    assert angle == pytest.approx([0.169860, 0.377609, 0.673595], abs=1e-6)


def test_early_sintering():
    """Frenkel and Eshelby at 1 s."""
    assert neck_ratio_frenkel(1.0 / SCALE) == pytest.approx(0.146026, abs=1e-6)
    assert neck_ratio_eshelby(1.0 / SCALE) == pytest.approx(0.119230, abs=1e-6)


def test_starts_of_sintering():
    """√s for spheres and (s/π)^⅓ for cylinders; each start law is wrong for the other."""
    early = 1e-6
    assert neck_angle_pokluda_1997(early) == pytest.approx(np.sqrt(early), rel=1e-3)
    assert neck_angle_cylinders(early) == pytest.approx((early / np.pi) ** (1 / 3), rel=5e-3)
    assert neck_angle_cylinders(0.0) == 0.0
