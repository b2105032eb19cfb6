"""Size errors, warp, true flow and roughness against shapes that are known exactly."""

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.measure.results import Answers, RawFile
from voidless.measure.size.features import scale_and_offset, size_error
from voidless.measure.size.flow import true_flow
from voidless.measure.size.warp import warp_of
from voidless.measure.surface.profile import gaussian_mean_line, roughness
from voidless.measure.take import take_files


def test_a_size_error_is_signed_and_at_20_degrees():
    found = size_error(20.0, [20.05, 20.07, 20.06], 0.01)
    assert found.value_mm == pytest.approx(0.06)
    assert found.uncertainty_mm == pytest.approx(
        np.hypot(0.01 / 3**0.5 * 4.302653 / 1.959964, 0.01), rel=1e-6
    )
    warm = size_error(100.0, [100.1], 0.01, temperature_c=30.0, expansion_1e6_k=70.0)
    assert warm.thermal_mm == pytest.approx(100.1 * 70e-6 * 10)
    assert warm.value_mm == pytest.approx(0.1 - warm.thermal_mm)
    for wrong in ([], [0.0], [float("nan")]):
        with pytest.raises(InputError, match="readings above 0"):
            size_error(20.0, wrong, 0.01)


def test_shrinkage_is_told_from_bead_width():
    sizes = [10.0, 20.0, 40.0, 80.0]
    scale, offset, u_scale, u_offset = scale_and_offset(sizes, [0.06 - 0.003 * s for s in sizes], [0.01] * 4)
    assert (scale, offset) == pytest.approx((-0.003, 0.06))
    assert 0 < u_scale < 0.001 < u_offset < 0.02
    with pytest.raises(InputError, match="different sizes"):
        scale_and_offset([10.0, 10.0], [0.0, 0.1], [0.1, 0.1])


def test_warp_is_bow_without_tilt():
    x, y = (item.ravel() for item in np.meshgrid(np.linspace(0, 80, 5), np.linspace(0, 80, 5)))
    bowl = 0.3 * (((x - 40) / 40) ** 2 + ((y - 40) / 40) ** 2) / 1.0
    found = warp_of(x, y, bowl + 0.01 * x)
    assert found.bow_mm == pytest.approx(0.3)
    assert found.flatness_mm == pytest.approx(0.6)
    assert found.tilt_mm == pytest.approx(0.8)
    assert found.bow_uncertainty_mm == pytest.approx(0.0, abs=1e-9)
    with pytest.raises(InputError, match="one line"):
        warp_of(x, x, bowl)
    with pytest.raises(InputError, match="at least 6"):
        warp_of(x[:4], y[:4], bowl[:4])


@pytest.mark.parametrize(
    ("law", "bow", "across", "direction"),
    [
        (lambda u, v: u**2, 0.25, 0.0, 0.0),
        (lambda u, v: -(v**2), -0.25, 0.0, 90.0),
        (lambda u, v: u**2 - 0.5 * v**2, 0.25, -0.125, 0.0),
        (lambda u, v: (u + v) ** 2, 0.5, 0.0, np.degrees(np.arctan2(60.0, 80.0))),
    ],
)
def test_a_plate_that_bows_in_one_direction_reads_its_whole_lift(law, bow, across, direction):
    """Places over 80 by 60 mm, u and v in units of the sides: from the middle to the rim u = 1/2."""
    x, y = (item.ravel() for item in np.meshgrid(np.linspace(0, 80, 5), np.linspace(0, 60, 4)))
    found = warp_of(x, y, law((x - 40) / 80, (y - 30) / 60) + 0.01 * x - 0.02 * y)
    assert (found.bow_mm, found.bow_across_mm) == pytest.approx((bow, across), abs=1e-9)
    assert found.direction_deg == pytest.approx(direction, abs=1e-6)


def test_bow_of_few_places_has_no_direction_and_a_gauge_counts():
    x, y = (item.ravel() for item in np.meshgrid(np.linspace(0, 80, 4), [0.0, 60.0]))
    found = warp_of(x, y, 0.01 * x, 0.003)
    assert found.direction_deg is None
    assert found.bow_mm == pytest.approx(0.0, abs=1e-12)
    u = (x - 40) / 80
    apart = u**2 - np.mean(u**2)
    assert found.bow_uncertainty_mm == pytest.approx(0.25 * 0.003 / np.linalg.norm(apart), rel=1e-9)


@pytest.mark.parametrize(
    "law", [lambda u, v: 0 * u, lambda u, v: 1.2 * (u**2 + v**2), lambda u, v: 1.2 * u**2]
)
def test_the_interval_of_a_bow_holds_whichever_direction_is_the_larger_one(law):
    rng = np.random.default_rng(41)
    x, y = (item.ravel() for item in np.meshgrid(np.linspace(0, 80, 4), np.linspace(0, 60, 4)))
    u, v = (x - 40) / 80, (y - 30) / 60
    truth = 0.25 * float(law(np.ones(1), np.zeros(1))[0])
    held = 0
    for _ in range(400):
        found = warp_of(x, y, np.round(law(u, v) + rng.normal(0, 0.02, x.size), 2), 0.01 / 12**0.5)
        held += abs(found.bow_mm - truth) < 1.96 * found.bow_uncertainty_mm
    assert held / 400 >= 0.95 - 3 * (0.95 * 0.05 / 400) ** 0.5


def test_heights_say_their_last_digit_where_no_gauge_is_stated():
    rows = "\n".join(f"{x},{y},{5 + 0.01 * x:.2f}" for x in (0, 40, 80) for y in (0, 30, 60))
    data = f"x_mm,y_mm,height_mm\n{rows}\n".encode()
    (said,) = take_files([RawFile("R01_B01_plate.csv", data)], Answers(facts={"size_uncertainty_mm": 0.02}))
    (found,) = take_files([RawFile("R01_B01_plate.csv", data)])
    unsure, told = (each.observations[0].uncertainty for each in (found, said))
    assert told / unsure == pytest.approx(0.02 / (0.01 / 12**0.5))
    assert any("last digit alone counts" in word for word in found.warnings)
    assert not any("last digit" in word for word in said.warnings)


def test_true_flow():
    flow, unsure = true_flow(11.94, 0.01, 9500.0, 1.27, 0.002)
    assert flow == pytest.approx(100 * 11.94 / (9.5 * 1.27))
    assert unsure == pytest.approx(flow * np.hypot(0.01 / 11.94, 0.002 / 1.27))
    with pytest.raises(InputError, match="above 0"):
        true_flow(float("nan"), 0.01, 9500.0, 1.27, 0.002)


def test_the_filter_passes_half_of_a_wave_of_its_cutoff():
    """ISO 16610-21: transmission 50 % at the cutoff; away from the ends exact to the truncation of the window."""
    step = 0.002
    x = np.arange(20_000) * step
    for wave, passed in ((0.8, 0.5), (8.0, np.exp(-np.log(2) * 0.01)), (0.2, np.exp(-np.log(2) * 16))):
        line = gaussian_mean_line(np.sin(2 * np.pi * x / wave), step, 0.8)
        middle = slice(5000, 15000)
        assert np.ptp(line[middle]) / 2 == pytest.approx(passed, abs=2e-3)


def test_a_sine_has_known_roughness():
    """Ra = 2 A / pi, Rq = A / sqrt 2, Rz = 2 A, slope 2 pi A / wave / sqrt 2; a 0.2 mm wave, 0.8 mm cutoff."""
    x = np.arange(9600) * 1e-3
    found = roughness(x, 4.0 * np.sin(2 * np.pi * x / 0.2) + 50.0 * x, cutoff_mm=0.8)
    assert found.ra_um == pytest.approx(8.0 / np.pi, rel=2e-3)
    assert found.rq_um == pytest.approx(4.0 / 2**0.5, rel=2e-3)
    assert found.rz_um == pytest.approx(8.0, rel=2e-3)
    assert found.rdq == pytest.approx(2 * np.pi * 4e-3 / 0.2 / 2**0.5, rel=2e-3)
    assert (found.sections, found.flags) == (5, ())


def test_the_cutoff_follows_the_roughness():
    x = np.arange(60_000) * 1e-3
    layers = 20.0 * np.abs(np.sin(np.pi * x / 0.25))
    found = roughness(x, layers)
    assert found.cutoff_mm == 2.5
    assert roughness(x[:6000], layers[:6000], 2.5).flags[0].startswith("1 section(s)")


@pytest.mark.parametrize(
    ("x", "words"),
    [
        (np.arange(50.0), "at least 100"),
        (np.arange(200.0) ** 1.01, "evenly"),
        (np.arange(200.0) * 1e-3, "two cutoffs"),
    ],
)
def test_poor_profiles_are_refused(x, words):
    with pytest.raises(InputError, match=words):
        roughness(x, np.sin(x), 0.8)
