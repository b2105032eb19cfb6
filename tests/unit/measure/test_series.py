"""Trend, noise and peak of readings: exact without noise, honest with noise that hangs together."""

import numpy as np
import pytest

from voidless.errors import ComputationError, InputError
from voidless.measure.series.noise import Noise, noise_of, step_of
from voidless.measure.series.peak import smooth_peak
from voidless.measure.series.trend import coverage_factor, fit_trend
from voidless.measure.tensile.events import Happening, course_of
from voidless.measure.tightness.decay import leak_from_decay

X = np.linspace(0.0, 10.0, 2000)


def test_a_straight_line_is_exact():
    found = fit_trend(X, 3.0 * X - 6.0)
    assert (found.slope, found.zero, found.r_squared) == pytest.approx((3.0, 2.0, 1.0))
    assert found.slope_uncertainty == pytest.approx(0.0, abs=1e-12)
    with pytest.raises(ComputationError, match="at one place"):
        fit_trend(np.ones(9), np.arange(9.0))


def test_intervals_hold_for_noise_that_hangs_together():
    """400 lines with noise averaged over 40 neighbours; white-noise formulas would hold in a third of them."""
    rng = np.random.default_rng(2)
    held = 0
    for _ in range(400):
        noise = np.convolve(rng.standard_normal(X.size + 39), np.ones(40) / 40**0.5, "valid")
        found = fit_trend(X, 2.0 * X + noise)
        held += abs(found.slope - 2.0) <= 1.96 * found.slope_uncertainty
    assert held / 400 >= 0.92


def test_noise_is_judged_with_its_correlation():
    rng = np.random.default_rng(3)
    white = noise_of(X**2 + rng.normal(0.0, 0.5, X.size))
    assert white.sd == pytest.approx(0.5, rel=0.05)
    assert white.inflation < 3.0
    slow = np.convolve(rng.standard_normal(X.size + 29), np.ones(30) / 30**0.5, "valid")
    assert noise_of(X**2 + slow).inflation > 10.0
    assert step_of(np.round(X, 1)) == pytest.approx(0.1)
    assert step_of(rng.normal(size=50)) == 0.0


def test_a_peak_is_less_noisy_than_a_reading():
    """Error below a quarter of the noise of a reading; without noise the reading itself."""
    rng = np.random.default_rng(4)
    true = 100.0 - (X - 6.0) ** 2
    errors = []
    for _ in range(100):
        read = true + rng.normal(0.0, 1.0, X.size)
        noise = noise_of(read[:800])
        top, unsure = smooth_peak(read, int(np.argmax(read)), 0, X.size - 1, noise)
        errors.append(top - 100.0)
    assert np.std(errors) < 0.25
    assert unsure < 0.3
    exact = noise_of(true[:800])
    assert smooth_peak(true, int(np.argmax(true)), 0, X.size - 1, exact)[0] == pytest.approx(
        true.max(), abs=1e-9
    )


RISE, FALL = np.linspace(0.0, 1000.0, 400), np.zeros(40)
COURSES = {
    # loads again as stiffly: a slip, and no maximum
    "slip": (np.concatenate([RISE[:300], RISE[250:], FALL]), Happening.SLIP, 1000.0),
    # falls at once and loads again at a quarter of the stiffness: a first crack
    "crack": (np.concatenate([RISE[:300], np.linspace(600.0, 1000.0, 640), FALL]), Happening.CRACK, 749.37),
    # falls slowly and hardens slowly: yield
    "yield": (
        np.concatenate([RISE[:300], np.linspace(750, 650, 300), np.linspace(650, 1000, 1500), FALL]),
        Happening.YIELD,
        750.0,
    ),
}


@pytest.mark.parametrize("name", COURSES)
def test_loading_again_tells_what_a_fall_was(name):
    force, kind, first = COURSES[name]
    course = course_of(force)
    assert [event.kind for event in course.events] == [kind]
    assert force[course.first] == pytest.approx(first, abs=0.7)
    assert course.yields is (kind is Happening.YIELD)


def test_a_softening_bar_that_slips_before_yield_has_slipped():
    """The bar bends over; after the slip it loads again as softly as right before."""
    strain = np.linspace(0.0, 2.0, 800)
    whole = 1000.0 * (2.0 * np.minimum(strain, 1.0) - np.minimum(strain, 1.0) ** 2)
    slipped = np.concatenate([whole[:240], whole[200:]])
    course = course_of(slipped)
    assert [event.kind for event in course.events] == [Happening.SLIP]
    assert slipped[course.first] == pytest.approx(1000.0)


def test_temperature_is_taken_out_of_a_pressure():
    """A tight vessel that warms by 1 K shows no leak; one that leaks shows its leak and nothing else."""
    time = np.arange(0.0, 1200.0, 5.0)
    heat = 296.15 + time / 1200.0
    tight = leak_from_decay(time, 2e5 * heat / 296.15, heat, 1e-4)
    assert tight.rate == pytest.approx(0.0, abs=1e-12)
    assert tight.uncorrected == pytest.approx(-1e-4 * 2e5 / 296.15 / 1200.0, rel=0.01)
    assert any("thermal" in flag for flag in tight.flags)
    leaky = leak_from_decay(time, (2e5 - 0.3 * time) * heat / 296.15, heat, 1e-4)
    assert leaky.rate == pytest.approx(3e-5, rel=1e-9)
    drifting = leak_from_decay(time, 2e5 * heat / 296.15, heat, 1e-4, temperature_drift=0.1)
    assert drifting.budget["thermometer"] == pytest.approx(1e-4 * 2e5 / 296.15 * 0.1 / 1195.0, rel=0.01)
    with pytest.raises(InputError, match="whose time rises"):
        leak_from_decay(time[::-1], np.full(time.size, 2e5), None, 1e-4)
    with pytest.raises(InputError, match="absolute ones"):
        leak_from_decay(time, np.full(time.size, -1.0), None, 1e-4)


def test_few_degrees_of_freedom_widen():
    """Student's t at 0.975 over 1.96: 12.706 for one degree, 2.228 for ten (tables)."""
    assert coverage_factor(1) * 1.959964 == pytest.approx(12.706, abs=5e-4)
    assert coverage_factor(10) * 1.959964 == pytest.approx(2.228, abs=5e-4)


@pytest.mark.parametrize("digits", [2.0, 5.0, 12.0])
def test_the_last_digit_counts_by_what_a_course_leaves_of_it(digits):
    """Tops rounded to whole numbers, no noise but rounding (500 tops): stated 0.9 to 1.5 times the true spread."""
    rng = np.random.default_rng(12)
    errors, stated = [], []
    place = np.linspace(-1.0, 1.0, 121)
    for _ in range(500):
        top = rng.uniform(100.0, 101.0)
        read = np.round(top - digits * (place - rng.uniform(-0.1, 0.1)) ** 2)
        found, unsure = smooth_peak(read, 60, 0, 120, Noise(1e-3, 1.0, 1.0))
        errors.append(found - top)
        stated.append(unsure)
    assert 0.9 < np.sqrt(np.mean(np.square(stated))) / np.std(errors) < 1.5
