"""The kinds of specimen: geometry, orientation, which responses they serve."""

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.quantities import Role, names
from voidless.specimens.catalogue import CATALOGUE, section_mm2, specimen, specimens_for
from voidless.specimens.outline import rectangle, shape_area


@pytest.mark.parametrize("kind", CATALOGUE.values(), ids=list(CATALOGUE))
def test_every_kind_is_consistent(kind):
    """Outlines turn anticlockwise, every kind says where it comes from, gauge sections are its own."""
    for level in kind.levels:
        assert shape_area(level.outline) > 0.0
        np.testing.assert_allclose(level.outline.max(axis=0), -level.outline.min(axis=0))
    assert kind.source
    assert set(kind.responses) <= set(names(Role.RESPONSE))
    if kind.gauge_mm:
        section = kind.outline(kind.height_mm / 2.0)
        through = shape_area(section) if kind.orientation == "Z" else _narrowest(kind)
        assert through == pytest.approx(kind.section_mm2)
        assert kind.caution


def _narrowest(kind):
    """Return the area of the section across X at the middle of a lying bar."""
    outline = kind.outline(0.0)
    length = np.ptp(outline[:, 0])
    middle = outline[np.abs(outline[:, 0]) <= 0.2 * length + 1e-6]  # 1BA: parallel over 30 of 75 mm
    width = np.ptp(middle[:, 1]) if len(middle) else np.ptp(outline[:, 1])
    return width * kind.height_mm


@pytest.mark.parametrize("kind", CATALOGUE.values(), ids=list(CATALOGUE))
def test_orientation_follows_the_sizes(kind):
    """ISO 17295: letters in order of decreasing size; equal sizes may be left out."""
    size = dict(zip("XYZ", kind.box_mm, strict=True))
    lengths = [size[letter] for letter in kind.orientation]
    assert lengths == sorted(lengths, reverse=True)
    assert max(size.values()) == lengths[0]


def test_volumes():
    """Analytic volumes: prisms, and the upright bar as two grips, gauge and two frusta."""
    assert specimen("plaque").volume_mm3 == pytest.approx(1200.0)
    assert specimen("block").volume_mm3 == pytest.approx(960.0)
    frustum = 3.0 / 3.0 * (64.0 + 25.0 + 40.0)
    assert specimen("bar_z").volume_mm3 == pytest.approx(2 * 640.0 + 300.0 + 2 * frustum)


def test_sections_for_reduction():
    """1BA: 5 x 2 mm; upright: 5 x 5 mm; a block carries no load."""
    assert section_mm2("bar_xy") == 10.0
    assert section_mm2("bar_z") == 25.0
    assert section_mm2("impact_bar") == 40.0
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
