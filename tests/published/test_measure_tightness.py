"""
Leak rates, bubbles, capillaries, permeation and vessels against printed and computed values.

Sources: leak-test manual with factors for viscous and molecular flow (air = 1.08 and 0.374 of helium); leak-rate
conversion guide (1 Pa m³/s = 9.87 atm cm³/s); throughput converter citing NIST (1 sccm = 1.68875e-3 Pa m³/s); bubble
table (2 mm: 4.2 s, 41.9 s, 7.0 min, 69.8 min); permeability handbook abstract (1 Barrer = 7.5e-14 cm³ cm/(cm² s Pa)).
Values marked computed were worked out by hand from the stated formula, with as many digits as are written here.
"""

import pytest

from voidless.errors import InputError
from voidless.measure.tightness.bubble import bubble_interval, bubble_leak, smallest_channel
from voidless.measure.tightness.decay import leak_from_two
from voidless.measure.tightness.leak import (
    ATM_CM3_S,
    BARRER,
    HELIUM_TO_AIR_MOLECULAR,
    HELIUM_TO_AIR_VISCOUS,
    MBAR_L_S,
    capillary_leak,
    permeation,
    sccm,
    throughput_at,
)
from voidless.measure.tightness.vessel import CAUTION, stored_gas, stored_water, wall_axial, wall_hoop


def test_units_of_leak_rate():
    """9.87 atm cm³/s and 10 mbar l/s a Pa m³/s; the digits behind are computed."""
    assert pytest.approx(9.869233, abs=5e-7) == 1.0 / ATM_CM3_S
    assert pytest.approx(10.0) == 1.0 / MBAR_L_S
    assert sccm(1.0) == pytest.approx(592.154, abs=5e-4)
    assert 1.0 / sccm(1.0) == pytest.approx(1.68875e-3, abs=5e-9)
    assert sccm(MBAR_L_S) == pytest.approx(59.2, abs=0.05)


def test_the_reference_temperature_belongs_to_a_leak_rate():
    """A throughput counted at 20 °C is 273.15/293.15 of it at 0 °C."""
    assert throughput_at(1.0, 293.15, 273.15) == pytest.approx(273.15 / 293.15)
    assert sccm(1.0, 293.15) == pytest.approx(592.154 * 273.15 / 293.15, rel=1e-6)
    with pytest.raises(InputError, match="above 0 K"):
        throughput_at(1.0, 0.0, 273.15)


def test_two_readings():
    """Computed: 100 cm³, 100 Pa, 600 s; and 2 bar with a gas that cooled by 0.5 K: 68 % of the drop is thermal."""
    plain = leak_from_two(1e-4, 600.0, (2e5, 293.15), (2e5 - 100.0, 293.15))
    assert plain == pytest.approx(1.666667e-5, abs=5e-12)
    assert plain / ATM_CM3_S == pytest.approx(1.64487e-4, abs=5e-10)
    assert sccm(plain) == pytest.approx(9.869233e-3, abs=5e-9)
    cooled = leak_from_two(1e-4, 600.0, (200000.0, 293.15), (199500.0, 292.65))
    assert cooled == pytest.approx(2.652486e-5, abs=5e-12)
    assert 1.0 - cooled / (1e-4 / 600.0 * 500.0) == pytest.approx(0.68, abs=0.005)


def test_helium_and_air():
    """Printed 1.08 and 0.374; from viscosities 19.6 and 18.2 µPa s and molar masses within 1 %."""
    assert pytest.approx(1.08, rel=0.01) == HELIUM_TO_AIR_VISCOUS
    assert pytest.approx(0.374, rel=0.01) == HELIUM_TO_AIR_MOLECULAR
    assert pytest.approx(1.0769, abs=5e-5) == HELIUM_TO_AIR_VISCOUS
    assert pytest.approx(0.3717, abs=5e-5) == HELIUM_TO_AIR_MOLECULAR


def test_viscous_leaks_go_with_the_squares_of_pressures():
    """Computed: 10 µm by 1 mm, 2 to 1 bar; the manual's 0.001 becomes 0.004 from 10 to 20 atm (4.0303)."""
    assert capillary_leak(1e-5, 1e-3, 2e5, 1e5, 18.2e-6) == pytest.approx(2.02283e-4, abs=5e-10)
    assert capillary_leak(1e-5, 1e-3, 2e5, 1e5, 19.6e-6) == pytest.approx(1.87834e-4, abs=5e-10)
    atm = 101325.0
    ratio = capillary_leak(1e-5, 1e-3, 20 * atm, atm, 1e-5) / capillary_leak(1e-5, 1e-3, 10 * atm, atm, 1e-5)
    assert ratio == pytest.approx(4.0303, abs=5e-5)


@pytest.mark.parametrize(
    ("rate", "seconds", "half"),
    [(1e-3, 4.2, 0.05), (1e-4, 41.9, 0.05), (1e-5, 420.0, 3.0), (1e-6, 4188.0, 3.0)],
)
def test_bubbles_of_two_millimetres(rate, seconds, half):
    """The table prints 4.2 s, 41.9 s, 7.0 min and 69.8 min; volume of a bubble 4.18879 mm³."""
    assert bubble_interval(rate * ATM_CM3_S, 2e-3) == pytest.approx(seconds, abs=half)


def test_the_finest_channel_that_blows_bubbles():
    """Computed with 0.073 N/m: 10 µm at 29.2 kPa, 1 µm at 292 kPa."""
    assert smallest_channel(29.2e3) == pytest.approx(10e-6, rel=1e-12)
    assert smallest_channel(292e3) == pytest.approx(1e-6, rel=1e-12)
    with pytest.raises(InputError, match="overpressure above 0"):
        smallest_channel(float("nan"))


def test_counted_bubbles_have_a_poisson_interval():
    """Exact limits of 10 counts, 4.795 to 18.39 (Garwood 1936, as tables print them), where the size is certain."""
    leak = bubble_leak(10, 60.0, 2e-3, diameter_share=0.0)
    assert leak.low / leak.rate * 10 == pytest.approx(4.795, abs=5e-4)
    assert leak.high / leak.rate * 10 == pytest.approx(18.39, abs=5e-3)
    assert bubble_leak(0, 60.0, 2e-3).low == 0.0 < bubble_leak(0, 60.0, 2e-3).high


def test_permeation():
    """Computed: 1 Barrer = 7.5e-14 cm³ cm/(cm² s Pa); 10 Barrer, 100 cm², 2 mm, 1 bar."""
    assert pytest.approx(7.5e-14, abs=5e-16) == BARRER * 1e6 * 1e2 / 1e4
    found = permeation(10.0, 1e-2, 2e-3, 1e5)
    assert found == pytest.approx(10 * 7.50062e-18 * 1e-2 / 2e-3 * 1e5 * 101325.0, rel=1e-5)


def test_a_vessel():
    """Computed: 1 l at 6 bar over ambient; 0.6 MPa in a tube of radii 20 and 23 mm."""
    assert stored_gas(701325.0, 1e-3) == pytest.approx(744.52, abs=5e-3)
    assert stored_water(6e5, 1e-3) == pytest.approx(0.0818, abs=5e-5)
    assert wall_hoop(0.6, 20.0, 23.0) == pytest.approx(4.320930, abs=5e-7)
    assert wall_axial(0.6, 20.0, 23.0) == pytest.approx(1.860465, abs=5e-7)
    assert CAUTION.startswith("Proof-test with water first")


def test_a_public_page_prints_six_times_the_energy():
    """A page prints 27 574 000 ft lb for 404.7 psia, 53.44 ft³, k 1.41; its own formula gives 4.699e6."""
    psi, foot = 6894.757293168, 0.3048
    energy = stored_gas(404.7 * psi, 53.44 * foot**3, 14.7 * psi, 1.41) / 1.3558179483314
    assert energy == pytest.approx(4.699e6, abs=5e2)
    assert energy < 27_574_000 / 5
