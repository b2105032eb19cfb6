"""
Toe compensation and machine compliance against exact answers.

Source: analytic. The toe curve is s = E e² / (2 e_t) below e_t and E (e - e_t / 2) above, E = 2000 MPa,
e_t = 0.002; the method is ASTM D638, annex A1. Compliance: travel / force = L / (E A) + C.
"""

import numpy as np
import pytest

from voidless.measure.curves.read import Curve
from voidless.measure.tensile.compliance import correct_compliance
from voidless.measure.tensile.modulus import chord_modulus, fit_line
from voidless.measure.tensile.reduce import reduce_tensile

STRAIN = np.arange(2001) * 5e-6
STRESS = np.where(STRAIN < 0.002, 2000.0 * STRAIN**2 / 0.004, 2000.0 * (STRAIN - 0.001))


def test_toe():
    """Corrected zero 0.001, slope 2000 MPa, 18 MPa at 0.01; both to rounding of the arithmetic."""
    line = fit_line(STRAIN[STRAIN >= 0.002], STRESS[STRAIN >= 0.002])
    assert line.zero == pytest.approx(0.001, rel=1e-8)
    assert line.slope == pytest.approx(2000.0, rel=1e-8)
    assert STRESS[-1] == pytest.approx(18.0, rel=1e-12)


def test_chord_before_and_after_the_shift():
    """1437.5 MPa with the toe in the chord, 1937.5 MPa after the shift, for some toe is still in it."""
    assert chord_modulus(STRAIN, STRESS) == pytest.approx(1437.5, rel=1e-8)
    assert chord_modulus(STRAIN - 0.001, STRESS) == pytest.approx(1937.5, rel=1e-8)


def test_the_reduction_finds_the_toe_itself():
    force = np.concatenate([STRESS, np.zeros(20)]) * 40.0
    strain = np.concatenate([STRAIN, np.full(20, STRAIN[-1])])
    found = reduce_tensile(Curve("bar", {"force_n": force, "strain": strain}), 40.0)
    assert found.stiffness.toe_strain == pytest.approx(0.001, rel=1e-8)
    assert found.stiffness.straight_gpa == pytest.approx(2.0, rel=1e-8)
    assert found.stiffness.chord_gpa == pytest.approx(1.9375, rel=1e-8)
    assert found.strain_break_pct == pytest.approx(0.9, rel=1e-8)
    assert any("into the chord" in flag for flag in found.flags)


def test_compliance():
    """A 40 mm², L 115 mm, C 5e-4 mm/N: apparent 1591.19497 MPa, true 2200 MPa."""
    travel_per_force = 115.0 / (2200.0 * 40.0) + 5e-4
    apparent = 115.0 / (40.0 * travel_per_force)
    assert apparent == pytest.approx(1591.19497, abs=5e-6)
    assert correct_compliance(apparent, 40.0, 115.0, 5e-4) == pytest.approx(2200.0, rel=1e-12)
