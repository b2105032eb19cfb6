"""Reduction of one curve: strengths, strain, toe, energy, and what is odd about a record."""

import dataclasses

import numpy as np
import pytest

from voidless.errors import ComputationError, InputError
from voidless.measure.curves.read import Curve
from voidless.measure.series.noise import quick_noise
from voidless.measure.tensile.compliance import correct_compliance
from voidless.measure.tensile.flags import count_falls
from voidless.measure.tensile.modulus import chord_modulus, fit_line
from voidless.measure.tensile.reduce import reduce_tensile
from voidless.measure.tensile.strength import METHODS, first_maximum, maximum

SECTION = 40.0
MODULUS = 2000.0


def _curve(force, **channels):
    facts = channels.pop("facts", {})
    found = {
        "force_n": np.asarray(force, dtype=float),
        **{key: np.asarray(item) for key, item in channels.items()},
    }
    return Curve("bar", found, facts=facts)


def _bar(points=400, strain_max=0.02, noise=0.0, tail=60, seed=1):
    """A bar of 2 GPa that is straight up to its break at 40 MPa, then nothing."""
    strain = np.linspace(0.0, strain_max, points)
    force = MODULUS * strain * SECTION
    strain = np.concatenate([strain, np.full(tail, strain_max) + np.arange(tail) * 1e-4])
    force = np.concatenate([force, np.zeros(tail)])
    force = force + np.random.default_rng(seed).normal(0.0, noise, force.size) if noise else force
    return _curve(force, extension_mm=strain * 50.0, facts={"gauge_length_mm": 50.0})


def test_a_straight_bar_gives_back_what_it_was_made_of():
    found = reduce_tensile(_bar(), SECTION)
    assert found.max_force_n == pytest.approx(1600.0)
    assert found.strength_mpa == pytest.approx(40.0)
    assert found.strain_break_pct == pytest.approx(2.0)
    assert found.stiffness.chord_gpa == pytest.approx(2.0)
    assert found.stiffness.regression_gpa == pytest.approx(2.0)
    assert found.stiffness.toe_strain == pytest.approx(0.0, abs=1e-12)
    assert found.energy_j == pytest.approx(0.5 * 1600.0 * 1.0e-3)
    assert not found.stiffness.apparent
    assert found.flags == ()


def test_noise_hardly_moves_the_answer():
    found = reduce_tensile(_bar(noise=1.0), SECTION)
    assert found.strength_mpa == pytest.approx(40.0, abs=4 * 1.0 / SECTION)
    assert found.stiffness.regression_gpa == pytest.approx(2.0, rel=0.02)
    assert found.strength_by_method["iso527_2012"] == pytest.approx(40.0, abs=1.5 * 1.0 / SECTION)


def test_strain_from_crosshead_is_called_nominal_and_its_modulus_apparent():
    bar = _bar()
    travel = -700.0 + bar.channels["extension_mm"] * 115.0 / 50.0
    found = reduce_tensile(
        _curve(bar.channels["force_n"], travel_mm=travel, facts={"span_mm": 115.0}), SECTION
    )
    assert found.strain_basis == "nominal, crosshead travel over 115 mm"
    assert found.stiffness.apparent
    assert found.stiffness.chord_gpa == pytest.approx(2.0, rel=1e-3)


def test_without_a_length_there_is_no_strain_and_no_modulus():
    bar = _bar()
    found = reduce_tensile(_curve(bar.channels["force_n"], travel_mm=bar.channels["extension_mm"]), SECTION)
    assert (found.strain_basis, found.strain_break_pct, found.stiffness) == ("", None, None)
    assert found.energy_j is not None
    assert reduce_tensile(bar, SECTION, gauge_length_mm=25.0).strain_break_pct == pytest.approx(4.0)


def test_a_long_toe_is_said():
    bar = _bar(points=4000)
    strain = bar.channels["extension_mm"] / 50.0
    stress = np.where(strain < 0.004, MODULUS * strain**2 / 0.008, MODULUS * (strain - 0.002))
    force = np.where(np.arange(strain.size) < 4000, stress * SECTION, 0.0)
    found = reduce_tensile(dataclasses.replace(bar, channels={**bar.channels, "force_n": force}), SECTION)
    assert found.stiffness.toe_strain == pytest.approx(0.002, rel=1e-6)
    assert any("into the chord" in flag for flag in found.flags)


def test_a_curve_without_a_straight_part_has_no_modulus():
    strain = np.linspace(0.0, 0.02, 400)
    force = 1600.0 * strain / 0.02 + np.random.default_rng(5).normal(0.0, 40.0, 400)
    found = reduce_tensile(_curve(force, strain=strain), SECTION)
    assert found.stiffness is None
    assert any("no straight part" in flag for flag in found.flags)


RISE = np.linspace(0.0, 1000.0, 200)
DOWN = np.linspace(1000.0, 0.0, 20)
ZERO = np.zeros(40)

ODD = {
    "preload": ([*RISE[20:], *DOWN, *ZERO], "the record begins at 100.5 N"),
    "false start": ([*RISE[:60], *RISE[60::-1], *RISE, *DOWN, *ZERO], "false start"),
    "slip": ([*RISE[:150], *RISE[120:], *DOWN, *ZERO], "fell at 748.7 N and rose again to 1000 N"),
    "double break": (
        [*RISE, *DOWN[:8], *np.linspace(632, 700, 20), *np.linspace(700, 0, 20), *ZERO],
        "in 2 steps",
    ),
    "drift": ([*RISE, *DOWN, *(ZERO - 30.0)], "after the break the force stands at -30 N"),
    "no break": ([*RISE, *DOWN[:5]], "ends before a break"),
}


@pytest.mark.parametrize("name", ODD)
def test_odd_records_are_flagged_and_nothing_else_is(name):
    force, words = ODD[name]
    flags = reduce_tensile(_curve(force), SECTION).flags
    assert any(words in flag for flag in flags), flags
    others = [other for key, (_, other) in ODD.items() if key != name]
    assert not any(other in flag for other in others for flag in flags if words not in flag), flags


def test_a_leap_of_the_displacement_is_flagged():
    bar = _bar()
    leaping = bar.channels["extension_mm"].copy()
    leaping[0] = -3.0
    found = reduce_tensile(
        dataclasses.replace(bar, channels={**bar.channels, "extension_mm": leaping}), SECTION
    )
    assert any("leaps from -3" in flag for flag in found.flags)


def test_the_two_methods_differ_where_a_yield_point_comes_first():
    force = np.concatenate([np.linspace(0, 900, 100), np.linspace(900, 700, 50), np.linspace(700, 1200, 300)])
    found = reduce_tensile(_curve(force), SECTION, method="iso527_2012")
    assert found.strength_mpa == pytest.approx(900 / SECTION)
    assert found.strength_by_method["maximum"] == pytest.approx(1200 / SECTION)
    assert found.method == "iso527_2012"


def test_noise_is_no_first_maximum():
    rng = np.random.default_rng(3)
    force = np.linspace(0.0, 1000.0, 2000) + rng.normal(0.0, 8.0, 2000)
    assert force[first_maximum(force)] > 980.0
    assert quick_noise(force) == pytest.approx(8.0, rel=0.1)


def test_a_false_start_is_no_first_maximum():
    force = np.concatenate([np.linspace(0, 200, 50), np.linspace(200, 0, 50), np.linspace(0, 1000, 100)])
    assert force[first_maximum(force)] == 1000.0


@pytest.mark.parametrize("find", METHODS.values(), ids=METHODS)
def test_a_record_without_tension_is_refused(find):
    for force in (np.zeros(10), np.full(10, np.nan), np.array([1.0])):
        with pytest.raises(ComputationError, match="finite forces"):
            find(force)
    assert maximum(np.array([0.0, 3.0, 1.0])) == 1


def test_falls_are_counted():
    assert count_falls(np.array([100.0, 0.0]), 100.0) == 1
    assert count_falls(np.array([100.0, 70.0, 80.0, 50.0, 0.0]), 100.0) == 2
    assert count_falls(np.array([100.0, 90.0, 95.0, 85.0]), 100.0) == 0


@pytest.mark.parametrize("section", [0.0, -1.0, float("nan")])
def test_an_impossible_section_is_refused(section):
    with pytest.raises(InputError, match="above 0 mm²"):
        reduce_tensile(_bar(), section)


def test_other_mistakes_are_refused():
    with pytest.raises(InputError, match="one of maximum, iso527_2012"):
        reduce_tensile(_bar(), SECTION, method="peak")
    with pytest.raises(InputError, match="no force channel"):
        reduce_tensile(Curve("bar", {"time_s": np.arange(9.0)}), SECTION)
    with pytest.raises(InputError, match="no force above 0 N"):
        reduce_tensile(_curve(np.zeros(9)), SECTION)


def test_a_chord_needs_a_record_on_both_sides():
    strain = np.linspace(0.0, 0.002, 50)
    with pytest.raises(ComputationError, match=r"do not pass 0.0025"):
        chord_modulus(strain, strain * MODULUS)
    with pytest.raises(ComputationError, match=r"do not pass 0.0005"):
        chord_modulus(strain + 0.001, strain * MODULUS)


def test_a_line_needs_points_and_a_slope():
    with pytest.raises(ComputationError, match="at least 3"):
        fit_line(np.array([0.0, 1.0]), np.array([0.0, 1.0]))
    with pytest.raises(ComputationError, match="above 0"):
        fit_line(np.arange(5.0), -np.arange(5.0))


def test_a_compliance_that_eats_all_travel_is_refused():
    with pytest.raises(ComputationError, match="more than the whole travel"):
        correct_compliance(1500.0, 40.0, 115.0, 2e-3)


@pytest.mark.parametrize("modulus_mpa", [1500.0, 2100.0])
def test_a_curve_that_softens_from_its_start_has_no_toe(modulus_mpa):
    """48 MPa tanh(E strain / 48): chord from 0.05 to 0.25 % by hand; strain at break from the true origin."""
    strain = np.concatenate([np.zeros(10), np.arange(0.0, 0.04, 1e-4)])
    stress = 48.0 * np.tanh(modulus_mpa * strain / 48.0)
    noise = 0.01 * np.random.default_rng(3).standard_normal(strain.size)
    force = 40.0 * (stress + noise)
    force[-2:] = 1.0
    channels = {"time_s": 0.1 * np.arange(strain.size), "force_n": force, "extension_mm": 50.0 * strain}
    found = reduce_tensile(Curve("a", channels, facts={"gauge_length_mm": 50.0}), 40.0)
    low, high = (48.0 * np.tanh(modulus_mpa * end / 48.0) for end in (0.0005, 0.0025))
    assert found.stiffness.regression_gpa == pytest.approx((high - low) / 2.0, rel=0.01)
    assert abs(found.stiffness.toe_strain) < 2e-5
    assert found.strain_break_pct == pytest.approx(3.97, abs=0.02)
    assert not any("toe" in flag for flag in found.flags)


def test_a_record_that_begins_at_a_preload_keeps_its_origin():
    """A straight curve whose strain was set to zero at 40 N (1 MPa of 2000): the origin lies 0.05 % before."""
    strain = np.arange(0.0, 0.02, 5e-5)
    force = 40.0 * (1.0 + 2000.0 * strain)
    force[-2:] = 1.0
    channels = {"time_s": 0.1 * np.arange(strain.size), "force_n": force, "extension_mm": 50.0 * strain}
    found = reduce_tensile(Curve("a", channels, facts={"gauge_length_mm": 50.0}), 40.0)
    assert found.stiffness.toe_strain == pytest.approx(-0.0005, abs=2e-6)
    assert found.stiffness.straight_gpa == pytest.approx(2.0, rel=1e-3)
