"""
Pictures against numbers printed elsewhere.

Sources beside each value. Otsu's histogram: a classic worked example (values from memory of a textbook, recomputed
independently). Point counts: ASTM E562's formulas, recomputed. Saltykov: his published table to four digits, and the
exact linear matrix. Slanted edge: closed forms. Colour: Sharma, Wu, Dalal (2005), table 1. Pictures: tests/data, each
with its source.
"""

from pathlib import Path

import numpy as np
import pytest
from scipy import ndimage
from scipy.special import ndtr

from voidless.measure.images.layer import find_layer_pores
from voidless.measure.images.levels import otsu, trust_split
from voidless.measure.images.picture import luminance, open_picture, srgb_to_linear
from voidless.measure.images.points import point_count, unseen_share
from voidless.measure.images.scale import grid_scale
from voidless.measure.images.stereology import (
    fold_spheres,
    saltykov_log_coefficients,
    section_matrix,
    unfold_circles,
)
from voidless.measure.images.voids import find_voids
from voidless.measure.optics.colour import colour_difference, lab_of_xyz
from voidless.measure.optics.edge import edge_transfer, half_contrast_frequency
from voidless.measure.optics.haze import haze_of_readings

DATA = Path(__file__).parents[1] / "data"


def picture(folder, name):
    return open_picture(name, (DATA / folder / name).read_bytes())


def test_otsu():
    """Histogram 8, 7, 2, 6, 9, 4: level 2, between 2.6287, within 0.4909."""
    found = otsu([8, 7, 2, 6, 9, 4])
    assert found.level == 2
    assert found.between == pytest.approx(2.6287, abs=5e-5)
    assert found.within == pytest.approx(0.4909, abs=5e-5)
    assert trust_split(found)
    # far apart, but the smaller class has 1 %
    assert not trust_split(otsu([10, 0, 0, 0, 500, 490]))
    assert trust_split(otsu([100, 0, 0, 0, 0, 900]))


@pytest.mark.parametrize("share", [0.0, 0.001, 0.002, 0.02, 0.2])
def test_voids_of_single_pixels(share):
    """
    Void 60, solid 180, noise SD 8: the table reads the truth to two decimals; 0.1 % within 0.02 %.

    Where blind Otsu reads 45 to 50 % below 0.5 % of voids, it is told not to be believed.
    """
    rng = np.random.default_rng(5)
    hit = rng.random((700, 700)) < share
    grey = np.round(np.where(hit, 60.0, 180.0) + rng.normal(0.0, 8.0, hit.shape))
    found = find_voids(np.minimum(np.maximum(grey, 0), 255) / 255)
    # above 5 % the level of voids, known to half a grey of 120, sets 0.4 % of the value
    assert found.share == pytest.approx(hit.mean(), abs=2e-4, rel=4e-3)
    if share == 0.0:
        assert 100 * found.share < 0.01
    if share <= 0.002:
        blind = otsu(np.bincount(np.clip(grey, 0, 255).astype(int).ravel(), minlength=256))
        assert share == 0.0 or blind.share > 0.4
        assert not trust_split(blind)


def test_points():
    found = point_count([2, 3, 1, 4, 2, 3, 2, 1, 3, 4])
    assert found.mean_pct == 2.5
    assert found.deviation_pct == pytest.approx(1.08012, abs=5e-6)
    assert found.reach_pct == pytest.approx(0.77267, abs=5e-6)
    assert found.relative_pct == pytest.approx(30.907, abs=5e-4)
    assert 100 * unseen_share(3000) == pytest.approx(0.0998, abs=5e-5)


@pytest.mark.parametrize(("fields", "t"), [(5, 2.776), (10, 2.262), (20, 2.093), (30, 2.045), (50, 2.010)])
def test_students_t_of_the_table(fields, t):
    """Table of E562 (from memory, equal to Student's)."""
    shares = np.linspace(1.0, 2.0, fields)
    found = point_count(shares)
    assert found.reach_pct * fields**0.5 / found.deviation_pct == pytest.approx(t, abs=5e-4)


def test_saltykov():
    """
    Linear classes forth and back, rows of the inverse, and the logarithmic table.

    The old table prints 0.0079 and 0.0038 for the sixth and seventh (from memory); computed they are 0.0078 and 0.0037.
    """
    spheres = np.array([0.0, 10.0, 20.0, 10.0, 0.0])
    circles = fold_spheres(spheres, 1.0)
    assert circles == pytest.approx([7.3811, 33.2565, 52.9049, 26.4575, 0.0], abs=5e-5)
    assert np.linalg.solve(section_matrix(5), circles) == pytest.approx(spheres, abs=1e-11)
    assert section_matrix(5).sum(axis=0) == pytest.approx([1, 2, 3, 4, 5])
    inverse = np.linalg.inv(section_matrix(5))
    assert inverse[0] == pytest.approx([1, -0.1547, -0.0357, -0.0130, -0.0061], abs=5e-5)
    assert inverse[1] == pytest.approx([0, 0.5774, -0.1529, -0.0419, -0.0172], abs=5e-5)
    log = [1.6461, -0.4561, -0.1162, -0.0415, -0.0173, -0.0078, -0.0037, -0.0018]
    assert saltykov_log_coefficients(8) == pytest.approx(log, abs=5e-5)


def test_equal_spheres_on_a_section():
    """Mean circle π D/4; D 20 µm and 0.1 %: 238.732 spheres a mm³, 4.77465 circles a mm²."""
    rng = np.random.default_rng(1)
    circles = 20.0 * np.sqrt(1.0 - rng.random(20_000) ** 2)
    assert circles.mean() == pytest.approx(0.785398 * 20, rel=3e-3)
    area = 20_000 / 4.77465e-6
    found = unfold_circles(circles, area, classes=5)
    assert found.number.sum() * 1e9 == pytest.approx(238.732, rel=0.1)  # classes of finite width
    assert unfold_circles(circles[:50], area).warnings


@pytest.mark.parametrize(
    ("sigma", "half", "worst"), [(0.5, 0.3231, 0.0065), (1, 0.1799, 0.0057), (2, 0.0927, 0.0042)]
)
def test_slanted_edge(sigma, half, worst):
    """Area-sampled Gaussian edge, 5°, 0.1 to 0.9: theory at each frequency within the reference's error."""
    fine, rows, columns = 8, 100, 64
    y, x = np.meshgrid(
        (np.arange(rows * fine) + 0.5) / fine, (np.arange(columns * fine) + 0.5) / fine, indexing="ij"
    )
    a = np.radians(5.0)
    edge = 0.1 + 0.8 * ndtr(((x - 32) * np.cos(a) - (y - 50) * np.sin(a)) / sigma)
    found = edge_transfer(edge.reshape(rows, fine, columns, fine).mean(axis=(1, 3)))
    f = found.frequency[found.frequency <= 0.5]
    theory = np.exp(-2 * np.pi**2 * sigma**2 * f**2) * np.sinc(f * np.cos(a)) * np.sinc(f * np.sin(a))
    assert np.abs(found.transfer[: len(f)] - theory).max() <= worst
    # bins lose sinc(f/4), 0.6 % at 0.25; left as in the standard
    assert half_contrast_frequency(found) == pytest.approx(half, abs=0.0025)
    assert (found.dark, found.bright) == (pytest.approx(0.1, abs=1e-3), pytest.approx(0.9, abs=1e-3))


def test_the_slanted_edge_of_the_sample_picture():
    """slant.png is drawn sharp, 0 to 1, about 6° off the axis: contrast near a pixel's own sinc, 0.90 at 0.25."""
    light = srgb_to_linear(luminance(picture("edge-and-sample-images", "slant.png")))
    found = edge_transfer(light[20:-20, 40:110])
    assert np.degrees(np.arctan(abs(found.slope))) == pytest.approx(6.0, abs=0.1)
    assert found.contrast == pytest.approx(1.0, abs=1e-6)
    assert 0.7 < found.at(0.25) < 0.95
    assert found.at(0.1) > 0.95


def test_scale_of_the_chessboard():
    """200 px of eight squares: two squares are 50 px."""
    grey = luminance(picture("edge-and-sample-images", "chessboard_GRAY.png"))
    found = grid_scale(grey, 2.0, 0.0, 20.0, 90.0)
    assert 2.0 / found.mm_per_px == pytest.approx(50.0, abs=0.1)
    assert abs(found.skew) < 1e-3


def outlined(number):
    """Return the pores that were drawn as green outlines on a sample, outlines included."""
    drawn = np.asarray(picture("pores-on-layers", f"sample_{number}_annotated.jpg").values, dtype=int)
    green = (drawn[..., 1] > 150) & (drawn[..., 0] < 120) & (drawn[..., 2] < 120)
    return ndimage.binary_fill_holes(ndimage.binary_closing(green))


def test_pores_on_layers():
    """
    Four photos with drawn outlines: recall and precision as they are, a floor against getting worse.

    A pore is found where a fifth of it is marked. The detector's shares were chosen on these four photos, so these are
    no promise.
    """
    hits = drawn_count = right = found_count = 0
    for number in (1, 2, 3, 4):
        truth, count = ndimage.label(outlined(number), structure=np.ones((3, 3)))
        pores = find_layer_pores(luminance(picture("pores-on-layers", f"sample_{number}_raw.jpg")))
        marks, marked = ndimage.label(pores.mask)
        hits += sum(
            (pores.mask & (truth == k)).sum() >= 0.2 * (truth == k).sum() for k in range(1, count + 1)
        )
        right += sum(
            ((truth > 0) & (marks == k)).sum() >= 0.2 * (marks == k).sum() for k in range(1, marked + 1)
        )
        drawn_count += count
        found_count += marked
    assert drawn_count == 65
    assert hits / drawn_count >= 0.75
    assert right / found_count >= 0.80


SHARMA = (
    ((50, 2.6772, -79.7751), (50, 0, -82.7485), 2.0425),
    ((50, 3.1571, -77.2803), (50, 0, -82.7485), 2.8615),
    ((50, 2.8361, -74.0200), (50, 0, -82.7485), 3.4412),
    ((50, -1.3802, -84.2814), (50, 0, -82.7485), 1.0000),
    ((50, -1.1848, -84.8006), (50, 0, -82.7485), 1.0000),
    ((50, -0.9009, -85.5211), (50, 0, -82.7485), 1.0000),
    ((50, 0, 0), (50, -1, 2), 2.3669),
    ((50, 2.49, -0.001), (50, -2.49, 0.0009), 7.1792),
    ((50, 2.5, 0), (50, 0, -2.5), 4.3065),
    ((50, 2.5, 0), (73, 25, -18), 27.1492),
    ((50, 2.5, 0), (61, -5, 29), 22.8977),
    ((50, 2.5, 0), (56, -27, -3), 31.9030),
    ((50, 2.5, 0), (58, 24, 15), 19.4535),
    ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
    ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
)


@pytest.mark.parametrize(("first", "second", "expected"), SHARMA)
def test_colour_difference(first, second, expected):
    assert float(colour_difference(first, second)) == pytest.approx(expected, abs=5e-5)
    assert float(colour_difference(second, first)) == pytest.approx(expected, abs=5e-5)


def test_lightness_of_grey():
    """18 % grey: L* 49.496."""
    assert lab_of_xyz(0.18 * np.array([0.95047, 1.0, 1.08883]))[0] == pytest.approx(49.496, abs=5e-4)


def test_contrast_is_of_linear_light():
    """sRGB 128 and 200 are 0.215861 and 0.577580: contrast 0.455888, and 0.219512 if coded values were taken."""
    dark, bright = srgb_to_linear(np.array([128, 200]) / 255)
    assert (dark, bright) == (pytest.approx(0.2158605, abs=5e-8), pytest.approx(0.5775804, abs=5e-8))
    assert (bright - dark) / (bright + dark) == pytest.approx(0.4558877, abs=5e-8)


def test_readings_of_d1003():
    transmittance, haze = haze_of_readings(100.0, 90.0, 1.0, 5.0)
    assert transmittance == pytest.approx(0.90)
    assert 100 * haze == pytest.approx(4.555556, abs=5e-7)
    assert transmittance * haze == pytest.approx(0.041, abs=1e-12)
    assert haze_of_readings(100.0, 90.0, 1.0, 0.9)[1] == pytest.approx(0.0, abs=1e-15)
