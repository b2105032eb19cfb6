"""
Further printed values of light: bulk losses, wetting liquids, backscatter, few voids, facets.

Sources: Zhang et al., Appl. Opt. 59 (2020) 2337 (extinction of PET and PC sheet); "Drawing optical fibers from
three-dimensional printers", Opt. Lett. 41 (2016) 5551 (loss of fibres); Rheims et al. (1997) and Ciddor (1996) for
indices; Bohren and Huffman (1983), appendix A, and Wiscombe's MIEV0 cases for spheres. The rest was computed apart from
this program; half the last printed digit unless said.
"""

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.physics.optics.bulk import (
    absorption_from_decibels,
    absorption_from_index,
    internal_transmittance,
)
from voidless.physics.optics.colour import yellowness_index
from voidless.physics.optics.fresnel import (
    face_reflectance,
    face_reflectance_oblique,
    pile_transmittance,
    plate_transmittance,
)
from voidless.physics.optics.index import LINES, index_air_ciddor_1996, index_glycerol_rheims_1997
from voidless.physics.optics.mie import mie_phase, mie_sphere
from voidless.physics.optics.surface import facet_deviation, haze_from_slopes, scatter_from_roughness
from voidless.physics.optics.voids import bubble_depth, bubble_number, void_scatter

GREEN = 550e-9


@pytest.mark.parametrize(
    ("extinction", "absorption", "passed"), [(1.32e-6, 30.2, 0.913), (4.08e-7, 9.3, 0.972)]
)
def test_sheets_of_pet_and_pc(extinction, absorption, passed):
    """k at 550 nm: 30.2 and 9.3 1/m, 0.913 and 0.972 through 3 mm."""
    found = absorption_from_index(extinction, GREEN)
    assert found == pytest.approx(absorption, abs=0.05)
    assert internal_transmittance(found, 3e-3) == pytest.approx(passed, abs=5e-4)


def test_fibres_drawn_from_a_nozzle():
    """0.26 dB/cm is 5.99 1/m: 0.9822 through 3 mm, 0.9647 through 6 mm; 4.343 dB a unit of depth."""
    found = absorption_from_decibels(26.0)
    assert found == pytest.approx(5.99, abs=5e-3)
    assert internal_transmittance(found, [3e-3, 6e-3]) == pytest.approx([0.9822, 0.9647], abs=5e-5)
    assert absorption_from_decibels(4.343) == pytest.approx(1.0, abs=5e-4 / 4.343)
    for call in (absorption_from_decibels, lambda v: internal_transmittance(v, 1e-3)):
        with pytest.raises(InputError, match="not zero or more"):
            call(-1.0)


def test_a_plate_with_losses_is_its_faces_and_its_bulk():
    """Internal losses of 0.9 at n 1.5 by rays: a 20 mm plate of 5.268 1/m passes 0.830516."""
    tau = internal_transmittance(-np.log(0.9) / 20e-3, 20e-3)
    assert plate_transmittance(1.5, tau) == pytest.approx(0.830516, abs=5e-7)


def test_liquids_and_air():
    """Glycerol n_D 1.4722 at 25 °C; dry air n_D 1.000277 at 15 °C."""
    assert index_glycerol_rheims_1997(LINES["D"]) == pytest.approx(1.4722, abs=5e-5)
    assert index_air_ciddor_1996(LINES["D"]) == pytest.approx(1.000277, abs=5e-7)
    for index in (index_glycerol_rheims_1997, index_air_ciddor_1996):
        with pytest.raises(InputError, match="wavelength is not between"):
            index(3e-6)


def test_sent_straight_back():
    """Bohren and Huffman's sphere, m 1.55 and x 5.21282: 2.92534; a small one as Rayleigh, 4 x⁴ |α|²."""
    assert mie_sphere(1.55 + 0j, 2 * np.pi * 0.525 / 0.6328).backward == pytest.approx(2.92534, abs=5e-6)
    m, x = 1.0 / 1.57, 1e-2
    small = 4.0 * x**4 * ((m**2 - 1.0) / (m**2 + 2.0)) ** 2
    assert mie_sphere(complex(m), x).backward == pytest.approx(small, rel=2e-4)
    sphere = mie_sphere(complex(m), 30.0)
    straight = 4.0 * np.pi * sphere.scattering * mie_phase(sphere, -1.0)
    assert sphere.backward == pytest.approx(float(straight), rel=1e-9)


def test_spheres_that_absorb_a_little_and_are_large():
    """Wiscombe's case 10 at x 100 and the trap of a recurrence begun too low: 2.01394 at m 1.5, x 1000, not 2.01327."""
    assert mie_sphere(1.33 - 1e-5j, 100.0).scattering == pytest.approx(2.096594, abs=5e-7)
    assert mie_sphere(1.5 + 0j, 1000.0).scattering == pytest.approx(2.01394, abs=5e-6)


@pytest.mark.parametrize(
    ("micrometres", "forward", "back"),
    [
        (0.5, 0.201, 0.017),
        (1.0, 0.310, 0.023),
        (2.0, 0.346, 0.032),
        (5.0, 0.306, 0.038),
        (10.0, 0.276, 0.045),
        (20.0, 0.274, 0.056),
        (50.0, 0.258, 0.070),
        (100.0, 0.260, 0.070),
    ],
)
def test_light_that_a_plate_traps(micrometres, forward, back):
    """Round voids in n 1.57: forward beyond total reflection at 39.56° and backward; a whole third decimal."""
    critical = np.arcsin(1.0 / 1.57)
    assert np.rad2deg(critical) == pytest.approx(39.56, abs=5e-3)
    sphere = mie_sphere(complex(1.0 / 1.57), np.pi * micrometres * 1e-6 * 1.57 / GREEN)
    for low, high, share in ((critical, np.pi / 2, forward), (np.pi / 2, np.pi, back)):
        angle = np.linspace(low, high, 8001)
        rings = 2.0 * np.pi * np.sin(angle) * mie_phase(sphere, np.cos(angle))
        assert np.trapezoid(rings, angle) == pytest.approx(share, abs=1e-3)


@pytest.mark.parametrize(
    ("micrometres", "share", "half", "in_a_cm2", "half_number"),
    [
        (1.0, 1.26e-6, 5e-9, 7.2e5, 5e3),
        (5.0, 6.7e-6, 5e-8, 3.1e4, 5e2),
        (20.0, 3.9e-5, 5e-7, 2.8e3, 5e1),
        (100.0, 2.2e-4, 5e-6, 124.0, 0.5),
    ],
)
def test_how_few_voids_are_seen(micrometres, share, half, in_a_cm2, half_number):
    """A hundredth of the light sent beyond 2.5° over 3 mm: share of the volume and voids below a cm² of plate."""
    d = micrometres * 1e-6
    found = void_scatter(d, 1.57)
    outside = found.efficiency * (1.0 - found.narrow)
    needed = -np.log(0.99) / float(bubble_depth(1.0, d, outside, 3e-3))
    assert needed == pytest.approx(share, abs=half)
    assert bubble_number(needed, d) * 3e-3 * 1e-4 == pytest.approx(in_a_cm2, abs=half_number)


def test_wetting_takes_phase_with_the_square_of_the_step():
    """g falls to 0.17288 in water, 0.030779 in oil of 1.47."""
    depth = -np.log1p(-scatter_from_roughness(20e-9, 1.57, GREEN, [1.0, 1.333, 1.47]))
    assert depth[1:] / depth[0] == pytest.approx([0.17288, 0.030779], rel=2e-5)


def test_facets_of_ten_degrees():
    """N 1.57: 5.8207° in air, 1.8015° in water, 0.6880° in oil; nothing beyond total reflection."""
    found = np.rad2deg(facet_deviation(np.deg2rad(10.0), 1.57, [1.0, 1.333, 1.47]))
    assert found == pytest.approx([5.8207, 1.8015, 0.6880], abs=5e-5)
    assert np.isnan(facet_deviation(np.deg2rad(39.6), 1.57))
    assert facet_deviation(np.deg2rad(39.5), 1.57) < np.deg2rad(51.0)


def test_total_reflection_is_total_and_a_matched_face_is_none():
    """Never more than all, inside n 1.57; a liquid of the same index leaves neither reflection nor haze."""
    for reflected in face_reflectance_oblique(1.57, 1.0, np.linspace(0.0, np.pi / 2, 2001)):
        assert reflected.max() == 1.0
    for reflected in face_reflectance_oblique(1.57, 1.57, np.linspace(0.0, 1.5, 50)):
        assert np.all(reflected < 1e-25)
    assert scatter_from_roughness(1e-6, 1.57, GREEN, 1.57) == 0.0
    assert haze_from_slopes(0.5, 1.57, 1.57) == 0.0


def test_wetting_a_crack_turns_most_of_it_off():
    """A wide gap in n 1.57 filled with water: 86 % of its reflection is gone."""
    dry, wet = (1.0 - float(pile_transmittance(face_reflectance(inside, 1.57), 1)) for inside in (1.0, 1.333))
    assert 1.0 - wet / dry == pytest.approx(0.86, abs=5e-3)


def test_whites_of_rounded_chromaticity_are_a_trap():
    """White of D65 from x 0.3127, y 0.3290: -0.028 instead of -0.0004; D1925 of (100, 100, 100): 22.0."""
    x, y = 0.3127, 0.3290
    assert yellowness_index(x / y, 1.0, (1.0 - x - y) / y, "d65_2") == pytest.approx(-0.028, abs=5e-4)
    assert yellowness_index(100.0, 100.0, 100.0, "d1925") == pytest.approx(22.0, abs=0.05)
