"""
Haze against traced plaques: error, coverage of the 95 % interval, width against the one of the true noise.

`python tests/nightly/measure_coverage.py haze` runs every plaque with a thousand measurements and two million rays.
"""

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
from truth_haze import PLAQUES, Camera, shots, still, truth

from voidless.errors import InputError
from voidless.measure.optics.bench import Bench
from voidless.measure.optics.haze import Frames, reduce_haze

CAMERA, SETS = Camera(), 5
BENCH = Bench(100.0, 8.815, 600.0, 0.25, 1.57, 3.0)
BENCHES = 100
"""True benches, off by their stated uncertainties, that measurements are spread over."""


def scene(plaque, rays, distance, spot):
    """Return frames without noise of a bench whose distance and spot are really these."""
    return still(plaque, CAMERA, rays, 0.25, distance, spot, 600.0)


def run(plaque, rays, count, seed):
    """
    Return what measurements of a plaque gave, spread over true benches that are off by their stated uncertainties.

    Errors [%], coverage, width over that of the same budget with the true noise of frames, width over that of the true
    scatter, detection limit [%], true haze [%].
    """
    rng = np.random.default_rng(seed)
    true = 100.0 * truth(plaque, rays)[0]
    benches = min(BENCHES, count // 4)
    errors, covered, stated, others = (np.empty((benches, count // benches)) for _ in range(4))
    for b, (a, c) in enumerate(rng.standard_normal((benches, 2))):
        distance = BENCH.distance_mm + BENCH.distance_uncertainty_mm * a
        frames = scene(plaque, rays, distance, BENCH.spot_mm + BENCH.spot_uncertainty_mm * c)
        for k in range(count // benches):
            found = reduce_haze([Frames(*each) for each in shots(frames, CAMERA, SETS, rng)], BENCH)
            errors[b, k] = found.haze_pct - true
            covered[b, k] = found.haze_low_pct <= true <= found.haze_high_pct
            stated[b, k] = 0.5 * (found.haze_high_pct - found.haze_low_pct)
            others[b, k] = np.sqrt(sum(v**2 for name, v in found.shares if name != "frames"))
    width = np.median(stated)
    same_budget = 1.96 * np.sqrt(errors.var(axis=1, ddof=1).mean() + np.mean(others) ** 2)
    scatter = 1.96 * np.sqrt(np.mean(errors**2))
    return errors.ravel(), covered.ravel(), width / same_budget, width / scatter, found.detection_pct, true


@pytest.mark.slow
@pytest.mark.parametrize("plaque", [PLAQUES[1], PLAQUES[3], PLAQUES[6]], ids=lambda plaque: plaque.name)
def test_intervals_cover_and_are_not_wasteful(plaque):
    """24 measurements: 93 % less three standard errors of such a count; the rays know haze to 0.1 % at 30 %."""
    errors, covered, width, *_, true = run(plaque, 150_000, 24, 5)
    assert covered.mean() >= 0.93 - 3 * (0.95 * 0.05 / 24) ** 0.5
    assert width <= 1.5
    assert np.all(np.abs(errors) <= max(0.3, 1.0 + 0.1 * true) if true > 3 else 0.3)


def test_a_clear_plaque_is_below_the_detection_limit_or_near():
    errors, *_, limit, _ = run(PLAQUES[0], 150_000, 12, 6)
    assert limit < 0.6
    assert np.all(np.abs(errors) < 0.3)


def test_the_traced_plaque_passes_no_more_than_its_faces_let():
    """Scatter alone absorbs nothing, so the total is near the ceiling 0.9062 and never above it by chance."""
    assert truth(PLAQUES[0], 150_000)[1] == pytest.approx(0.9062, abs=4e-3)


def test_a_lamp_brighter_behind_the_plaque_breaks_the_ceiling():
    frames = scene(PLAQUES[0], 150_000, BENCH.distance_mm, BENCH.spot_mm)
    brighter = Frames(frames[0], 1.2 * frames[1], frames[2], 1.2 * frames[3])
    with pytest.raises(InputError, match="two smooth faces"):
        reduce_haze([brighter], BENCH)


CASES = len(PLAQUES)


def tell(place, count, rays=2_000_000):
    """Return the line of one plaque."""
    plaque = PLAQUES[place]
    errors, covered, width, over, limit, true = run(plaque, rays, count, 1)
    said = f"haze {true:.2f} %  bias {errors.mean():+.3f}  largest error {np.abs(errors).max():.2f} points"
    kept = f"covered {100 * covered.mean():.1f} %  width/true {width:.2f}"
    return [
        f"{plaque.name:13s} n {errors.size}  {said}  {kept}  over scatter {over:.2f}  detection {limit:.2f} %"
    ]
