"""Reductions of the bench against closed forms: toe, dark colours, white, flags at their bounds, wound filament."""

from dataclasses import replace

import numpy as np
import pytest

from voidless.measure.impact.reduce import Blow, BreakType, impact_strength
from voidless.measure.optics.colour import lab_of_xyz
from voidless.measure.tensile.modulus import Line, toe_end
from voidless.measure.tightness.decay import leak_from_decay
from voidless.physics.moisture.spool import pack_diffusivity
from voidless.physics.optics.colour import SRGB_TO_XYZ

# ---- colour ----


def test_white_of_two_standards_is_without_colour():
    """White of IEC 61966-2-1 (four digits) under the white of ASTM E308: half a digit is 0.02 of a* and b*."""
    assert lab_of_xyz(SRGB_TO_XYZ.sum(axis=1)) == pytest.approx([100.0, 0.0, 0.0], abs=0.02)


def test_white_has_the_chromaticity_of_daylight():
    """x 0.3127, y 0.3290 of D65 and 2° (CIE 15, from memory): X/Y and Z/Y to what four digits leave."""
    x, y = 0.3127, 0.3290
    assert lab_of_xyz([x / y, 1.0, (1.0 - x - y) / y]) == pytest.approx([100.0, 0.0, 0.0], abs=0.06)


def test_dark_colours_follow_a_line():
    """
    Below Y = (6/29)³ L* = (29/3)³ Y (ISO/CIE 11664-4), a* and b* with 841/108; the line meets the root at L* = 8.

    Both sides of the meeting point agree in value and slope, as the standard's numbers are made for.
    """
    white = lab_of_xyz([1.0, 1.0, 1.0], white=[1.0, 1.0, 1.0])
    assert white == pytest.approx([100.0, 0.0, 0.0])
    dark = lab_of_xyz([0.002, 0.001, 0.0005], white=[1.0, 1.0, 1.0])
    assert dark == pytest.approx([903.2963e-3, 500 * 841 / 108 * 0.001, 200 * 841 / 108 * 0.0005], abs=5e-7)
    meet = (6.0 / 29.0) ** 3
    near = lab_of_xyz(np.full((2, 3), meet) * [[1 - 1e-9], [1 + 1e-9]], white=[1.0, 1.0, 1.0])[:, 0]
    assert near == pytest.approx([8.0, 8.0], abs=1e-6)


# ---- toe ----


def test_a_parabolic_toe_ends_where_it_leaves_its_line():
    """
    s = E e²/(2 t) up to t, E (e - t/2) beyond: it lies E (t - e)²/(2 t) off its line.

    Off by a share q of the largest stress up to t - √(2 t q s/E), counted from the corrected zero t/2.
    """
    modulus, toe = 2000.0, 0.002
    strain = np.linspace(0.0, 0.01, 20_001)
    stress = np.where(strain < toe, modulus * strain**2 / (2 * toe), modulus * (strain - toe / 2))
    for share in (0.002, 0.005, 0.02):
        found = toe_end(strain, stress, Line(modulus, toe / 2, 1.0), share)
        assert found == pytest.approx(toe / 2 - np.sqrt(2 * toe * share * stress.max() / modulus), abs=5e-7)


def test_a_straight_curve_has_no_toe_and_noise_makes_none():
    """Noise of 2 % of the largest stress is above the share of 0.5 %: four of its standard deviations count instead."""
    strain = np.linspace(0.0, 0.01, 2001)
    line = Line(2000.0, 0.0, 1.0)
    assert toe_end(strain, 2000.0 * strain, line) == 0.0
    noise = 0.4 * np.random.default_rng(3).standard_normal(strain.size)
    assert np.abs(noise).max() > 3.0 * 0.4
    assert toe_end(strain, 2000.0 * strain + noise, line) == 0.0


# ---- tightness ----

VOLUME, PLACE, WARM = 1e-3, 2e5, 296.15


def vessel(loss, warming=0.0, scatter=0.01, wave=0.0, temperature=True):
    """Return the leak of a vessel that loses so many pascals in an hour at 23 °C while it warms. [Pa], [K]"""
    time = np.linspace(0.0, 3600.0, 240)
    heat = WARM + warming * (time / 3600.0 - 0.5)
    noise = scatter * np.random.default_rng(5).standard_normal(time.size)
    level = PLACE - loss * time / 3600.0 + noise + wave * np.sin(2 * np.pi * time / 1800.0)
    return leak_from_decay(time, level * heat / WARM, heat if temperature else None, VOLUME)


def said(found, words):
    return any(words in flag for flag in found.flags)


def test_a_change_is_called_thermal_above_a_fifth_of_the_leak():
    """A warming of dT passes for p dT/T of pressure gained; a fifth of a loss of 1000 Pa is 0.296 K at 2 bar."""
    for share, thermal in ((0.19, False), (0.21, True)):
        found = vessel(1000.0, share * 1000.0 / PLACE * WARM)
        assert found.rate == pytest.approx(VOLUME * 1000.0 / 3600.0, rel=1e-4)
        assert (found.rate - found.uncorrected) / found.rate == pytest.approx(share, rel=0.01)
        assert said(found, "thermal") is thermal


def test_a_leak_that_the_scatter_hides_is_said_to_be_hidden():
    """
    The standard error of a slope is √12 s/(√n L): 240 readings of 20 Pa know a loss to 4.5 Pa in all.

    The scatter is told from 16 means of groups, so it is itself known to a fifth at one standard error; three are let.
    """
    for loss in (0.0, 45.0):
        found = vessel(loss, scatter=20.0)
        assert found.uncertainty * 3600.0 / VOLUME == pytest.approx(np.sqrt(12 / 240) * 20.0, rel=0.6)
        assert (
            said(found, "no leak stands out")
            is (abs(found.rate) <= 1.96 * found.uncertainty)
            is (loss == 0.0)
        )


def test_wandering_rising_and_missing_thermometers_are_said():
    assert said(vessel(1000.0, wave=5.0), "slow wandering")
    assert not said(vessel(1000.0), "slow wandering")
    assert said(vessel(-1000.0), "pressure rose")
    assert not said(vessel(1000.0), "pressure rose")
    assert said(vessel(1000.0, temperature=False), "no temperature read")
    assert not said(vessel(1000.0), "no temperature read")


# ---- impact ----

BLOW = Blow(2.0, 4.0, 10.0, "iso179_1eu", BreakType.COMPLETE, 0.05, 5.0)


@pytest.mark.parametrize(
    ("taken", "flagged"), [(0.0999, True), (0.1001, False), (0.5, False), (0.7999, False), (0.8001, True)]
)
def test_a_pendulum_reads_well_between_a_tenth_and_four_fifths(taken, flagged):
    """10 to 80 % of its energy (ISO 13802, from memory), losses taken off first."""
    blow = replace(BLOW, energy_j=5.0 * taken + 0.05)
    assert any("of the pendulum's energy" in flag for flag in impact_strength(blow).flags) is flagged


def test_bars_that_hold_and_pendulums_without_losses_are_said():
    assert impact_strength(BLOW).flags == ()
    held = impact_strength(replace(BLOW, break_type=BreakType.NONE))
    assert "only a lower limit" in held.flags[0]
    assert not held.counts
    assert "broke in part" in impact_strength(replace(BLOW, break_type=BreakType.PARTIAL)).flags[0]
    assert "no losses" in impact_strength(replace(BLOW, loss_j=0.0)).flags[0]
    assert impact_strength(replace(BLOW, pendulum_j=None)).flags == ()


# ---- wound filament ----


@pytest.mark.parametrize(("celsius", "vapour"), [(20.0, 17.3), (25.0, 23.0), (40.0, 51.1)])
def test_humid_air_gets_into_a_pack_by_its_gaps(celsius, vapour):
    """
    D_air g/τ × vapour of saturated air / capacity, D_air 2.5e-5 m²/s at 23 °C and growing as T^1.8.

    Saturated air holds 17.3, 23.0, 51.1 g/m³ (steam tables, from memory; half a digit is 0.3 %). Round strands in the
    closest packing leave 1 - π/(2√3) of air.
    """
    kelvin, gaps = celsius + 273.15, 1.0 - np.pi / (2.0 * np.sqrt(3.0))
    expected = 2.5e-5 * (kelvin / 296.15) ** 1.8 * gaps / 2.0 * 1e-3 * vapour / 7.0
    assert pack_diffusivity(kelvin, 7.0, gaps=gaps) == pytest.approx(expected, rel=3e-3)
    assert pack_diffusivity(kelvin, 7.0) == pytest.approx(expected, rel=0.04)  # 0.09 for 0.0931
    assert pack_diffusivity(kelvin, 7.0, 0.2, 3.0) == pytest.approx(
        expected * 0.2 / gaps * 2.0 / 3.0, rel=3e-3
    )
