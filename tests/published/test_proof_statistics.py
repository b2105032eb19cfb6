"""Tolerance bounds, Weibull, equivalence and agreement against published answers, each with its source."""

import csv
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from voidless.errors import InputError
from voidless.proof.agreement import batches_agree, distance_significance
from voidless.proof.between import BuildScatter, build_scatter, part_factor
from voidless.proof.equivalence import Sample, equivalence, paired_ratio
from voidless.proof.tolerance import one_sided_factor, rank_bound, smallest_sample, two_sided_factor
from voidless.proof.weibull import fit_weibull, weibull_bound

DATA = Path(__file__).parents[1] / "data" / "proof"

# CMH-17 volume 1, chapter 8, tables of k (printed to three decimals; the handbook's own approximation is up to
# 0.0017 off the exact value, so the last digit is not held).
PRINTED_B = {
    3: 6.157,
    4: 4.163,
    5: 3.408,
    6: 3.007,
    8: 2.583,
    10: 2.355,
    15: 2.069,
    20: 1.927,
    30: 1.778,
    50: 1.646,
}


@pytest.mark.parametrize(("size", "printed"), PRINTED_B.items())
def test_factors_of_nine_tenths(size, printed):
    assert one_sided_factor(0.90, 0.95, size) == pytest.approx(printed, abs=0.002)


def test_factors_of_the_handbook():
    """NIST/SEMATECH e-Handbook 7.2.6.3: N 43, share 0.90, confidence 0.99; the page prints approximations."""
    assert one_sided_factor(0.90, 0.99, 43) == pytest.approx(1.8752, abs=0.002)
    assert two_sided_factor(0.90, 0.99, 43) == pytest.approx(2.2173, abs=0.006)
    # With the page's s of 0.0268 and mean 97.0700 + k s: its last line slips to s = 2.68 (erratum).
    assert 97.069832 + one_sided_factor(0.90, 0.99, 43) * 0.0268 == pytest.approx(97.120, abs=5e-4)


def test_two_sided_factors():
    """Exact values computed apart from this program by direct integration, share 0.90 and confidence 0.95."""
    assert two_sided_factor(0.90, 0.95, 5) == pytest.approx(4.2906, abs=5e-5)
    assert two_sided_factor(0.90, 0.95, 10) == pytest.approx(2.8563, abs=5e-5)


def test_ranks_without_a_distribution():
    """CMH-17 volume 1, chapter 8: 29 and 299 values; of 61 strengths the third lowest."""
    assert (smallest_sample(0.90, 0.95), smallest_sample(0.99, 0.95)) == (29, 299)
    assert (rank_bound(0.90, 0.95, 28), rank_bound(0.90, 0.95, 29), rank_bound(0.90, 0.95, 61)) == (0, 1, 3)


def test_parts_of_few_builds():
    """CMH-17 volume 1, chapter 8, single-point analysis of variance of three batches: T 4.546139, A 34.6, B 63.2."""
    found = BuildScatter(3, 20, 103.30, 304.426967, 37.692379, 6.65, 0.0, 0.0)
    factor = part_factor(found, 0.90, 0.95)
    assert factor == pytest.approx(4.546139, abs=5e-6)
    spread = np.sqrt(304.426967 / 6.65 + 5.65 / 6.65 * 37.692379)
    assert spread == pytest.approx(8.820592, abs=5e-6)
    between_bounds = (part_factor(found, 0.99, 0.95) - factor) * spread
    assert between_bounds == pytest.approx(63.2028 - 34.5776, abs=1e-3)


def test_dyestuff_scatter():
    """Davies & Goldsmith (1972), as the tests of a public mixed-model package print it: 1764.05 and 2451.25."""
    rows = list(csv.DictReader(_lines("mixed_dyestuff_Davies1972.csv")))
    groups = {}
    for row in rows:
        groups.setdefault(row["batch"], []).append(float(row["yield_g"]))
    found = build_scatter(list(groups.values()))
    assert found.mean_square_between == pytest.approx(11271.5, abs=0.05)
    assert found.between**2 == pytest.approx(1764.05, abs=0.005)
    assert found.within**2 == pytest.approx(2451.25, abs=0.005)


def test_weibull_with_survivors():
    """NIST/SEMATECH e-Handbook 8.4.1.3: modulus 1.7208, scale 606.5280, log-likelihood -75.135 (sign restored)."""
    rows = list(csv.DictReader(_lines("nist_apr413_weibull.csv")))
    times = {flag: [float(r["time"]) for r in rows if r["censored"] == flag] for flag in ("0", "1")}
    found = fit_weibull(times["0"], times["1"])
    # The page's scale is 0.0004 off the maximum that three programs agree on: 606.52756.
    assert found.scale == pytest.approx(606.5280, abs=5e-4)
    assert found.shape == pytest.approx(1.7208, abs=5e-5)
    assert found.log_likelihood == pytest.approx(-75.135, abs=5e-4)


def test_weibull_agrees_with_a_general_library(rng):
    values = 50.0 * rng.weibull(9.0, 15)
    shape, _, scale = stats.weibull_min.fit(values, floc=0.0)
    found = fit_weibull(values.tolist())
    assert (found.shape, found.scale) == (pytest.approx(shape, rel=2e-4), pytest.approx(scale, rel=2e-4))


def test_modulus_of_ten_is_seventeen_percent_high(rng):
    """Expectation of the modulus over the truth, ten strengths: 1.170 by simulation (Thoman, Bain & Antle: 1/0.859)."""
    shapes = [fit_weibull(rng.weibull(8.0, 10).tolist()).shape / 8.0 for _ in range(1500)]
    # Standard error of the mean of 1500: 0.009.
    assert np.mean(shapes) == pytest.approx(1.170, abs=0.03)


@pytest.mark.slow
def test_weibull_bound_covers(rng):
    truth = (-np.log(0.9)) ** (1 / 12.0)
    hits = [weibull_bound(rng.weibull(12.0, 8).tolist(), 0.9, 0.95, rng) <= truth for _ in range(150)]
    # Binomial standard error 0.018.
    assert np.mean(hits) == pytest.approx(0.95, abs=0.045)


def test_equivalence_from_summaries():
    """Worked values of a public equivalence package: t 3.153 and -2.696, p 0.003838994, df 181.1344."""
    found = equivalence(Sample(5.25, 0.95, 95), Sample(5.22, 0.83, 89), 0.384)
    assert found.p == pytest.approx(0.003838994, abs=5e-10)
    assert found.freedom == pytest.approx(181.1344, abs=5e-5)
    assert (found.low, found.high) == (
        pytest.approx(-0.1870843, abs=5e-8),
        pytest.approx(0.2470843, abs=5e-8),
    )
    assert found.shown


def test_ratio_of_paired_means():
    """Bonett & Price (2020), data and answer as a public package documents them."""
    found = paired_ratio([3.3, 3.6, 3.0, 3.1, 3.9, 4.2, 3.5, 3.3], [3.0, 3.1, 2.7, 2.6, 3.2, 3.8, 3.2, 3.0])
    assert found == (
        pytest.approx(1.134146, abs=5e-7),
        pytest.approx(1.09417, abs=5e-6),
        pytest.approx(1.175583, abs=5e-7),
    )


def test_distance_from_normal_is_calibrated(rng):
    """A true normal sample is called not normal about as often as the level says (formula of CMH-17, chapter 8)."""
    low = [distance_significance(rng.normal(60.0, 3.0, 12).tolist()) < 0.05 for _ in range(800)]
    assert np.mean(low) == pytest.approx(0.05, abs=0.025)
    skew = [distance_significance(rng.exponential(1.0, 30).tolist()) < 0.05 for _ in range(50)]
    assert np.mean(skew) > 0.9


def test_batches_that_differ_are_told(rng):
    same = [rng.normal(50.0, 2.0, 8) for _ in range(3)]
    assert batches_agree([*same[:2], same[2] + 8.0]) < 0.01
    assert batches_agree([same[0], same[0] + 1e-9, same[0] - 1e-9]) > 0.2


@pytest.mark.parametrize("values", [[], [50.0], [50.0, 50.0], [50.0, -1.0], [50.0, float("nan")]])
def test_weibull_refuses_what_tells_no_distribution(values):
    with pytest.raises(InputError):
        fit_weibull(values, [60.0])


def _lines(name: str) -> list[str]:
    text = (DATA / name).read_text(encoding="utf-8")
    return [line for line in text.splitlines() if not line.startswith("#")]


@pytest.fixture
def rng():
    return np.random.default_rng(20)
