"""
Optics: Bohren and Huffman (1983, appendix A), Wiscombe's MIEV0 cases (NCAR/TN-140, 1979), Stokes (1862),
Beadie et al. (2015), Daimon and Masumura (2007), Hutchinson et al. (2006), ASTM E313 coefficients.

The rest are exact formulas computed independently (thin films and piles with another library).
"""

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.physics.optics.colour import browning_index, yellowness_index, yellowness_of_transmittance
from voidless.physics.optics.contrast import contrast_through_plate, contrast_under_veil
from voidless.physics.optics.fresnel import (
    face_reflectance,
    face_reflectance_oblique,
    gap_reflectance,
    pile_transmittance,
    plate_reflectance,
    plate_transmittance,
)
from voidless.physics.optics.index import (
    LINES,
    index_pla_hutchinson_2006,
    index_pmma_beadie_2015,
    index_water_daimon_2007,
)
from voidless.physics.optics.mie import mie_phase, mie_sphere
from voidless.physics.optics.surface import haze_from_slopes, scatter_from_roughness
from voidless.physics.optics.voids import bubble_depth, bubble_number, void_scatter

GREEN = 550e-9


@pytest.mark.parametrize(
    ("index", "face", "plate"),
    [
        (1.5, 0.04, 12 / 13),
        (1.57, 0.0491907, 0.9062311),
        (1.459, 0.034842, 0.932661),
        (1.585, 0.051214, 0.902562),
    ],
)
def test_faces_and_plates(index, face, plate):
    """Normal incidence; the last two are printed to six digits."""
    assert face_reflectance(1.0, index) == pytest.approx(face, abs=5e-7)
    assert plate_transmittance(index) == pytest.approx(plate, abs=5e-7)


def test_plate_in_water():
    """Wetting lifts the ceiling."""
    assert plate_transmittance(1.57, surrounding=1.333) == pytest.approx(0.986758, abs=5e-7)


@pytest.mark.parametrize(
    ("plates", "expected"), [(1, 0.906231), (2, 0.828540), (5, 0.659041), (50, 0.161981)]
)
def test_piles(plates, expected):
    """Stokes, n 1.57."""
    assert pile_transmittance(face_reflectance(1.0, 1.57), plates) == pytest.approx(expected, abs=5e-7)


def test_pile_of_ten_at_index_one_and_a_half():
    """6/11."""
    assert pile_transmittance(0.04, 10) == pytest.approx(6 / 11, abs=1e-12)


def test_oblique_faces():
    """n 1.5 at 45° and at Brewster's angle."""
    perpendicular, parallel = face_reflectance_oblique(1.0, 1.5, np.deg2rad([45.0, 56.309932474]))
    assert perpendicular[0] == pytest.approx(0.0920134, abs=5e-8)
    assert parallel[0] == pytest.approx(0.0084665, abs=5e-8)
    assert parallel[1] < 1e-12
    inside, _ = face_reflectance_oblique(1.57, 1.0, np.deg2rad(45.0))
    assert inside == pytest.approx(1.0, abs=1e-12)


def test_absorbing_plate():
    """n 1.5, internal transmittance 0.9 and 0.5."""
    assert plate_transmittance(1.5, [0.9, 0.5]) == pytest.approx([0.8305163, 0.460984], abs=5e-7)
    assert plate_reflectance(1.5, [0.9, 0.5]) == pytest.approx([0.0698986, 0.049220], abs=5e-7)


def test_gap_inside_a_part():
    """n 1.57, 550 nm: 10, 100 and 137.5 nm; none at half a wavelength."""
    gaps = np.array([10.0, 100.0, 137.5, 275.0]) * 1e-9
    found = gap_reflectance(1.57, gaps, GREEN)
    assert found == pytest.approx([0.0028196, 0.1526068, 0.1787453, 0.0], abs=1e-6)


def test_dispersion():
    """Water n_D, PMMA n_d and Abbe number, PLA n_D."""
    assert index_water_daimon_2007(LINES["D"]) == pytest.approx(1.333349, abs=2e-6)
    d, f, c = (float(index_pmma_beadie_2015(LINES[line])) for line in "dFC")
    assert d == pytest.approx(1.49253, abs=1e-5)
    # five decimals; a spectral line rounded to 0.1 nm moves n_F by 4e-6
    assert (f, c) == pytest.approx((1.49837, 1.49007), abs=1e-5)
    # 59.34 was formed from indices of five decimals: their rounding moves it by up to 0.07
    assert (d - 1.0) / (f - c) == pytest.approx(59.34, abs=0.07)
    assert index_pla_hutchinson_2006(LINES["D"]) == pytest.approx(1.459087, abs=1e-6)
    with pytest.raises(InputError, match="wavelength is not between"):
        index_pmma_beadie_2015(0.4e-6)


@pytest.mark.parametrize(
    ("index", "size", "extinction", "asymmetry", "tolerance"),
    [
        (1.55, 2 * np.pi * 0.525 / 0.6328, 3.10543, 0.63314, 5e-6),
        (0.75, 0.099, 0.000007, 0.001448, 5e-7),
        (0.75, 10.0, 2.232265, 0.896473, 5e-7),
        (0.75, 1000.0, 1.997908, 0.844944, 5e-7),
        (1.5, 1000.0, 2.0139, None, 5e-5),
        (1.5, 100.0, 2.0944, None, 5e-5),
    ],
)
def test_mie_efficiencies(index, size, extinction, asymmetry, tolerance):
    """A sphere of index 0.75 is nearly an air bubble in water."""
    sphere = mie_sphere(complex(index), size)
    assert sphere.extinction == pytest.approx(extinction, abs=tolerance)
    assert sphere.scattering == pytest.approx(sphere.extinction, rel=1e-9)
    if asymmetry is not None:
        assert sphere.asymmetry == pytest.approx(asymmetry, abs=max(tolerance, 5e-7))


@pytest.mark.parametrize(
    ("index", "size", "scattering", "asymmetry"),
    [
        (1.33 - 1e-5j, 1.0, 0.093923, 0.184517),
        (1.33 - 1e-5j, 100.0, 2.096594, 0.868959),
        (1.5 - 1j, 1.0, 0.663454, 0.192136),
    ],
)
def test_mie_of_absorbing_spheres(index, size, scattering, asymmetry):
    """Wiscombe's cases 9, 10 and 14."""
    sphere = mie_sphere(index, size)
    assert sphere.scattering == pytest.approx(scattering, abs=5e-7)
    assert sphere.asymmetry == pytest.approx(asymmetry, abs=5e-7)


def test_mie_phase_is_normalised_and_keeps_the_asymmetry():
    """Integral over the sphere 1, mean cosine as from the coefficients."""
    sphere = mie_sphere(0.75 + 0j, 10.0)
    nodes, weights = np.polynomial.legendre.leggauss(200)
    phase = mie_phase(sphere, nodes)
    assert 2 * np.pi * np.sum(weights * phase) == pytest.approx(1.0, abs=1e-10)
    assert 2 * np.pi * np.sum(weights * nodes * phase) == pytest.approx(sphere.asymmetry, abs=1e-10)


@pytest.mark.parametrize(
    ("micrometres", "efficiency", "narrow", "lost"),
    [
        (1.0, 1.79060, 0.008, 0.333),
        (5.0, 1.97003, 0.158, 0.344),
        (20.0, 2.04060, 0.435, 0.330),
        (100.0, 2.03071, 0.493, 0.330),
    ],
)
def test_voids_in_polymer(micrometres, efficiency, narrow, lost):
    """n 1.57: efficiency to five digits; shares were integrated independently, to about 0.001."""
    found = void_scatter(micrometres * 1e-6, 1.57)
    assert found.efficiency == pytest.approx(efficiency, abs=2e-5)
    assert found.narrow == pytest.approx(narrow, abs=2e-3)
    assert found.lost == pytest.approx(lost, abs=2e-3)


def test_turbidity():
    """Share 1e-3 of 20 µm voids over 3 mm, efficiency 2."""
    assert bubble_number(1e-3, 20e-6) * 1e-9 == pytest.approx(238.732, abs=5e-4)
    depth = bubble_depth(1e-3, 20e-6, 2.0, 3e-3)
    assert np.exp(-depth) == pytest.approx(0.6376282, abs=5e-8)


def test_fine_roughness():
    """100 nm at n 1.57 in air, water, oil; two faces double the exponent."""
    found = scatter_from_roughness(100e-9, 1.57, GREEN, [1.0, 1.333, 1.47])
    assert found == pytest.approx([0.345588, 0.070682, 0.012966], abs=1e-6)
    assert 1.0 - (1.0 - found[0]) ** 2 == pytest.approx(0.571745, abs=1e-6)


def test_slopes():
    """5° slopes at n 1.57 in air, water, oil; two faces at 3°."""
    slope = np.deg2rad(5.0)
    assert haze_from_slopes(slope, 1.57) == pytest.approx(0.680632, abs=5e-7)
    assert haze_from_slopes(slope, 1.57, 1.333) == pytest.approx(0.108021, abs=5e-7)
    assert haze_from_slopes(slope, 1.57, 1.47) == pytest.approx(3.73e-6, abs=5e-9)
    assert haze_from_slopes(np.deg2rad(3.0), 1.57, faces=2.0) == pytest.approx(0.586049, abs=5e-7)


def test_contrast_falls_with_distance():
    """60 % straight light, 1° per axis, 1 lp/mm at 0 to 50 mm; veil of 10 %."""
    gap = np.array([0.0, 1.0, 3.0, 10.0, 50.0]) * 1e-3
    found = contrast_through_plate(0.6, np.deg2rad(1.0), gap, 1e3)
    assert found == pytest.approx([1.0, 0.997602, 0.978929, 0.819241, 0.6], abs=5e-7)
    assert contrast_under_veil(0.1) == pytest.approx(0.818182, abs=5e-7)


@pytest.mark.parametrize(
    ("kind", "expected"),
    [("c_2", 10.0895), ("d65_2", 4.3400), ("c_10", 9.0740), ("d65_10", 2.8945), ("d1925", 10.3000)],
)
def test_yellowness(kind, expected):
    """XYZ 95, 100, 105."""
    assert yellowness_index(95.0, 100.0, 105.0, kind) == pytest.approx(expected, abs=5e-5)
    assert yellowness_index(9.5, 10.0, 10.5, kind) == pytest.approx(expected, abs=5e-5)


def test_yellowness_of_a_withdrawn_standard():
    """D1925 of 105, 100, 95: 33.7, printed to one digit."""
    assert yellowness_index(105.0, 100.0, 95.0, "d1925") == pytest.approx(33.7, abs=0.15)


@pytest.mark.parametrize(
    ("channels", "expected"), [((0.9, 0.9, 0.9), 0.0), ((0.9, 0.9, 0.8), 9.44), ((0.9, 0.88, 0.75), 13.70)]
)
def test_yellowness_of_a_plate(channels, expected):
    """Stand-in matrix; the reference used a matrix of more digits, hence 0.02."""
    assert yellowness_of_transmittance(*channels) == pytest.approx(expected, abs=0.02)


@pytest.mark.parametrize(("millimetres", "expected"), [(1.0, 3.29), (2.0, 6.48), (3.0, 9.58), (6.0, 18.31)])
def test_yellowness_grows_with_thickness_and_browning_index_does_not(millimetres, expected):
    """Absorbances 0.002, 0.004 and 0.020 per mm."""
    channels = [0.9066 * 10.0 ** (-a * millimetres) for a in (0.002, 0.004, 0.020)]
    assert yellowness_of_transmittance(*channels) == pytest.approx(expected, abs=0.03)
    assert browning_index(channels[0], channels[2], millimetres * 1e-3) == pytest.approx(18.0, rel=1e-12)
