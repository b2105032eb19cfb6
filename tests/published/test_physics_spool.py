"""Water of spools: warm-air dryers (IAPWS-IF97), Crank's cylinder with changing air, gas shut in."""

import numpy as np
import pytest
from scipy.special import j0, j1, jn_zeros

from voidless.errors import InputError
from voidless.physics.moisture.bubbles import critical_radius, enclosed_gas_share, hydrolysed_viscosity
from voidless.physics.moisture.sorption import water_after_exposure
from voidless.physics.moisture.spool import (
    dryer_humidity,
    drying_time,
    humidity_in_windings,
    pack_diffusivity,
    water_after_intervals,
)
from voidless.units import kelvin

RADIUS = 0.875e-3


def test_warm_air_dryer_is_not_dry():
    """Room air of 23 °C and 50 %: 5.6 % at 65 °C, 8.9 % at 55 °C (computed from IF97, printed to 0.1)."""
    found = dryer_humidity(kelvin(23.0), 0.5, [kelvin(65.0), kelvin(55.0)])
    assert 100 * found == pytest.approx([5.6, 8.9], abs=0.05)


def test_air_below_its_dew_point_is_saturated():
    """30 °C and 80 %: dew point 26.2 °C (Magnus' formula, from memory), full below it, 0.80 e(30)/e(28) above."""
    found = dryer_humidity(kelvin(30.0), 0.8, kelvin(np.array([15.0, 26.0, 26.4, 28.0])))
    assert list(found[:2]) == [1.0, 1.0]
    assert found[2] < 1.0
    magnus = [6.112 * np.exp(17.62 * t / (243.12 + t)) for t in (30.0, 28.0)]
    assert found[3] == pytest.approx(0.8 * magnus[0] / magnus[1], rel=2e-3)


def test_drying_time():
    """1.75 mm, 95 % dry: 9.66e-11/D hours; half dry at 1.341 h for D 1e-11."""
    assert drying_time(0.05, 1e-11, RADIUS) / 3600.0 == pytest.approx(9.661, abs=5e-4)
    assert drying_time(0.05, 1e-12, RADIUS) / 3600.0 == pytest.approx(96.6, abs=0.05)
    assert drying_time(0.5, 1e-11, RADIUS) / 3600.0 == pytest.approx(1.341, abs=5e-4)


def test_one_interval_is_the_plain_law():
    """Steady air."""
    plain = float(water_after_exposure(3600.0 * 3.0, 2e-3, 5e-3, 0.5, 2e-12, RADIUS))
    assert water_after_intervals([3.0], [2.5e-3], [2e-12], 2e-3, RADIUS) == pytest.approx(plain, rel=1e-12)
    halves = water_after_intervals([1.0, 2.0], [2.5e-3, 2.5e-3], [2e-12] * 2, 2e-3, RADIUS)
    assert halves == pytest.approx(plain, rel=1e-12)


def _by_eigenfunctions(hours, rest, diffusivity, start):
    """Carry the whole profile in Bessel functions from interval to interval: another way to the same."""
    zeros = jn_zeros(0, 400)
    one = 2.0 / (zeros * j1(zeros))  # a constant of 1 in these functions
    profile, level = (start - rest[0]) * one, rest[0]
    for h, r, d in zip(hours, rest, diffusivity, strict=True):
        profile, level = profile + (level - r) * one, r
        profile = profile * np.exp(-(zeros**2) * d * 3600.0 * h / RADIUS**2)
    return level + float(np.sum(profile * 2.0 * j1(zeros) / zeros))


def test_changing_air_against_the_whole_profile():
    """Wet a dry spool for 2 h, dry it warm for 1 h, leave it for 10 h."""
    story = ([2.0, 1.0, 10.0], [4e-3, 3e-4, 2.5e-3], [2e-12, 2e-11, 2e-12])
    assert j0(jn_zeros(0, 1))[0] == pytest.approx(0.0, abs=1e-12)
    assert water_after_intervals(*story, 2e-4, RADIUS) == pytest.approx(
        _by_eigenfunctions(*story, 2e-4), abs=2e-8
    )


def test_even_profiles_between_intervals_would_be_wrong():
    """A skin wetted briefly dries faster than the same water spread evenly."""
    exact = water_after_intervals([1.0, 1.0], [4e-3, 0.0], [2e-12] * 2, 0.0, RADIUS)
    wet = float(water_after_exposure(3600.0, 0.0, 4e-3, 1.0, 2e-12, RADIUS))
    even = float(water_after_exposure(3600.0, wet, 4e-3, 0.0, 2e-12, RADIUS))
    assert exact < 0.8 * even


def test_windings():
    """Outside at once, nothing deep, half of it at 0.954 √(D t) (erfc(0.4769) = ½)."""
    d, t = 3.3e-9, 3600.0
    found = humidity_in_windings(np.array([0.0, 0.9539 * np.sqrt(d * t), 1.0]), t, d, 0.6)
    assert found == pytest.approx([0.6, 0.3, 0.0], abs=1e-4)


def test_pack_is_slower_the_more_the_polymer_drinks():
    """As one over capacity; a thirstier polymer keeps its inner windings dry for longer."""
    one, ten = pack_diffusivity(296.15, [7.0, 70.0])
    assert one == pytest.approx(10.0 * ten)
    assert 1e-10 < one < 1e-7


def test_bubbles_and_enclosed_air():
    """2 Γ/r is 0.06 MPa at 1 µm and 0.03 N/m; air shut in hot shrinks as it cools; chains cut by 12.2 %."""
    assert critical_radius(0.03, 0.06e6) == pytest.approx(1e-6)
    assert enclosed_gas_share(0.01, 500.0, 350.0) == pytest.approx(0.007)
    assert hydrolysed_viscosity(25.0, 21.953) == pytest.approx(0.878**3.4, rel=1e-3)


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: dryer_humidity(296.0, np.nan, 330.0), "humidity is not between"),
        (lambda: drying_time(0.0, 1e-11, RADIUS), "residual = 0"),
        (lambda: drying_time(float("nan"), 1e-11, RADIUS), "residual = nan"),
        (lambda: water_after_intervals([-1.0], [0.0], [1e-12], 0.0, RADIUS), "hours is not"),
        (lambda: critical_radius(0.03, np.nan), "overpressure is not above"),
    ],
)
def test_impossible_values_are_refused(call, match):
    """NaN and impossible values."""
    with pytest.raises(InputError, match=match):
        call()
