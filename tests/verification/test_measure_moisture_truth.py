"""
Diffusivity against simulated filaments: error, coverage of the 95 % interval, width against the one of the true noise.

`python tests/nightly/measure_coverage.py moisture` runs every truth with a thousand measurements.
"""

import itertools
import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
from truth_moisture import TRUTHS, Bench, balance_errors, exact_mass, weighed

from voidless.measure.moisture.climate import climate
from voidless.measure.moisture.fit import Series, _best, _jacobian, fit_moisture

FINE = Bench()
COARSE = Bench(noise_g=1.5e-3, wave_g=1e-3, step_g=1e-3)


def series(truth, bench, readings, diameter, humidity, celsius):
    steps = climate(truth.hours, celsius, 100.0 * humidity, truth.name)
    return Series(
        steps, readings, bench.step_g, diameter, bench.diameter_mm, 40e3, 0.0, bench.humidity, bench.celsius
    )


def true_spread(truth, bench, mass, rng):
    """Return the standard uncertainty of ln D that the true noise and gauges give the same estimator."""
    exact = series(truth, bench, mass, 1.75, np.array(truth.humidity), np.array(truth.celsius))
    gain = np.linalg.pinv(_jacobian(exact, _best(exact)))[0]
    errors = np.array([balance_errors(truth, bench, rng) for _ in range(2000)])
    errors += rng.uniform(-0.5, 0.5, errors.shape) * bench.step_g
    common = sum(effect**2 for name, effect in fit_moisture(exact).shares if name != "readings")
    return float(np.sqrt(np.var(errors @ gain) + common))


def run(truth, bench, count, seed):
    """Return errors of ln D, whether covered, and half-widths over those of the true noise."""
    rng = np.random.default_rng(seed)
    mass = exact_mass(truth)
    wide = 1.96 * true_spread(truth, bench, mass, rng)
    errors, covered, widths = [], [], []
    for _ in range(count):
        found = fit_moisture(series(truth, bench, *weighed(truth, mass, bench, rng)))
        errors.append(np.log(found.diffusivity / truth.diffusivity))
        covered.append(found.diffusivity_low <= truth.diffusivity <= found.diffusivity_high)
        widths.append(0.5 * np.log(found.diffusivity_high / found.diffusivity_low) / wide)
    return np.array(errors), np.array(covered), np.array(widths)


@pytest.mark.parametrize("truth", TRUTHS, ids=lambda truth: truth.name)
def test_the_model_is_the_simulated_filament(truth):
    """Without a bench's errors D comes back to 0.5 %, the error of 300 rings and 60 steps a stay."""
    exact = series(truth, FINE, exact_mass(truth), 1.75, np.array(truth.humidity), np.array(truth.celsius))
    assert fit_moisture(exact).diffusivity == pytest.approx(truth.diffusivity, rel=5e-3)


@pytest.mark.slow
@pytest.mark.parametrize("bench", [FINE, COARSE], ids=["fine", "coarse"])
def test_intervals_cover_and_are_not_wasteful(bench):
    """40 measurements: 93 % less three standard errors of such a count; median width at most 1.5 times the true one."""
    errors, covered, widths = run(TRUTHS[1], bench, 40, 7)
    assert np.median(np.abs(errors)) < 0.05
    assert covered.mean() >= 0.93 - 3 * (0.95 * 0.05 / 40) ** 0.5
    assert np.median(widths) <= 1.5


CASES = 2 * len(TRUTHS)


def tell(place, count):
    """Return the line of one filament on one balance."""
    bench, truth = list(itertools.product((FINE, COARSE), TRUTHS))[place]
    errors, covered, widths = run(truth, bench, count, 1)
    said = f"bias {100 * errors.mean():+.2f} %  spread {100 * errors.std():.2f} %"
    kept = f"covered {100 * covered.mean():.1f} %  width/true {np.median(widths):.2f}"
    return [f"{truth.name:14s} {1e3 * bench.noise_g:.1f} mg  n {count}  {said}  {kept}"]
