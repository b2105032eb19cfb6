"""
Published answers of small statistical problems; each test names its source.

Data that are quoted from textbooks are facts used for the check only.
"""

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.infer.linear import fit_linear, lack_of_fit, lenth, sequential_squares, stationary_point
from voidless.infer.mixed import fit_mixed
from voidless.infer.ratio import strength_ratio
from voidless.infer.terms import factorial_terms, model_matrix, quadratic_terms

DYESTUFF = """1545 1440 1440 1520 1580 1540 1555 1490 1560 1495 1595 1550 1605 1510 1560
1445 1440 1595 1465 1545 1595 1630 1515 1635 1625 1520 1455 1450 1480 1445"""


def test_dyestuff_variance_components():
    """
    Davies & Goldsmith 1972, six batches of five; REML 1764.05 and 2451.25, criterion
    319.654276842342 (lme4 tests).
    """
    y = np.array(DYESTUFF.split(), dtype=float)
    found = fit_mixed(np.ones((30, 1)), y, {"batch": np.repeat(np.arange(6), 5)})
    assert found.components["batch"] == pytest.approx(1764.05, abs=0.005)
    assert found.components["residual"] == pytest.approx(2451.25, abs=0.005)
    assert found.criterion == pytest.approx(319.654276842342, abs=1e-8)
    # standard error sqrt(MS between / 30) = 19.3838 and 5 degrees of freedom, by the closed form
    assert found.standard_errors[0] == pytest.approx(np.sqrt(11271.5 / 30.0), rel=1e-5)
    assert found.freedom[0] == pytest.approx(5.0, rel=1e-4)


def test_nested_components_are_the_closed_form():
    """Balanced nested data: REML equals the analysis of variance (invented numbers, closed form)."""
    rng = np.random.default_rng(3)
    batch, cask = np.repeat(np.arange(10), 6), np.repeat(np.arange(30), 2)
    y = (
        60.0
        + 2.0 * rng.standard_normal(10)[batch]
        + 3.0 * rng.standard_normal(30)[cask]
        + rng.standard_normal(60)
    )
    means_cask = np.bincount(cask, y) / 2
    means_batch = np.bincount(batch, y) / 6
    within = np.sum((y - means_cask[cask]) ** 2) / 30
    between_casks = 2 * np.sum((means_cask - means_batch[np.arange(30) // 3]) ** 2) / 20
    between_batches = 6 * np.sum((means_batch - y.mean()) ** 2) / 9
    found = fit_mixed(np.ones((60, 1)), y, {"batch": batch, "cask": cask}).components
    assert found["residual"] == pytest.approx(within, rel=1e-4)
    assert found["cask"] == pytest.approx((between_casks - within) / 2, rel=1e-4)
    assert found["batch"] == pytest.approx((between_batches - between_casks) / 6, rel=1e-4)


BBD = [
    (-1, -1, 0, 53), (1, -1, 0, 58), (-1, 1, 0, 59), (1, 1, 0, 56), (-1, 0, -1, 64), (1, 0, -1, 45),
    (-1, 0, 1, 35), (1, 0, 1, 60), (0, -1, -1, 59), (0, 1, -1, 64),
    (0, -1, 1, 53), (0, 1, 1, 65), (0, 0, 0, 65),
    (0, 0, 0, 59), (0, 0, 0, 62),
]  # fmt: skip


def test_box_behnken_viscosity():
    """
    Myers & Montgomery, Response Surface Methodology, 2nd ed. 2002, example 7.5: the printed
    analysis of variance.
    """
    table = np.array(BBD, dtype=float)
    columns = dict(zip("ABC", table.T[:3], strict=True))
    terms = quadratic_terms("ABC")
    fit = fit_linear(model_matrix(columns, terms), table[:, 3])
    assert fit.total == pytest.approx(933.73, abs=0.005)
    assert fit.residual_squares == pytest.approx(51.25, abs=0.005)
    assert fit.sigma**2 == pytest.approx(10.25, abs=0.005)
    assert fit.f == pytest.approx(9.57, abs=0.005)
    assert fit.f_p == pytest.approx(0.0114, abs=5e-5)
    printed = {
        ("A",): 8.00, ("B",): 55.12, ("C",): 45.13, ("A", "A"): 200.83, ("B", "B"): 12.98, ("C", "C"): 48.52,
        ("A", "B"): 16.00, ("A", "C"): 484.00, ("B", "C"): 12.25,
    }  # fmt: skip
    for term, squares in printed.items():
        i = terms.index(term)
        # 55.125 is printed as 55.12 and 45.125 as 45.13: half a digit and its rounding
        assert fit.t[i] ** 2 * fit.sigma**2 == pytest.approx(squares, abs=0.0051), term
    found = lack_of_fit(fit, table[:, :3], table[:, 3])
    assert (found.squares, found.freedom) == (pytest.approx(33.25), 3)
    assert (found.pure_squares, found.pure_freedom) == (pytest.approx(18.0), 2)
    assert found.f == pytest.approx(1.2314815, rel=1e-6)
    assert found.p == pytest.approx(0.4774274, rel=1e-6)


CCD = [
    (1, -1, -1, 80.5), (1, -1, 1, 81.5), (1, 1, -1, 82.0), (1, 1, 1, 83.5), (1, 0, 0, 83.9), (1, 0, 0, 84.3),
    (1, 0, 0, 84.0), (2, 0, 0, 79.7), (2, 0, 0, 79.8), (2, 0, 0, 79.5),
    (2, 1.414, 0, 78.4), (2, -1.414, 0, 75.6),
    (2, 0, 1.414, 78.5), (2, 0, -1.414, 77.0),
]  # fmt: skip


def test_central_composite_in_two_blocks():
    """
    Myers, Montgomery & Anderson-Cook 2009, table 7.6; answers printed by Lenth, J. Stat. Softw.
    32(7) 2009.
    """
    table = np.array(CCD)
    columns = {"a": table[:, 1], "b": table[:, 2], "block": (table[:, 0] == 2).astype(float)}
    terms = [(), ("block",), ("a",), ("b",), ("a", "b"), ("a", "a"), ("b", "b")]
    fit = fit_linear(model_matrix(columns, terms), table[:, 3])
    printed = [84.095427, -4.457530, 0.932541, 0.577712, 0.125000, -1.308555, -0.933442]
    assert fit.coefficients == pytest.approx(printed, abs=5e-7)
    assert fit.standard_errors[[2, 5]] == pytest.approx([0.057699, 0.060064], abs=5e-7)
    assert fit.r_squared == pytest.approx(0.9981, abs=5e-5)
    lack = lack_of_fit(fit, table[:, :3], table[:, 3])
    assert lack.f == pytest.approx(0.5307, abs=5e-5)
    assert lack.p == pytest.approx(0.6851, abs=5e-5)
    b = fit.coefficients
    found = stationary_point(b[2:4], np.array([[b[5], b[4] / 2], [b[4] / 2, b[6]]]))
    assert found.point == pytest.approx([0.3722954, 0.3343802], abs=5e-8)
    assert found.eigenvalues == pytest.approx([-1.3186949, -0.9233027], abs=5e-8)


REACTOR = (
    """61 53 63 61 53 56 54 61 69 61 94 93 66 60 95 98 56 63 70 65 59 55 67 65 44 45 78 77 49 42 81 82"""
)


def test_reactor_effects_and_lenth():
    """
    Box, Hunter & Hunter 1978, full 2^5 reactor: effects as printed (from memory), PSE 1.3125
    computed from them.
    """
    y = np.array(REACTOR.split(), dtype=float)
    levels = np.array([[1 if run >> bit & 1 else -1 for bit in range(5)] for run in range(32)], dtype=float)
    terms = factorial_terms("ABCDE", 5)
    matrix = model_matrix(dict(zip("ABCDE", levels.T, strict=True)), terms)
    effects = 2.0 * fit_linear(matrix, y).coefficients
    assert effects[0] / 2 == pytest.approx(65.5)
    for term, value in {
        ("B",): 19.5,
        ("B", "D"): 13.25,
        ("D", "E"): -11.0,
        ("D",): 10.75,
        ("E",): -6.25,
    }.items():
        assert effects[terms.index(term)] == pytest.approx(value)
    found = lenth(effects[1:])
    assert found.pse == pytest.approx(1.3125)
    assert found.margin == pytest.approx(2.911695, abs=5e-7)
    assert found.simultaneous == pytest.approx(5.536080, abs=5e-7)
    assert sequential_squares(matrix, y)[1:] == pytest.approx(8.0 * effects[1:] ** 2)


XY, Z = [61.2, 59.8, 60.5, 58.9, 62.1], [44.1, 49.5, 41.2, 46.8, 43.9]


def test_layer_adhesion_ratio():
    """
    Made-up strengths (CC0) with answers computed by closed form and root finding; digits as printed
    there.
    """
    found = strength_ratio(Z, XY)
    assert found.value == pytest.approx(0.7454545455, abs=5e-11)
    assert found.freedom == pytest.approx(4.6747857671, abs=5e-11)
    assert (found.low, found.high) == (
        pytest.approx(0.6820216043, abs=5e-11),
        pytest.approx(0.8097442319, abs=5e-11),
    )
    # limits agree to 11 digits; the printed g is off in its eighth, which is not ours to explain
    assert found.g == pytest.approx(5.7431618e-4, rel=5e-8)
    assert found.note == "builds not recorded, between-build scatter unknown"


CONTROL = """1.33 1.78 1.53 1.95 1.83 1.47 1.87 1.55 2.58 2.17 1.97 1.62 2.25 3.53 2.92 1.78 2.22 2.55 2.75"""
TREATED = """1.53 1.75 2.12 2.83 2.58 2.37 2.92 2.08 3.01 2.67 2.06 2.25 3.08 2.01 1.58"""


def test_enzyme_ratio():
    """
    Hauschke 1999, 15 treated over 19 controls (data as in a public package; answers by closed form
    and root finding).
    """
    treated, control = (np.array(text.split(), dtype=float) for text in (TREATED, CONTROL))
    assert (treated.size, control.size) == (15, 19)
    found = strength_ratio(treated, control, pooled=True)
    assert found.value == pytest.approx(1.1130054645, abs=5e-11)
    assert (found.low, found.high) == (
        pytest.approx(0.9348870551, abs=5e-11),
        pytest.approx(1.3246109893, abs=5e-11),
    )
    assert found.g == pytest.approx(0.0148205994, abs=5e-11)
    # printed digits are cut off, not rounded: a whole last digit
    assert strength_ratio(treated, control, 0.90, pooled=True).high == pytest.approx(1.2860148310, abs=1e-10)


def test_a_denominator_near_zero_has_no_bounded_interval():
    found = strength_ratio([5.0, 6.0, 7.0], [-1.0, 2.0, 0.5])
    assert not found.bounded
    assert found.g >= 1.0
    assert found.to_dict()["low"] is None


@pytest.mark.parametrize("bad", [[1.0], [], [1.0, np.nan]])
def test_too_few_or_bad_strengths_are_refused(bad):
    with pytest.raises(InputError, match="at least two finite"):
        strength_ratio(bad, XY)
