"""Specimens and settings -> toolpath: volumes, limits, layout, notes."""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.specimens.catalogue import DEFAULT_SET, specimen, specimens_for
from voidless.specimens.order import SpecimenOrder
from voidless.specimens.outline import shape_area
from voidless.toolpath.build import _note, grams, layer_count, plan_build
from voidless.toolpath.layout import EDGE_MM, SPACING_MM, lay_out
from voidless.toolpath.limits import check_limits
from voidless.toolpath.motion import build_time
from voidless.toolpath.moves import Kind

ORDERS = specimens_for(["clarity", "z_ratio", "size_error_mm"])


@pytest.fixture(scope="module")
def built(bench, settings):
    return plan_build(ORDERS, settings, bench, even=False)


@pytest.mark.parametrize(
    ("flow", "orders", "even"), [(100.0, ORDERS, False), (93.0, [SpecimenOrder("block")], True)]
)
def test_each_layer_of_each_specimen_gets_its_volume(bench, settings, flow, orders, even):
    """Deposit per specimen and layer is section area times layer thickness times flow."""
    layer = 0.4 if even else 0.2  # each layer is planned anew: twenty are enough
    given = {**settings, "layer_mm": layer, "flow_pct": flow, "raster_step_deg": 67.0}
    path = plan_build(orders, given, bench, even)
    moves = path.moves
    bead = moves.deposits & (moves.specimen >= 0)
    for placed in path.placements:
        kind = specimen(placed.kind)
        mine = bead & (moves.specimen == placed.position - 1)
        volume = np.bincount(moves.layer[mine], weights=moves.volume_mm3[mine])
        heights = (np.arange(layer_count(kind.height_mm, layer)) + 0.5) * layer
        area = np.array([shape_area(kind.outline(height)) for height in heights])
        np.testing.assert_allclose(volume, area * layer * flow / 100.0, rtol=1e-9)


def test_purge_stands_apart(built):
    """The purge line has its own kind and layer -1, and lies in front of every specimen."""
    moves = built.moves
    purge = moves.kind == Kind.PURGE
    assert purge.sum() == 1
    assert np.all(moves.layer[purge] == -1)
    front = min(placed.centre_mm[1] - placed.size_mm[1] / 2.0 for placed in built.placements)
    assert moves.y_mm[purge].max() + 5.0 < front


def test_all_beads_lie_inside_their_specimens(built):
    """No bead leaves its specimen's box by more than rounding."""
    moves = built.moves
    for placed in built.placements:
        mine = moves.deposits & (moves.specimen == placed.position - 1)
        assert np.abs(moves.x_mm[mine] - placed.centre_mm[0]).max() <= placed.size_mm[0] / 2.0 + 1e-9
        assert np.abs(moves.y_mm[mine] - placed.centre_mm[1]).max() <= placed.size_mm[1] / 2.0 + 1e-9


def test_retractions_pair_up(built):
    """Filament drawn back before a long travel is restored after it; the last one stays drawn back."""
    moves = built.moves
    drawn = np.cumsum(np.where(moves.deposits, 0.0, moves.volume_mm3))
    one = 0.8 * math.pi * 1.75**2 / 4.0
    assert drawn[-1] == pytest.approx(-one)
    np.testing.assert_allclose(drawn[moves.deposits], 0.0, atol=1e-6)
    travel = (moves.kind == Kind.TRAVEL) & (moves.layer >= 0) & (np.abs(moves.steps_mm[:, 2]) < 1e-12)
    long = travel & (moves.length_mm > 2.0)
    np.testing.assert_allclose(drawn[long], -one)


def test_nothing_moves_up_and_sideways_at_once(built):
    """The nozzle rises first, so that it does not drag through what it has laid."""
    steps = built.moves.steps_mm
    assert not np.any((np.abs(steps[:, 2]) > 1e-12) & (np.hypot(steps[:, 0], steps[:, 1]) > 1e-12))


@pytest.mark.parametrize("speed", [5.0, 400.0])
def test_limits_hold_whatever_is_asked(bench, settings, speed):
    """Speeds above the machine's are lowered; beads that would outrun the melt are slowed."""
    path = plan_build(ORDERS, {**settings, "speed_mm_s": speed, "width_mm": 0.7}, bench, even=False)
    assert check_limits(path.moves, bench) == []
    rate = path.moves.volume_mm3 * path.moves.speed_mm_s / np.maximum(path.moves.length_mm, 1e-12)
    bead = path.moves.deposits
    assert rate[bead].max() == pytest.approx(12.0 if speed == 400.0 else rate[bead].max())
    assert rate[bead].max() <= 12.0 * (1 + 1e-9)


def test_fan_starts_with_the_second_layer(built):
    """Purge line and first layer are laid without fan."""
    assert np.all(built.moves.fan_pct[built.moves.layer <= 0] == 0.0)
    assert np.all(built.moves.fan_pct[built.moves.layer > 0] == 20.0)


def test_default_set_takes_minutes_to_an_hour_or_two(bench, settings):
    """With 0.12 to 0.2 mm layers the default set stays between 20 and 90 minutes at 50 mm/s."""
    for layer in (0.12, 0.2):
        path = plan_build(ORDERS, {**settings, "layer_mm": layer}, bench, even=False)
        minutes = build_time(path, bench).total_s / 60.0
        assert 20.0 < minutes < 90.0


def test_grams_are_volume_times_density(bench, settings):
    """A plaque of 1200 mm³ and 30 mm³ of purge weigh 1.23 g at 1 g/cm³."""
    path = plan_build([SpecimenOrder("plaque")], settings, bench)
    assert grams(path, 1.0) == pytest.approx(1.230, rel=1e-9)
    with pytest.raises(InputError, match="density above 0"):
        grams(path, math.nan)


def test_same_input_same_moves(bench, settings):
    """Planning is deterministic."""
    first, again = (plan_build([SpecimenOrder("block")], settings, bench).moves for _ in range(2))
    np.testing.assert_array_equal(again.x_mm, first.x_mm)
    np.testing.assert_array_equal(again.volume_mm3, first.volume_mm3)


@pytest.mark.parametrize("name", [*DEFAULT_SET, "iso527_1ba_xz", "wedge", "shape_piece", "cup_lid"])
def test_kinds_can_be_planned(bench, settings, name):
    """The default set, and kinds with holes, steps and several bodies, make builds of their own height."""
    path = plan_build([SpecimenOrder(name)], {**settings, "raster_deg": 0.0}, bench, even=False)
    assert path.layers == layer_count(specimen(name).height_mm, 0.2)
    assert path.notes == ()


def test_specimens_keep_their_distance(bench):
    """Boxes stand apart by the spacing and away from the bed's edge."""
    placed = lay_out(
        [SpecimenOrder("bar_xy", 3), SpecimenOrder("block", 4), SpecimenOrder("plaque", 2)], bench
    )
    assert [item.position for item in placed] == list(range(1, 10))
    for item in placed:
        for axis, bed in ((0, bench.bed_x_mm), (1, bench.bed_y_mm)):
            assert item.centre_mm[axis] - item.size_mm[axis] / 2.0 >= EDGE_MM - 1e-9
            assert item.centre_mm[axis] + item.size_mm[axis] / 2.0 <= bed - EDGE_MM + 1e-9
    for one in placed:
        for other in placed[one.position :]:
            gaps = [
                abs(one.centre_mm[i] - other.centre_mm[i]) - (one.size_mm[i] + other.size_mm[i]) / 2.0
                for i in (0, 1)
            ]
            assert max(gaps) >= SPACING_MM - 1e-9


def test_what_does_not_fit_is_refused(bench, settings):
    """Too many bars, or an order that is none."""
    with pytest.raises(InputError, match=r"need .* mm .*Order fewer specimens"):
        plan_build([SpecimenOrder("bar_xy", 60)], settings, bench)
    with pytest.raises(InputError, match="whole number from 1"):
        plan_build([SpecimenOrder("bar_xy", 0)], settings, bench)
    with pytest.raises(InputError, match="nothing to print"):
        plan_build([], settings, bench)


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("layer_mm", 0.0, "layer_mm = 0.0"),
        ("speed_mm_s", math.nan, "speed_mm_s = nan"),
        ("contours", 1.5, "contours = 1.5"),
        ("width_mm", 0.1, "not below the layer"),
    ],
)
def test_senseless_settings_are_refused(bench, settings, name, value, words):
    """A setting without sense is named, NaN included."""
    with pytest.raises(InputError, match=words):
        plan_build([SpecimenOrder("block")], {**settings, name: value}, bench)


def test_contours_without_room_are_noted(bench, settings):
    """What could not be done as asked is said in plain words, once."""
    path = plan_build([SpecimenOrder("bar_xz")], {**settings, "contours": 8.0}, bench)
    assert path.notes == ("bar_xz: where it is narrow 5 of 8 contours fit.",)
    notes: dict[str, None] = {}
    for asked in (1, 2):
        none = SimpleNamespace(contours=0, missed_mm2=0.0, area_mm2=np.ones(1))
        _note(notes, "lid", none, SimpleNamespace(contours=asked))
    assert list(notes) == [
        "lid: where it is narrow there is no room for 1 contour.",
        "lid: where it is narrow there is no room for any of 2 contours.",
    ]
