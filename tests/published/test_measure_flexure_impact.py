"""
Flexure (ISO 178) and impact (ISO 179-1, ISO 180, ASTM D256) against exact values and traps of public pages.

Sources: formulas of ISO 178 training slides (2020) and of impact pages; values computed from them, exact. A public
slide prints strains of 0.005 and 0.025 for the flexural modulus, ten times too large, and a blog prints 3 F L / 2 b h³.
"""

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.measure.flexure.reduce import Bar, flexural_strain, flexural_stress, reduce_flexure
from voidless.measure.impact.reduce import Blow, BreakType, impact_strength
from voidless.measure.tensile.modulus import chord_modulus

BAR = Bar(64.0, 10.0, 4.0)


def test_stress_strain_and_conventional_deflection():
    """100 N: 60.0 MPa; 2 mm: 0.01171875; 3.5 % at 5.97333 mm."""
    assert flexural_stress(np.array([100.0]), BAR)[0] == pytest.approx(60.0, rel=1e-12)
    assert flexural_strain(np.array([2.0]), BAR)[0] == pytest.approx(0.01171875, rel=1e-12)
    assert flexural_strain(np.array([5.97333]), BAR)[0] == pytest.approx(0.035, abs=5e-8)
    assert pytest.approx(3 * 100 * 64 / (2 * 10 * 4**3)) != 60.0  # the blog's formula gives a quarter


def test_modulus_of_a_straight_bar():
    """50 N/mm gives 5120 MPa between 0.0005 and 0.0025; a bar that stiffens shows the slide's strains are wrong."""
    deflection = np.linspace(0.0, 4.0, 4001)
    found = reduce_flexure(50.0 * deflection, deflection, BAR)
    assert found.chord_gpa == pytest.approx(5.120, rel=1e-9)
    assert found.regression_gpa == pytest.approx(5.120, rel=1e-9)
    assert found.strength_mpa == pytest.approx(120.0, rel=1e-12)


def test_strains_ten_times_too_large_would_show():
    """A bar that bends over by 1/40 a mm: 5.09 GPa by ISO's strains, 12 % less by the slide's."""
    deflection = np.linspace(0.0, 5.0, 5001)
    force = 50.0 * deflection * (1.0 - deflection / 40.0)
    found = reduce_flexure(force, deflection, BAR)
    strain, stress = flexural_strain(deflection, BAR), flexural_stress(force, BAR)
    assert found.chord_gpa == pytest.approx(5.12 * (1 - 2 * 0.0015 / 0.0058594 / 40), rel=0.02)
    assert chord_modulus(strain, stress, (0.005, 0.025)) / 1e3 < 0.9 * found.chord_gpa


def test_speed_of_one_per_cent_a_minute():
    """1 %/min at the outer face is 1.70667 mm/min."""
    assert pytest.approx(1.70667, abs=5e-6) == 0.01 * 64.0**2 / (6.0 * 4.0)
    assert flexural_strain(np.array([1.70667]), BAR)[0] == pytest.approx(0.01, abs=5e-8)


def test_thickness_counts_squared_and_cubed():
    deflection = np.linspace(0.0, 4.0, 4001)
    found = reduce_flexure(50.0 * deflection, deflection, Bar(64.0, 10.0, 4.0, 0.0, 0.04))
    assert found.strength_uncertainty_mpa / found.strength_mpa == pytest.approx(0.02, rel=1e-3)
    assert found.modulus_uncertainty_gpa / found.regression_gpa == pytest.approx(0.03, rel=1e-3)
    with pytest.raises(InputError, match="above 0 mm"):
        Bar(64.0, float("nan"), 4.0)


def test_impact():
    """0.5 J, h 4, b_N 8: 15.625 kJ/m²; 0.5 J over 3.2 mm: 156.25 J/m, 15.37894 kJ/m² over 10.16 mm."""
    notched = impact_strength(Blow(0.5, 4.0, 8.0, "iso179_1eA"))
    assert (notched.value, notched.unit) == (pytest.approx(15.625, rel=1e-12), "kJ/m2")
    width = impact_strength(Blow(0.5, 3.2, 10.16, "astm_d256"))
    assert (width.value, width.unit) == (pytest.approx(156.25, rel=1e-12), "J/m")
    assert width.value / 10.16 == pytest.approx(15.37894, abs=5e-6)
    assert impact_strength(Blow(0.5, 3.2, 10.16, "iso180_A")).value == pytest.approx(15.37894, abs=5e-6)


def test_losses_break_types_and_range():
    found = impact_strength(Blow(0.55, 4.0, 8.0, "iso179_1eA", BreakType.NONE, 0.05, pendulum_j=7.5))
    assert found.value == pytest.approx(15.625)
    assert not found.counts
    assert any("lower limit" in flag for flag in found.flags)
    assert any("% of the pendulum" in flag for flag in found.flags)
    assert any("swing empty" in flag for flag in impact_strength(Blow(0.5, 4.0, 8.0, "iso179_1eA")).flags)
    unsure = impact_strength(
        Blow(0.5, 4.0, 8.0, "iso179_1eA", energy_uncertainty_j=0.005, size_uncertainty_mm=0.04)
    )
    assert unsure.uncertainty / unsure.value == pytest.approx((0.01**2 + 0.01**2 + 0.005**2) ** 0.5)
    for wrong, words in (
        (Blow(0.5, 4.0, 8.0, "charpy"), "one of iso179_1eu"),
        (Blow(0.5, 0.0, 8.0, "iso179_1eA"), "sides above 0"),
        (Blow(0.05, 4.0, 8.0, "iso179_1eA", loss_j=0.06), "above its losses"),
    ):
        with pytest.raises(InputError, match=words):
            impact_strength(wrong)
