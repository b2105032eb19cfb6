"""The kinds of specimen: geometry, orientation, which responses they serve."""

import math

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.quantities import Role, names
from voidless.specimens.catalogue import CATALOGUE, STANDARD_COUNT, section_mm2, specimen, specimens_for
from voidless.specimens.kind import orientation_letters
from voidless.specimens.outline import circle, rectangle, shape_area


@pytest.mark.parametrize("kind", CATALOGUE.values(), ids=list(CATALOGUE))
def test_every_kind_is_consistent(kind):
    """Outlines turn anticlockwise, every kind says where it comes from, gauge sections are its own."""
    for level in kind.levels:
        assert shape_area(level.outline) > 0.0
        np.testing.assert_allclose(level.outline.max(axis=0), -level.outline.min(axis=0))
    assert kind.source
    assert set(kind.responses) <= set(names(Role.RESPONSE))
    assert not kind.gauge_mm or kind.caution


@pytest.mark.parametrize("kind", CATALOGUE.values(), ids=list(CATALOGUE))
def test_orientation_follows_the_sizes(kind):
    """ISO 17295: letters in order of decreasing size; equal sizes may be left out."""
    size = dict(zip("XYZ", kind.box_mm, strict=True))
    lengths = [size[letter] for letter in kind.orientation]
    assert lengths == sorted(lengths, reverse=True)
    assert max(size.values()) == lengths[0]
    words = {"xy": "XYZ", "xz": "XZY", "zx": "ZXY"}.get(kind.name.rpartition("_")[2])
    assert words is None or kind.orientation in (words, words[0])


def test_orientation_letters():
    """Cases worked out by hand from the rule of ISO 17295, decreasing size; ties are left out."""
    cases = {
        (170.0, 20.0, 4.0): "XYZ",
        (20.0, 170.0, 4.0): "YXZ",
        (170.0, 4.0, 20.0): "XZY",
        (4.0, 20.0, 170.0): "ZYX",
        (20.0, 4.0, 170.0): "ZXY",
        (20.0, 20.0, 80.0): "Z",
    }
    assert {size: orientation_letters(size) for size in cases} == cases


def test_volumes():
    """Analytic volumes: prisms, frusta, circles, circle and slope of the cup, notch as trapezium and arc."""
    assert specimen("plaque").volume_mm3 == pytest.approx(1200.0)
    assert specimen("block").volume_mm3 == pytest.approx(960.0)
    frustum = 3.0 / 3.0 * (64.0 + 25.0 + 40.0)
    assert specimen("bar_z").volume_mm3 == pytest.approx(2 * 640.0 + 300.0 + 2 * frustum)

    cone = math.pi / 12.0 * (24.8**2 + 34.0**2 + 24.8 * 34.0) * 4.6
    cup = math.pi / 4.0 * (24.8**2 * (21.0 - 4.6) + 34.0**2 * 4.0 - 20.0**2 * 22.6) + cone
    assert specimen("cup").volume_mm3 == pytest.approx(cup, rel=1e-9)
    assert specimen("cup_lid").volume_mm3 == pytest.approx(
        math.pi / 4.0 * (34.0**2 - 8.8**2) * 10.0, rel=1e-9
    )
    assert specimen("wedge").volume_mm3 == pytest.approx(14.0 * 14.0 * 21.0)
    assert specimen("bead_wall").volume_mm3 == pytest.approx((40.0**2 - 39.0**2) * 20.0)
    round_bar = 2 * math.pi / 4 * 100 * 12 + math.pi / 4 * 36 * 14 + 2 * math.pi / 12 * (100 + 36 + 60) * 4
    assert specimen("bar_z_round").volume_mm3 == pytest.approx(round_bar, rel=1e-9)


@pytest.mark.parametrize(("kind", "radius"), [("impact_bar_notch_a", 0.25), ("impact_bar_notch_b", 1.0)])
def test_notch(kind, radius):
    """
    A notch of 45 degrees, 2 mm deep: triangle with its apex at r (1/sin 22.5° - 1) below the tip, less what the arc
    leaves of the apex (kite of two tangents less a sector), as area by algebra; 8 mm are left.
    """
    half = math.radians(22.5)
    depth = 2.0 + radius * (1.0 / math.sin(half) - 1.0)
    apex = radius**2 * (1.0 / math.tan(half) - (math.pi / 2.0 - half))
    area = depth**2 * math.tan(half) - apex
    bar = specimen(kind)
    assert bar.volume_mm3 == pytest.approx(
        (800.0 - area) * 4.0, abs=4.0 * 0.002 * 3.0 * radius
    )  # chords within 2 µm
    across = bar.outline(0.0)[np.argmin(np.abs(bar.outline(0.0)[:, 0]))]
    assert across == pytest.approx([0.0, -3.0], abs=1e-12)


@pytest.mark.parametrize("diameter", [3.0, 5.0, 8.0, 46.0])
def test_circle(diameter):
    """A polygon of the circle's area whose corners and edges stay within 5 µm of it."""
    shape = circle(diameter)
    assert shape_area(shape) == pytest.approx(math.pi * diameter**2 / 4.0, rel=1e-12)
    corners = np.hypot(*shape.T)
    edges = np.hypot(*(shape + np.roll(shape, 1, axis=0)).T) / 2.0
    assert np.abs(np.concatenate([corners, edges]) - diameter / 2.0).max() < 0.005


def test_wall_of_one_bead_follows_the_settings():
    """Outer size stays, the wall is as thick as asked; other kinds stay as they are."""
    wall = specimen("bead_wall").sized(0.43)
    assert wall.box_mm == specimen("bead_wall").box_mm
    assert wall.region(3.0).area == pytest.approx(40.0**2 - (40.0 - 0.86) ** 2)
    assert specimen("block").sized(0.43) is specimen("block")
    with pytest.raises(InputError, match="wall nan mm"):
        specimen("bead_wall").sized(math.nan)


def test_regions_at_steps_of_the_shape_piece():
    """Where a body ends what lies above shows: holes in the base, posts, then the deck over 10 mm of air."""
    piece = specimen("shape_piece")
    base = 90.0 * 14.0 - math.pi / 4.0 * (9.0 + 25.0 + 64.0)
    assert piece.region(1.0).area == pytest.approx(base, rel=1e-9)
    assert piece.region(3.0).area == pytest.approx((3 * 3.0 + 9.0 + 2 * 4.0) * 14.0)  # walls, block, posts
    assert piece.region(10.0).area == pytest.approx((9.0 + 18.0) * 14.0)  # block and deck
    assert piece.region(12.0).area == pytest.approx(9.0 * 14.0)
    with pytest.raises(InputError, match=r"height 12\.1 mm"):
        piece.region(12.1)


def test_sections_for_reduction():
    """1BA: 5 x 2 mm; upright: 5 x 5 mm; a block carries no load."""
    assert section_mm2("bar_xy") == 10.0
    assert section_mm2("bar_z") == 25.0
    assert section_mm2("impact_bar") == 40.0
    assert section_mm2("impact_bar_notch_a") == 32.0
    assert section_mm2("bar_z_round") == pytest.approx(9.0 * math.pi)
    with pytest.raises(InputError, match="no section that carries a load"):
        section_mm2("block")


def test_default_set():
    """Each response asks for its specimens, once."""
    orders = {order.kind: order.count for order in specimens_for(["clarity", "z_ratio", "size_error_mm"])}
    assert orders == {"bar_xy": 2, "bar_z": 2, "plaque": 1, "block": 1}
    assert [o.kind for o in specimens_for(["strength_across_mpa", "charpy_kj_m2"])] == [
        "bar_across",
        "impact_bar",
    ]
    assert [(o.kind, o.count) for o in specimens_for(["leak_rate_pa_m3_s"], STANDARD_COUNT)] == [("cup", 3)]
    assert [o.kind for o in specimens_for(["strength_xy_mpa", "strength_xy_mpa"])] == ["bar_xy"]


def test_a_run_always_prints_something():
    """Build time alone needs no specimen, so one block stands for it."""
    assert [(o.kind, o.count) for o in specimens_for(["build_min"])] == [("block", 1)]


def test_unknown_kind_is_refused_with_the_nearest_name():
    """A typing error is answered with the nearest name."""
    with pytest.raises(InputError, match=r"'bar_xx' is not a specimen.*Did you mean bar_x"):
        specimen("bar_xx")


def test_outline_between_levels_is_straight():
    """Half way up a slope the square has the mean side."""
    outline = specimen("bar_z").outline(11.5)
    np.testing.assert_allclose(outline, rectangle(6.5, 6.5))
    with pytest.raises(InputError, match="height"):
        specimen("bar_z").outline(39.0)
