"""Build time of many settings at once against planned builds, and what it refuses."""

import time

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.machines import load_machine
from voidless.specimens.catalogue import specimens_for
from voidless.specimens.order import SpecimenOrder
from voidless.toolpath.build import plan_build
from voidless.toolpath.estimate import build_minutes, plain_minutes
from voidless.toolpath.motion import build_time

ORDERS = specimens_for(["clarity", "z_ratio", "size_error_mm"])


def _columns(seed, count):
    """Return settings over more than the usual ranges."""
    rng = np.random.default_rng(seed)
    return {
        "layer_mm": rng.uniform(0.08, 0.3, count),
        "width_mm": rng.uniform(0.38, 0.7, count),
        "flow_pct": rng.uniform(90.0, 110.0, count),
        "contours": rng.integers(0, 4, count).astype(float),
        "raster_deg": rng.choice([0.0, 30.0, 45.0, 90.0], count),
        "raster_step_deg": rng.choice([0.0, 45.0, 67.0, 90.0], count),
        "overlap_pct": rng.uniform(0.0, 40.0, count),
        "nozzle_c": np.full(count, 240.0),
        "bed_c": np.full(count, 80.0),
        "chamber_c": np.full(count, 25.0),
        "fan_pct": np.full(count, 20.0),
        "speed_mm_s": rng.uniform(10.0, 100.0, count),
    }


def _exact(columns, orders, machine):
    rows = [
        {name: float(values[row]) for name, values in columns.items()}
        for row in range(len(columns["layer_mm"]))
    ]
    return np.array(
        [build_time(plan_build(orders, row, machine, even=False), machine).total_s / 60.0 for row in rows]
    )


@pytest.mark.slow
@pytest.mark.parametrize("machine", ["bench-0.4", "enclosed-0.4"])
def test_default_set_within_three_per_cent(machine):
    """
    Random settings, default specimens: root mean square error below 1.5 %, none above 4 %.

    Measured over 40 rows when written: 1.0 % and 3.0 % on bench-0.4, 0.8 % and 2.5 % on enclosed-0.4; the
    limits leave room for other machine data.
    """
    machine = load_machine(machine)
    columns = _columns(5, 10)
    error = plain_minutes(columns, ORDERS, machine) / _exact(columns, ORDERS, machine) - 1.0
    assert np.sqrt(np.mean(error**2)) < 0.02
    assert np.abs(error).max() < 0.04


@pytest.mark.parametrize(
    "response", ["strength_xy_mpa", "strength_z_mpa", "clarity", "size_error_mm", "charpy_kj_m2"]
)
def test_single_kinds_within_six_per_cent(bench, response):
    """One kind alone: small builds lean more on what the estimate leaves out (measured: 5.4 % at most)."""
    columns, orders = _columns(11, 4), specimens_for([response])
    error = plain_minutes(columns, orders, bench) / _exact(columns, orders, bench) - 1.0
    assert np.abs(error).max() < 0.06


@pytest.mark.parametrize(
    ("kind", "contours", "within"),
    [
        ("block", 2.0, 0.02),
        ("block", 1.0, 0.08),
        ("block", 0.0, 0.10),
        ("plaque", 3.0, 0.02),
    ],
)
def test_ways_aside_are_counted(bench, settings, kind, contours, within):
    """Slanted raster: plans that fill evenly take 2 to 30 % longer than plain ones; the estimate follows."""
    usual = {**settings, "contours": contours, "raster_deg": 45.0, "raster_step_deg": 90.0, "layer_mm": 0.3}
    columns, orders = {name: np.array([value]) for name, value in usual.items()}, [SpecimenOrder(kind, 1)]
    even = build_time(plan_build(orders, usual, bench), bench).total_s / 60.0
    found, plain = (float(f(columns, orders, bench)[0]) for f in (build_minutes, plain_minutes))
    assert found == pytest.approx(even, rel=within)
    assert abs(found - even) < abs(plain - even)


@pytest.mark.parametrize(
    ("kind", "contours", "angle", "within"),
    [
        ("bead_wall", 2.0, 45.0, 0.02),
        ("iso527_5b_zx", 2.0, 0.0, 0.05),
        ("bar_xy", 1.0, 0.0, 0.05),
        ("bar_xy", 0.0, 0.0, 0.03),
    ],
)
def test_what_the_closed_form_lacks_is_planned(bench, settings, kind, contours, angle, within):
    """
    Walls of a bead or two and long bars with few contours: off by 30 to 45 % without plans of a few layers.

    The third is a plan whose ways aside change with every pitch: +1.3 %, and -4.4 % at a width of 0.48 mm.
    """
    usual = {**settings, "contours": contours, "raster_deg": angle, "raster_step_deg": 0.0, "width_mm": 0.45}
    columns, orders = {name: np.array([value]) for name, value in usual.items()}, [SpecimenOrder(kind, 1)]
    planned = build_time(plan_build(orders, usual, bench), bench).total_s / 60.0
    assert build_minutes(columns, orders, bench)[0] == pytest.approx(planned, rel=within)


def test_default_settings_are_close(bench, settings):
    """The unidirectional default, raster along the pull, is within 3 %."""
    usual = {**settings, "raster_deg": 0.0, "raster_step_deg": 0.0}
    columns = {name: np.array([value]) for name, value in usual.items()}
    assert plain_minutes(columns, ORDERS, bench)[0] == pytest.approx(
        _exact(columns, ORDERS, bench)[0], rel=0.03
    )


def test_five_thousand_rows_in_seconds(bench):
    """Fast enough to search a design space; the limit is wide because test machines are shared."""
    columns = _columns(2, 5000)
    columns["contours"] = np.maximum(columns["contours"], 2.0)  # with fewer, layers are planned first
    begin = time.perf_counter()
    minutes = build_minutes(columns, ORDERS, bench)
    assert time.perf_counter() - begin < 12.0
    assert minutes.shape == (5000,)
    assert np.all(np.isfinite(minutes) & (minutes > 1.0))


def test_rows_do_not_influence_each_other(bench):
    """A row's time is the same alone and among others, whether layers are planned for it or not."""
    columns, orders, chosen = _columns(3, 40), [SpecimenOrder("block", 2)], [0, 17, 39]
    columns["contours"] = np.maximum(columns["contours"], 2.0)
    columns["contours"][0] = 1.0
    columns["raster_deg"][0] = columns["raster_step_deg"][0] = 0.0
    together = build_minutes(columns, orders, bench)
    alone = [build_minutes({n: v[[row]] for n, v in columns.items()}, orders, bench)[0] for row in chosen]
    np.testing.assert_allclose(together[chosen], alone, rtol=1e-12)


def test_slower_is_longer(bench, settings):
    """Time falls with speed, and with layer thickness."""
    for name, values in (("speed_mm_s", [10.0, 20.0, 40.0, 80.0]), ("layer_mm", [0.1, 0.15, 0.2, 0.3])):
        columns = {key: np.full(4, value) for key, value in settings.items()} | {name: np.array(values)}
        assert np.all(np.diff(build_minutes(columns, ORDERS, bench)) < 0.0)


def test_senseless_rows_are_refused(bench, settings):
    """NaN and a standstill are named."""
    columns = {name: np.array([value, value]) for name, value in settings.items()}
    with pytest.raises(InputError, match="overlap_pct is not a number"):
        build_minutes({**columns, "overlap_pct": np.array([10.0, np.nan])}, ORDERS, bench)
    with pytest.raises(InputError, match="not above 0"):
        build_minutes({**columns, "speed_mm_s": np.array([10.0, 0.0])}, ORDERS, bench)
