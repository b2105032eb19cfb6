"""Commanded settings to realised ones: thermometer, feed, fan, gap and lag give back what they were made of."""

import numpy as np
import pytest

from voidless.errors import ComputationError, InputError
from voidless.measure.qualification.fan import fan_curve
from voidless.measure.qualification.feed import filament_area, true_feed
from voidless.measure.qualification.gap import first_layer_gap
from voidless.measure.qualification.lag import lag_from_widths
from voidless.measure.qualification.realised import realised_line


def test_a_thermometer_has_an_offset_and_a_slope():
    found = realised_line("nozzle_c", [200.0, 220.0, 240.0, 260.0], [193.0, 212.4, 231.8, 251.2], 1.5)
    assert found.at(230.0) == (pytest.approx(222.1), pytest.approx(1.5))
    assert found.slope == pytest.approx(0.97)
    with pytest.raises(InputError, match="where it was read"):
        found.at(300.0)
    one = realised_line("nozzle_c", [230.0], [224.0], 1.0)
    assert one.slope == 1.0
    assert len(one.flags) == 2


def test_intervals_of_a_thermometer_hold():
    """2000 sets of 6 readings with 1 K of scatter: 95 % within one standard error of 0.5 %."""
    rng = np.random.default_rng(7)
    command = np.repeat([210.0, 230.0, 250.0], 2)
    held = 0
    for _ in range(2000):
        found = realised_line("nozzle_c", command, 0.96 * command + 3.0 + rng.normal(0, 1.0, 6), 0.0)
        value, unsure = found.at(245.0)
        held += abs(value - (0.96 * 245.0 + 3.0)) <= 1.96 * unsure
    assert held / 2000 == pytest.approx(0.95, abs=0.016)


def test_an_oval_filament_has_its_true_section():
    area, unsure = filament_area([[1.72, 1.78], [1.71, 1.79]], 0.0)
    assert area == pytest.approx(np.pi / 4 * (1.72 * 1.78 + 1.71 * 1.79) / 2)
    assert 0 < unsure < 0.05
    assert filament_area([[1.75, 1.75]], 0.01)[1] == pytest.approx(2 * 0.01 / 1.75 * np.pi / 4 * 1.75**2)
    with pytest.raises(InputError, match="above 0 mm"):
        filament_area([[0.0, 1.7]], 0.01)


def test_the_flow_falls_short_above_a_rate():
    rate, volume = np.array([2.0, 4.0, 6.0, 8.0, 10.0]), np.full(5, 500.0)
    mass = volume * 1e-3 * 1.27 * np.array([1.0, 0.998, 0.99, 0.95, 0.90])
    found = true_feed(rate[::-1], volume, mass[::-1], 0.0005, 1.27, 0.002)
    assert found.flow_pct == pytest.approx((100.0, 99.8, 99.0, 95.0, 90.0))
    assert found.rate_limit_mm3_s == 6.0
    assert true_feed(rate[:3], volume[:3], mass[:3], 0.0005, 1.27, 0.002).rate_limit_mm3_s is None


def test_a_fan_stands_still_below_a_duty():
    duty = [0, 10, 20, 30, 50, 100, 30]
    found = fan_curve(duty, [0.0, 0.0, 0.02, 1.0, 2.2, 4.0, 1.1], 0.05)
    assert (found.stall_pct, found.start_pct) == (20.0, 30.0)
    assert found.air_at(15.0) == 0.0
    assert found.air_at(40.0) == pytest.approx((1.05 + 2.2) / 2 / 4.0)
    with pytest.raises(InputError, match="where it was read"):
        found.air_at(25.0)
    assert fan_curve([10, 50, 100], [1.0, 0.0, 4.0], 0.05).flags
    with pytest.raises(InputError, match="stands out at the highest"):
        fan_curve([10, 50, 100], [0.0, 0.0, 0.1], 0.05)


def test_the_gap_has_an_offset_and_a_tilt():
    x, y = (item.ravel() for item in np.meshgrid([20.0, 100.0, 180.0], [20.0, 100.0, 180.0]))
    found = first_layer_gap(x, y, 0.20 + 0.03 + 2e-4 * (x - 100) - 1e-4 * (y - 100), 0.20, 0.005)
    assert (found.offset_mm, found.tilt_x_mm_m, found.tilt_y_mm_m) == pytest.approx((0.03, 0.2, -0.1))
    assert found.uncertainty_mm == pytest.approx(0.005)
    assert first_layer_gap([1.0], [1.0], [0.22], 0.2, 0.005).flags


def test_the_lag_is_found_with_its_error():
    """Known lag 0.12 s; 500 beads with correlated scatter of 10 µm: 95 % intervals hold in at least 93 %."""
    rng = np.random.default_rng(11)
    x = np.arange(0.0, 60.0, 0.5)
    true = 0.45 + 0.20 * np.exp(-x / (80.0 * 0.12))
    held = []
    for _ in range(500):
        rough = np.convolve(rng.normal(0, 0.01, x.size + 4), np.ones(5) / 5**0.5, "valid")
        found = lag_from_widths(x, true + rough, 80.0)
        held.append(abs(found.lag_s - 0.12) <= 1.96 * found.uncertainty_s)
    assert np.mean(held) >= 0.93
    assert found.width_after_mm == pytest.approx(0.45, abs=0.02)


def test_a_bead_that_widens_is_told_to_mislead():
    """Behind a rise of the speed the width follows the ramp as well; behind a fall it does not."""
    x = np.arange(0.0, 30.0, 0.5)
    told = [lag_from_widths(x, 0.45 + change * np.exp(-x / 4.0), 80.0).flags for change in (-0.1, 0.1)]
    assert "speed rose" in told[0][0]
    assert told[1] == ()


def test_a_bead_that_shows_no_change_gives_no_lag():
    x = np.arange(0.0, 60.0, 0.5)
    with pytest.raises(ComputationError, match="does not stand out"):
        lag_from_widths(x, 0.45 + 0.001 * np.random.default_rng(1).normal(size=x.size), 80.0)
    with pytest.raises(InputError, match="at least 8"):
        lag_from_widths(x[:5], x[:5] + 1.0, 80.0)
