"""
Z/XY ratios of 21 filaments compared pair by pair.

Source: tests/data/strength-xy-z (SOURCE.txt there; BSD-3-Clause): the printed maximum forces of a hand-pulled rig. The
oracle is scipy's and statsmodels' own: Welch's degrees of freedom by hand, Holm from statsmodels.
"""

import re
from pathlib import Path

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.multitest import multipletests

from voidless.errors import InputError
from voidless.infer.compare import adjusted_holm, compare_ratios, false_shares

DATA = Path(__file__).parents[1] / "data" / "strength-xy-z"


def forces(filament):
    """Return the trials of the last block of each axis as printed [N]: the section cancels in a quotient."""
    text = (DATA / filament / "summary.txt").read_text(encoding="utf-8")
    found = {}
    for block in text.split("=== Test Summary ===")[1:]:
        trials = [float(value) for value in re.findall(r"Trial \d+: ([\d.]+) N", block)]
        found[re.search(r"Axis: (\w+)", block)[1]] = trials
    return found["z"], found["xy"]


@pytest.fixture(scope="module")
def filaments():
    return {folder.name: forces(folder.name) for folder in sorted(DATA.iterdir()) if folder.is_dir()}


def test_pairs_agree_with_general_libraries(filaments):
    found = compare_ratios(filaments)
    assert len(found) == 210
    for method, ours in (("holm", "p_adjusted"), ("fdr_bh", "false_share")):
        expected = multipletests([pair.p for pair in found], method=method)[1]
        np.testing.assert_allclose([getattr(pair, ours) for pair in found], expected, rtol=1e-12)
    for pair in found[::17]:
        parts = []
        for name in (pair.first, pair.second):
            for values in filaments[name]:
                parts.append((stats.variation(values, ddof=1) ** 2 / len(values), len(values) - 1))
        variance = sum(part for part, _ in parts)
        freedom = variance**2 / sum(part**2 / free for part, free in parts)
        assert pair.freedom == pytest.approx(freedom, rel=1e-9)
        half = stats.t.isf(0.025 / 210, freedom) * np.sqrt(variance)
        assert pair.high == pytest.approx(pair.quotient * np.exp(half), rel=1e-9)
        assert pair.p == pytest.approx(2 * stats.t.sf(abs(np.log(pair.quotient)) / variance**0.5, freedom))


def test_fewer_pairs_differ_than_one_by_one(filaments):
    """Measured: 132 of 210 pairs at 5 % each, 50 with their number paid for, 123 if one in twenty may be wrong."""
    found = compare_ratios(filaments)
    assert sum(pair.p < 0.05 for pair in found) == 132
    assert sum(pair.p_adjusted < 0.05 for pair in found) == 50
    assert sum(pair.false_share < 0.05 for pair in found) == 123


def test_printed_example_of_holm():
    """Textbook example from memory: 0.01, 0.04, 0.03, 0.005."""
    np.testing.assert_allclose(adjusted_holm([0.01, 0.04, 0.03, 0.005]), [0.03, 0.06, 0.06, 0.02], rtol=1e-12)


# Benjamini & Hochberg, J. R. Stat. Soc. B 57 (1995) 289, section 3.3: fifteen ordered significances of a trial.
TRIAL = [
    *(0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344),
    *(0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0),
]


def test_printed_example_of_benjamini_and_hochberg():
    """There four are called at 5 % by their method, three by the one that pays for every comparison."""
    shuffled = np.random.default_rng(0).permutation(15)
    p = np.array(TRIAL)[shuffled]
    assert sorted(p[false_shares(p) <= 0.05]) == TRIAL[:4]
    assert sorted(p[adjusted_holm(p) <= 0.05]) == TRIAL[:3]


def test_shares_of_wrong_ones_need_significances():
    assert false_shares([]).size == 0
    with pytest.raises(InputError, match="outside 0 to 1"):
        false_shares([0.2, float("nan")])


def test_groups_of_one_truth_seldom_differ():
    """Fifteen groups of one truth, 300 families; 0.09 is three Monte-Carlo errors above 5 %."""
    rng, wrong = np.random.default_rng(3), 0
    for _ in range(300):
        groups = {str(i): (20.0 + rng.normal(size=5), 40.0 + 3.0 * rng.normal(size=5)) for i in range(15)}
        wrong += min(pair.p_adjusted for pair in compare_ratios(groups)) < 0.05
    assert wrong / 300 < 0.09


@pytest.mark.parametrize("bad", [([1.0], [2.0, 3.0]), ([1.0, -1.0], [2.0, 3.0]), ([1.0, 1.0], [2.0, 3.0])])
def test_a_group_that_tells_no_scatter_is_refused(bad):
    with pytest.raises(InputError, match="comparison of ratios, a"):
        compare_ratios({"a": bad, "b": ([1.0, 2.0], [2.0, 3.0])})
