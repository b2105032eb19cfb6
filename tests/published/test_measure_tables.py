"""
Readings of a bench against closed forms and printed values, to half the last printed digit.

Sources beside each check. Closed forms were computed apart from this program; dimensions of test pieces are those of
ISO 527-2 as a reference catalogue prints them; water by Tanaka et al., Metrologia 38 (2001) 301.
"""

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.special import ndtr
from scipy.stats import ncx2

from voidless.errors import InputError
from voidless.measure.images.voids import find_voids
from voidless.measure.optics.bench import Bench
from voidless.measure.optics.edge import edge_transfer
from voidless.measure.optics.haze import Frames, reduce_haze
from voidless.measure.surface.profile import roughness
from voidless.measure.tensile.lengths import LengthRecord, fit_lengths
from voidless.measure.tightness.decay import leak_from_two
from voidless.measure.tightness.leak import sccm
from voidless.measure.weighing.budget import density_shares, immersion_density
from voidless.measure.weighing.density import Weighing, water_density
from voidless.physics.diffusion import cylinder_mean_residual, slab_mean_residual
from voidless.physics.heat.layer import excess_at_depth
from voidless.physics.moisture.bubbles import ATMOSPHERE, critical_radius, flash_share
from voidless.physics.moisture.steam import saturation_pressure
from voidless.physics.optics.voids import NARROW
from voidless.specimens.standards import TENSILE_BARS
from voidless.units import kelvin

DATA = Path(__file__).parents[1] / "data" / "statistics"


# ---- weighing ----


def test_water_from_0_to_40_degrees():
    """81 temperatures of the table, 1e-4 kg/m³; its slope at 23 °C is -0.2371 kg/m³ a kelvin."""
    text = (DATA / "water_density_tanaka2001.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))
    assert len(rows) == 81
    found = [water_density(float(row["t_C"])) for row in rows]
    assert found == pytest.approx([float(row["rho_kg_m3_airfree"]) for row in rows], abs=5e-5)
    assert (water_density(23.05) - water_density(22.95)) / 0.1 == pytest.approx(-0.2371, abs=5e-5)


def test_air_moves_a_density_by_a_quarter_of_its_own():
    """Worked example: d(density)/d(air) = -0.27259, so 1e-5 g/cm³ of air is 2.7e-6 of the part."""
    example = Weighing(5.0, 1.071, 23.0, 1e-4, 3e-4, 0.2)
    ratio = 5.0 / (5.0 - 1.071)
    assert 1.0 - ratio == pytest.approx(-0.27259, abs=5e-6)
    effect = next(abs(s.effect) for s in density_shares(example) if s.name == "air")
    assert effect / 1e-5 == pytest.approx(0.27259, abs=5e-3)  # the budget holds the air to 1e-5 g/cm³
    heavier = immersion_density(replace(example, mass_air_g=10.0, mass_water_g=2.142))
    assert heavier.value_g_cm3 == pytest.approx(immersion_density(example).value_g_cm3, rel=1e-12)


# ---- haze ----


def lobe_frames(spread, pupil, size=161, radius=70.0, transmittance=0.9, rim=2.5):
    """
    Return frames of a plaque whose scattered light is a normal lobe, without noise.

    A pixel that looks `angle` off the spot's middle through a pupil sees what leaves the spot's cone of `rim` degrees;
    an even pupil of half-angle p adds p²/4 to the variance of each axis.
    """
    y, x = np.indices((size, size)) - (size - 1) / 2.0
    distance = np.hypot(x, y)
    angle = np.degrees(np.arctan(distance / radius * np.tan(np.radians(rim))))
    variance = spread**2 + pupil**2 / 4.0
    outside = ncx2.sf(rim**2 / variance, 2, angle**2 / variance)
    bright = np.full((size, size), 0.8)
    spot = np.where(distance < radius, 0.0, 0.8)
    return Frames(bright, transmittance * bright, spot, transmittance * 0.8 * outside)


BENCH = Bench(100.0, 8.732, 1e5, 0.25, 1.57, thickness_mm=1e-3, plaque_mm=1e-3)


@pytest.mark.parametrize(
    ("spread", "pupil", "true", "read"),
    [
        (1.14, 0.25, 0.0903, 0.0929),
        (1.14, 0.5, 0.0903, 0.1008),
        (1.14, 1.0, 0.0903, 0.1331),
        (2.0, 0.25, 0.4578, 0.4592),
        (2.0, 0.5, 0.4578, 0.4634),
        (2.0, 1.0, 0.4578, 0.4794),
    ],
)
def test_a_wide_pupil_reads_too_hazy_and_is_corrected(spread, pupil, true, read):
    """Closed form of what a pupil reads, to four digits; corrected by the growth off the axis to a quarter of that."""
    frames = lobe_frames(spread, pupil)
    assert frames.plaque_spot[80, 80] / frames.plaque[80, 80] == pytest.approx(read, abs=5e-5)
    found = reduce_haze([frames] * 3, replace(BENCH, pupil_deg=pupil)).haze_pct / 100.0
    assert abs(found - true) < 0.25 * (read - true) + 5e-4


@pytest.mark.parametrize(("spread", "true"), [(1.0, 0.04394), (1.14, 0.0903), (2.0, 0.45783), (5.0, 0.88250)])
@pytest.mark.parametrize("thickness", [1.0, 3.0, 6.0])
def test_the_plaque_is_as_deep_as_its_thickness_over_its_index(spread, true, thickness):
    """
    exp(-2.5²/(2 s²)) to its last digit where light scatters half-way; what either face scatters is within a half-width.

    Through a plate of index n a ray inclined by a is a/n inside (Snell), so its rim is t/n farther off.
    """
    read = []
    for place in (0.0, 0.5, 1.0):
        deep = 100.0 + place * thickness / 1.57
        rim = np.degrees(np.arctan(0.5 * 8.732 / deep))
        frames = [lobe_frames(spread, 0.25, rim=rim)] * 3
        read.append(reduce_haze(frames, replace(BENCH, thickness_mm=thickness)))
    half = 1.96 * dict(read[1].shares)["depth of what scatters"]
    assert read[1].haze_pct == pytest.approx(
        100.0 * true, abs=0.06 + 0.02 * abs(read[2].haze_pct - read[0].haze_pct)
    )
    assert 0.4 * half < 0.5 * (read[2].haze_pct - read[0].haze_pct) < 0.6 * half
    assert all(each.haze_low_pct < 100.0 * true < each.haze_high_pct for each in read)


def fall_allowed(frames):
    """Return the most that haze is taken to fall with the logarithm of the angle. [1]"""
    bench = replace(BENCH, thickness_mm=3.0)
    found = reduce_haze([frames] * 3, bench)
    return 0.01 * dict(found.shares)["depth of what scatters"] * bench.reach_mm / bench.half_depth_mm


@pytest.mark.parametrize(("narrow", "wide"), [(1.0, 20.0), (0.8, 6.0), (2.0, 5.0)])
def test_haze_of_two_lobes_falls_no_faster_than_is_allowed(narrow, wide):
    """Half the light in each lobe: h = Σ exp(-x/2)/2 and its fall Σ x exp(-x/2)/2, x = (2.5°/s)²; one lobe: equal."""
    one, two = lobe_frames(narrow, 0.0), lobe_frames(wide, 0.0)
    both = replace(one, plaque_spot=0.5 * (one.plaque_spot + two.plaque_spot))
    x = (2.5 / np.array([narrow, wide])) ** 2
    share = 0.5 * np.exp(-x / 2.0)
    assert share @ x < fall_allowed(both) <= -2.0 * share.sum() * np.log(share.sum()) * 1.01
    assert fall_allowed(two) == pytest.approx(x[1] * np.exp(-x[1] / 2.0), rel=0.03)


def test_an_uneven_plaque_allows_haze_to_fall_faster():
    """Its growth off the axis is less well known; at most as for one lobe that holds all light."""
    even = lobe_frames(20.0, 0.25)
    x = np.linspace(-1.0, 1.0, 161)[None, :]
    uneven = replace(even, plaque_spot=even.plaque_spot * (0.5 + 0.1 * x))
    haze = 0.5 * np.exp(-(2.5**2) / (2 * 20.0**2))
    even = replace(even, plaque_spot=even.plaque_spot * 0.5)
    assert fall_allowed(even) < 0.1 < fall_allowed(uneven) <= -2.0 * haze * np.log(haze) * 1.01


def test_half_of_what_a_panel_misses_is_put_back():
    """A panel of six distances catches 90 % of a Lambertian lobe, one of four 80 %, one of ten 96.2 %."""
    for distances, caught in ((4.0, 0.80), (6.0, 0.90), (10.0, 0.962)):
        bench = replace(BENCH, panel_mm=distances * 100.0)
        frames = [lobe_frames(2.0, 0.25)] * 3
        wide, narrow = (reduce_haze(frames, b).haze_pct / 100.0 for b in (BENCH, bench))
        assert 1.0 - 2.0 * (narrow - wide) / (wide * (1.0 - wide)) == pytest.approx(caught, abs=1e-3)


def test_spots_by_distance():
    """2 z tan 2.5°: 4.37, 5.24 and 8.73 mm at 50, 60 and 100 mm; the one for 50 mm is refused at 100 mm."""
    frames = [lobe_frames(1.14, 0.25)] * 3
    for distance, spot in ((50.0, 4.37), (60.0, 5.24), (100.0, 8.73)):
        reduce_haze(frames, replace(BENCH, distance_mm=distance, spot_mm=spot))
        with pytest.raises(InputError, match=f"{spot:.2f} mm"):
            reduce_haze(frames, replace(BENCH, distance_mm=distance, spot_mm=1.2 * spot))


def test_an_even_diffuser_is_nearly_all_haze():
    """1 - sin² 2.5° = 0.998097."""
    assert 1.0 - np.sin(NARROW) ** 2 == pytest.approx(0.998097, abs=5e-7)


def test_a_wide_edge_is_not_read_too_sharp():
    """σ 3 px: a plain Hamming window errs by 0.0256; within 0.0041 of the theory over half a cycle a pixel."""
    fine, rows, columns = 8, 100, 64
    y, x = np.meshgrid(
        (np.arange(rows * fine) + 0.5) / fine, (np.arange(columns * fine) + 0.5) / fine, indexing="ij"
    )
    a = np.radians(5.0)
    edge = 0.1 + 0.8 * ndtr(((x - 32) * np.cos(a) - (y - 50) * np.sin(a)) / 3.0)
    found = edge_transfer(edge.reshape(rows, fine, columns, fine).mean(axis=(1, 3)))
    f = found.frequency[found.frequency <= 0.5]
    theory = np.exp(-2 * np.pi**2 * 9 * f**2) * np.sinc(f * np.cos(a)) * np.sinc(f * np.sin(a))
    assert np.abs(found.transfer[: len(f)] - theory).max() <= 0.0041


# ---- pictures and surfaces ----


@pytest.mark.parametrize("radius", [4.0, 8.0, 15.0, 25.0])
def test_the_area_of_a_round_void(radius):
    """Sharp discs, averaged over pixels: radius of the same area within 1.3 % from 4 px."""
    fine, side = 8, 300
    grid = (np.arange(side * fine) + 0.5) / fine
    dark = np.zeros((side * fine, side * fine), dtype=bool)
    centres = [(75.3, 75.6), (75.1, 225.4), (225.7, 75.2), (225.5, 225.9)]
    for row, column in centres:
        dark |= np.hypot(grid[:, None] - row, grid[None, :] - column) < radius
    share = dark.reshape(side, fine, side, fine).mean(axis=(1, 3))
    grey = 180.0 - 120.0 * share + np.random.default_rng(4).normal(0.0, 1.0, share.shape)
    found = find_voids(grey / 255.0)
    assert len(found.area) == 4
    assert np.sqrt(found.area / np.pi) == pytest.approx(np.full(4, radius), rel=0.013)
    assert sorted(found.row + 0.5) == pytest.approx(sorted(r for r, _ in centres), abs=0.05)


def arcs(half, pitch=0.2, step=2.5e-5):
    """Return positions [mm] and heights [µm] of round ridges of half-width `half` radii, and the radius [µm]."""
    x = np.arange(160_000) * step
    radius = pitch / (2.0 * half)
    across = (x + step / 2) % pitch - pitch / 2
    return x, 1e3 * np.sqrt(radius**2 - across**2), 1e3 * radius


@pytest.mark.parametrize(
    ("half", "ra", "rq", "rz", "digits"),
    [
        (1.0, 0.181303, 0.223196, 1.0, 5e-3),
        (0.8, 0.096720, 0.114200, 0.4, 1e-3),
        (0.5, 0.033861, 0.039511, 0.133975, 1e-3),
    ],
)
def test_round_ridges(half, ra, rq, rz, digits):
    """Ridges of a pitch of 0.2 mm in units of their radius; the filter leaves 2e-5 of such a wave in the mean line."""
    x, height, radius = arcs(half)
    found = roughness(x, height, cutoff_mm=0.8)
    # positions lie 25 nm apart, which half circles with their upright feet feel
    assert found.ra_um / radius == pytest.approx(ra, rel=digits)
    assert found.rq_um / radius == pytest.approx(rq, rel=digits)
    assert found.rz_um / radius == pytest.approx(rz, rel=5 * digits)


def test_layers_of_a_fifth_of_a_millimetre():
    """Half circles of 0.1 mm radius: Ra 18.13 µm, Rq 22.32 µm, Rz 100 µm."""
    x, height, _ = arcs(1.0)
    found = roughness(x, height, cutoff_mm=0.8)
    assert (found.ra_um, found.rq_um) == (pytest.approx(18.13, abs=0.02), pytest.approx(22.32, abs=0.02))
    assert found.rz_um == pytest.approx(100.0, abs=2.5)


def test_triangles_and_normal_heights():
    """Triangle of amplitude A: Ra 0.5 A, Rq 0.577350 A; normal heights: Ra over Rq 0.797885."""
    x = np.arange(48_000) * 1e-4
    found = roughness(x, 4.0 * (2.0 * np.abs((x / 0.1) % 2.0 - 1.0) - 1.0), cutoff_mm=0.8)
    assert found.ra_um == pytest.approx(2.0, rel=2e-3)
    assert found.rq_um == pytest.approx(4.0 * 0.577350, rel=2e-3)
    rough = roughness(x, np.random.default_rng(1).standard_normal(48_000), cutoff_mm=0.8)
    assert rough.ra_um / rough.rq_um == pytest.approx(0.797885, abs=4 * 0.6 / 48_000**0.5)


# ---- pulling ----


def test_give_of_the_machine_by_four_lengths():
    """A 40 mm², E 2200 MPa, give 5e-4 mm/N; 25 to 115 mm: travel a newton has slope 1.1363636e-5 and rest 5.0e-4."""
    lengths = (25.0, 50.0, 75.0, 115.0)
    force = np.linspace(0.0, 400.0, 801)
    rate = [length / (2200.0 * 40.0) + 5e-4 for length in lengths]
    assert rate[-1] == pytest.approx(1.806818182e-3, abs=5e-13)
    assert (rate[-1] - rate[0]) / 90.0 == pytest.approx(1.1363636e-5, abs=5e-13)
    found = fit_lengths(
        [LengthRecord(f"bar {n:g}", n, 40.0, force, r * force) for n, r in zip(lengths, rate, strict=True)]
    )
    assert found.modulus_gpa == pytest.approx(2.2, rel=1e-8)
    assert found.stiffness_mm_n["bar 115"] == pytest.approx(1.806818182e-3, abs=5e-13)
    assert found.lengths == 4


def test_small_bars_are_scaled_by_two_and_by_five():
    """1BA is 1B by 1:2, 1BB by 1:5 (a public page prints 1.2 and 1.5)."""
    large = TENSILE_BARS["iso527_1b"]
    for name, scale in (("iso527_1ba", 2.0), ("iso527_1bb", 5.0)):
        small = TENSILE_BARS[name]
        for side in ("parallel", "narrow", "wide"):
            assert getattr(large, side) / getattr(small, side) == scale
        assert large.thickness / small.thickness == 2.0  # both small ones are 2 mm thick, at least


# ---- tightness ----


def test_a_loss_without_its_heat():
    """Of 500 Pa lost 159.14915 Pa are leak; raw 8.3333e-5 Pa m³/s; a standard cm³ a minute is 7.43584e-7 mol/s."""
    found = leak_from_two(1e-4, 600.0, (200000.0, 293.15), (199500.0, 292.65))
    assert found * 600.0 / 1e-4 == pytest.approx(159.14915, abs=5e-6)
    raw = leak_from_two(1e-4, 600.0, (200000.0, 293.15), (199500.0, 293.15))
    assert raw == pytest.approx(8.3333e-5, abs=5e-10)
    assert 1.0 / (sccm(1.0) * 8.314462618 * 273.15) == pytest.approx(7.43584e-7, abs=5e-13)


# ---- heat and water ----


def test_the_last_hundredth():
    """A hundredth left at 0.445322 of a slab's scaled time and 0.732556 of a cylinder's."""
    assert slab_mean_residual(0.445322) == pytest.approx(0.01, abs=5e-8)
    assert cylinder_mean_residual(0.732556) == pytest.approx(0.01, abs=5e-8)
    # the first root of J0 squared is 5.783186: how fast the last of it fades
    late = cylinder_mean_residual(np.array([1.0, 1.1]))
    assert np.log(late[0] / late[1]) / 0.1 == pytest.approx(5.783186, abs=5e-6)


def test_a_layer_on_a_cool_and_on_a_warm_wall():
    """0.2 mm at 230 °C, α 1e-7: on 60 °C 1.54 s above 105 °C and at most 49 K/s, on 90 °C 10.8 s."""
    time = np.linspace(1e-3, 12.0, 120_001)
    share = excess_at_depth(1e-7 * time / 0.2e-3**2, 1.0)
    for wall, above, half in ((60.0, 1.54, 5e-3), (90.0, 10.8, 0.05)):
        warm = wall + (230.0 - wall) * share
        assert time[warm > 105.0][-1] == pytest.approx(above, abs=half)
        if wall == 60.0:
            assert -np.gradient(warm, time).min() == pytest.approx(49.0, abs=0.5)


def test_steam_at_two_more_temperatures():
    """IAPWS-IF97: 3.97594 MPa at 250 °C, 6.41646 MPa at 280 °C."""
    found = np.asarray(saturation_pressure(kelvin(np.array([250.0, 280.0])))) / 1e6
    assert found == pytest.approx([3.97594, 6.41646], abs=5e-6)


def test_what_little_water_makes():
    """0.01 % by mass flashes to 0.2337 cm³ a gram at 240 °C; surface tension of 0.03 N/m holds 0.06 MPa in 1 µm."""
    share = float(flash_share(1e-4, kelvin(240.0), 1150.0, ATMOSPHERE))
    assert share / (1.0 - share) / 1.150 == pytest.approx(0.2337, abs=5e-5)
    assert critical_radius(0.03, 0.06e6) == pytest.approx(1e-6, rel=1e-12)
