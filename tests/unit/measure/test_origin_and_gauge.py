"""Curves that bend from their start, grips that are soft at first, and extensometers that came off."""

import numpy as np
import pytest

from voidless.measure.curves.read import Curve
from voidless.measure.flexure.reduce import Bar, reduce_flexure
from voidless.measure.tensile.bench import Bench
from voidless.measure.tensile.compliance import compliance_table
from voidless.measure.tensile.lengths import LengthRecord, fit_lengths
from voidless.measure.tensile.reduce import reduce_tensile

SECTION = 40.0


def record(strain, stress, give=0.0, slack_mm=0.0, length=115.0, noise=0.2, seed=1):
    """Return force, travel and strain of an invented bar on an invented bench: 30 readings of zero follow the break."""
    rng = np.random.default_rng(seed)
    force = stress * SECTION
    travel = strain * length + give * force + slack_mm * (1.0 - np.exp(-force / (0.04 * force.max())))
    even = np.linspace(0.0, travel[-1], 1200)
    force = np.concatenate([np.interp(even, travel, force), np.zeros(30)]) + rng.normal(0.0, noise, 1230)
    gauge = np.concatenate([np.interp(even, travel, strain), np.full(30, strain[-1])])
    return force, np.concatenate([even, even[-1] + even[1] * np.arange(1, 31)]), gauge


def softening(modulus, bend, end):
    strain = np.linspace(0.0, end, 4001)
    return strain, modulus * strain * (1.0 - bend * strain)


@pytest.mark.parametrize("bend", [1.0, 3.0, 5.0, 8.0])
def test_strain_at_break_of_a_curve_that_bends_without_a_toe(bend):
    force, _, gauge = record(*softening(2800.0, bend, 0.0185))
    found = reduce_tensile(Curve("bar", {"force_n": force, "strain": gauge}), SECTION)
    # The truth is 1.85 %; the last reading may miss one interval, 0.0015 points.
    assert found.strain_break_pct == pytest.approx(1.85, abs=0.003)
    assert found.stiffness.regression_gpa == pytest.approx(2.8 * (1.0 - 0.003 * bend), rel=0.005)
    assert not any("toe" in flag for flag in found.flags)


def test_a_toe_is_still_a_toe():
    strain, stress = softening(2800.0, 1.0, 0.0185)
    force, travel, _ = record(strain, stress, slack_mm=0.3)
    found = reduce_tensile(
        Curve("bar", {"force_n": force, "travel_mm": travel}, facts={"span_mm": 115.0}), SECTION
    )
    assert 100 * found.stiffness.toe_strain == pytest.approx(0.26, abs=0.02)
    assert any("toe" in flag for flag in found.flags)


def test_soft_grips_drop_out_of_each_modulus_of_a_series_of_lengths():
    records = []
    for number, length in enumerate((40.0, 80.0, 120.0)):
        force, travel, _ = record(
            *softening(2750.0, 2.5, 0.02), give=5e-4, slack_mm=0.08, length=length, seed=number
        )
        records.append(LengthRecord(str(number), length, SECTION, force, travel))
    give = fit_lengths(records).compliance
    for one in records:
        curve = Curve(
            one.name, {"force_n": one.force_n, "travel_mm": one.travel_mm}, facts={"span_mm": one.length_mm}
        )
        found = reduce_tensile(curve, SECTION, bench=Bench(compliance=give))
        assert found.stiffness.regression_gpa == pytest.approx(2.75 * (1.0 - 2.5 * 0.003), rel=0.01)
        assert found.strain_break_pct == pytest.approx(2.0, abs=3 * found.uncertainty["strain_break_pct"])
        assert 0.002 < found.uncertainty["strain_break_pct"] < 0.06
        assert any("prolonged" in flag for flag in found.flags)


def test_a_give_is_prolonged_by_a_quarter_and_no_farther():
    give = compliance_table([100.0, 200.0, 300.0], [0.1, 0.18, 0.24], [0.001, 0.001, 0.001])
    assert give.at(np.array([330.0]))[0] == pytest.approx(0.24 + 0.06 / 100 * 30)
    assert np.isnan(give.at(np.array([376.0]))[0])
    assert give.uncertainty_at(300.0) == pytest.approx(0.001)
    assert give.uncertainty_at(330.0) == pytest.approx(np.hypot(0.001, 0.1 * 0.018))


def taken_off(at, travel=True):
    strain, stress = softening(2900.0, 4.0, 0.05)
    force, way, gauge = record(strain, stress)
    channels = {"force_n": force, "strain": np.minimum(gauge, at)}
    return Curve("bar", channels | ({"travel_mm": way} if travel else {}), facts={"span_mm": 115.0})


def test_an_extensometer_taken_off_gives_no_strain_at_break_of_its_own():
    found = reduce_tensile(taken_off(0.01), SECTION)
    assert found.strain_break_pct == pytest.approx(5.0, abs=0.02)
    assert "nominal" in found.strain_break_basis
    assert any("extensometer stood still" in flag for flag in found.flags)
    assert found.stiffness.regression_gpa == pytest.approx(2.9 * (1.0 - 4.0 * 0.003), rel=0.01)
    alone = reduce_tensile(taken_off(0.01, travel=False), SECTION)
    assert alone.strain_break_pct is None
    assert alone.energy_mj_m3 is None


def test_an_extensometer_that_stays_on_is_believed():
    found = reduce_tensile(taken_off(0.06), SECTION)
    assert found.strain_break_pct == pytest.approx(5.0, abs=0.01)
    assert "nominal" not in found.strain_break_basis


def test_a_bar_that_bends_softly_from_the_start_has_a_flexural_modulus():
    bar = Bar(64.0, 10.0, 4.0)
    strain, stress = softening(2900.0, 6.0, 0.03)
    deflection = strain * bar.span_mm**2 / (6.0 * bar.thickness_mm)
    force = stress * 2.0 * bar.width_mm * bar.thickness_mm**2 / (3.0 * bar.span_mm)
    rng = np.random.default_rng(4)
    found = reduce_flexure(force + rng.normal(0.0, 0.02, force.size), deflection, bar)
    assert found.regression_gpa == pytest.approx(2.9 * (1.0 - 6.0 * 0.003), rel=0.005)


GRIPS = {
    "kink": lambda force: 0.3 * np.minimum(force / 100.0, 1.0),
    "hyperbola": lambda force: 0.3 * force / (force + 20.0),
    "root": lambda force: 0.3 * np.sqrt(np.minimum(force / 150.0, 1.0)),
}


@pytest.mark.parametrize("grips", GRIPS)
def test_grips_that_give_a_third_of_a_millimetre_hardly_move_a_modulus_by_lengths(grips):
    """Two bars each of 40, 80 and 120 mm up to 3 % strain, 20 readings a second at 5 mm/min, 0.1 N of noise."""
    strain, stress = softening(2050.0, 8.0, 0.03)
    truth = 2.05 * (1.0 - 8.0 * 0.003)
    off, held = [], 0
    for seed in range(20):
        rng = np.random.default_rng(seed)
        records = []
        for length in (40.0, 40.0, 80.0, 80.0, 120.0, 120.0):
            force = stress * SECTION
            travel = strain * length + 2e-4 * force + GRIPS[grips](force) + rng.uniform(0.0, 0.05)
            even = np.arange(travel[0], travel[-1], 5.0 / 60.0 / 20.0)
            tail = even[-1] + 5.0 / 60.0 / 20.0 * np.arange(1, 21)
            read = np.concatenate([np.interp(even, travel, force), np.zeros(20)])
            noisy = read + rng.normal(0.0, 0.1, read.size)
            places = np.round(np.concatenate([even, tail]), 4)
            records.append(LengthRecord(f"{length}-{len(records)}", length, SECTION, noisy, places))
        found = fit_lengths(records)
        off.append(found.modulus_gpa / truth - 1.0)
        held += abs(found.modulus_gpa - truth) < 1.96 * found.uncertainty_gpa
    assert abs(np.mean(off)) < 0.0015
    assert held >= 17  # 19 of 20 are promised; 17 are as many with 98 %


@pytest.mark.parametrize(("bend", "seat_mm"), [(0.0, 0.02), (0.0, 0.05), (0.0, 0.1), (0.8, 0.05), (0.8, 0.1)])
def test_a_seat_that_gives_into_the_chord_is_told_and_counts_in_a_flexural_modulus(bend, seat_mm):
    """A bar of 2.1 GPa whose deflection holds a seat that gives up to 5 N; the chord lies between 1.8 and 8.8 N."""
    bar, held, told = Bar(64.0, 10.0, 4.0), 0, 0
    strain, stress = softening(2100.0, bend, 0.03)
    for seed in range(20):
        rng = np.random.default_rng(seed)
        force = stress * 2.0 * bar.width_mm * bar.thickness_mm**2 / (3.0 * bar.span_mm)
        travel = strain * bar.span_mm**2 / (6.0 * bar.thickness_mm) + seat_mm * (1.0 - np.exp(-force / 5.0))
        even = np.linspace(0.0, travel[-1], 3000)
        noisy = np.interp(even, travel, force) + rng.normal(0.0, 0.05, even.size)
        found = reduce_flexure(noisy, even, bar)
        held += abs(found.regression_gpa - 2.1 * (1.0 - 0.003 * bend)) < 1.96 * found.modulus_uncertainty_gpa
        told += any("into the chord of the modulus" in flag for flag in found.flags)
    assert told == 20
    assert held >= 17


@pytest.mark.parametrize("off", [0.006, 0.012])
def test_the_give_of_the_machine_counts_in_a_strain_that_goes_on_by_crosshead(off):
    """An extensometer taken off at 0.6 or 1.2 % strain of a bar that breaks at 1.85 %; 5e-4 mm/N give in the travel."""
    strain, stress = softening(2800.0, 3.0, 0.0185)
    for seed in range(5):
        force, travel, gauge = record(strain, stress, give=5e-4, seed=seed)
        gauge = np.minimum(gauge, off)
        channels = {"force_n": force, "travel_mm": travel, "strain": gauge}
        found = reduce_tensile(Curve("bar", channels, facts={"span_mm": 115.0}), SECTION)
        assert "method B" in found.strain_basis
        doubt = found.uncertainty["strain_break_pct"]
        later = float(np.interp(0.0185, strain, stress) - np.interp(off, strain, stress)) * SECTION
        assert doubt == pytest.approx(100.0 * 5e-4 * later / 115.0, rel=0.1)
        assert abs(found.strain_break_pct - 1.85) < 1.96 * doubt
