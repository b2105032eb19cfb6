"""
Regression, analysis of variance, effects and Weibull fits of published data, to half the last printed digit.

Sources: NIST Statistical Reference Datasets (certified values) and the NIST/SEMATECH e-Handbook; Davies & Goldsmith
(1972); Box, Hunter & Hunter (2005) and Lenth, J. Stat. Softw. 32(7) (2009); John (1971); Box & Meyer (1986, 1993);
Hunter, Hodi & Eager (1982); Lawson (2015); Montgomery (from memory); Lieblein & Zelen (1956, from memory). Each file
of tests/data/statistics and tests/data/designs names its own in the header, with what was printed and what was
computed apart from this program.
"""

import csv
from math import gamma
from pathlib import Path

import numpy as np
import pytest

from voidless.infer.classical import ClassicalRow, drift_sentences
from voidless.infer.linear import extra_squares, fit_linear, lack_of_fit, lenth, stationary_point
from voidless.infer.mixed import fit_mixed
from voidless.infer.terms import model_matrix, quadratic_terms
from voidless.proof.between import build_scatter
from voidless.proof.equivalence import Sample, equivalence
from voidless.proof.tolerance import one_sided_factor, two_sided_factor
from voidless.proof.weibull import fit_weibull

DATA = Path(__file__).parents[1] / "data"


def table(folder, name):
    """Return the columns of a file as lists of text."""
    text = (DATA / folder / f"{name}.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))
    return {key: [row[key] for row in rows] for key in rows[0]}


def numbers(folder, name):
    return {key: np.array(column, dtype=float) for key, column in table(folder, name).items()}


def groups(name, by, of):
    columns = table("statistics", name)
    return [
        [float(v) for v, g in zip(columns[of], columns[by], strict=True) if g == wanted]
        for wanted in dict.fromkeys(columns[by])
    ]


# ---- NIST Statistical Reference Datasets ----


def test_norris():
    d = numbers("statistics", "nist_strd_Norris")
    fit = fit_linear(np.column_stack([np.ones(36), d["x"]]), d["y"])
    assert fit.coefficients == pytest.approx([-0.262323073774029, 1.00211681802045], rel=1e-10)
    assert fit.standard_errors == pytest.approx([0.232818234301152, 4.29796848199937e-4], rel=1e-10)
    assert fit.sigma == pytest.approx(0.884796396144373, rel=1e-10)
    assert fit.r_squared == pytest.approx(0.999993745883712, rel=1e-12)
    assert fit.f == pytest.approx(5436385.54079785, rel=1e-8)


def test_longley():
    """Columns nearly dependent: seven digits hold."""
    d = numbers("statistics", "nist_strd_Longley")
    names = ["GNPDEFL", "GNP", "UNEMP", "ARMED", "POP", "YEAR"]
    fit = fit_linear(np.column_stack([np.ones(16), *(d[n] for n in names)]), d["TOTEMP"])
    certified = [
        -3482258.63459582, 15.0618722713733, -0.0358191792925910, -2.02022980381683, -1.03322686717359,
        -0.0511041056535807, 1829.15146461355,
    ]  # fmt: skip
    assert fit.coefficients == pytest.approx(certified, rel=1e-7)
    assert fit.standard_errors[[0, 6]] == pytest.approx([890420.383607373, 455.478499142212], rel=1e-7)
    assert fit.sigma == pytest.approx(304.854073561965, rel=1e-9)
    assert fit.r_squared == pytest.approx(0.995479004577296, rel=1e-12)
    assert fit.f == pytest.approx(330.285339234588, rel=1e-9)


def test_a_line_through_the_origin():
    """NoInt1: y 130 to 140 over x 60 to 70 (from memory); R² is of the raw sum of squares."""
    x, y = np.arange(60.0, 71.0), np.arange(130.0, 141.0)
    fit = fit_linear(x[:, None], y)
    assert fit.coefficients == pytest.approx([2.07438016528926], rel=1e-12)
    assert fit.standard_errors == pytest.approx([0.0165289256198347], rel=1e-12)
    assert fit.sigma == pytest.approx(3.56753034006338, rel=1e-12)
    assert fit.r_squared == pytest.approx(0.999365492298663, rel=1e-12)
    assert fit.f == pytest.approx(15750.25, rel=1e-12)


def test_a_polynomial_of_the_fifth_degree():
    """Wampler1: all coefficients 1 and no residual; powers up to 20⁵ cost seven digits of sixteen."""
    x = np.arange(21.0)
    powers = x[:, None] ** np.arange(6)
    fit = fit_linear(powers, powers.sum(axis=1))
    assert fit.coefficients == pytest.approx(np.ones(6), rel=1e-7)
    assert fit.sigma < 1e-6


@pytest.mark.parametrize(
    ("name", "by", "of", "between", "within", "f", "digits"),
    [
        ("nist_strd_SiRstv", "instrument", "resistance", 1.27865654e-2, 1.0831828e-2, 1.18046237440255, 1e-9),
        (
            "nist_strd_AtmWtAg",
            "instrument",
            "agwt",
            3.638341875e-9,
            2.28155932971014e-10,
            15.946733567793,
            1e-8,
        ),
        # 13 leading digits do not change: binary numbers hold four digits of what is left
        ("nist_strd_SmLs07", "treatment", "response", 0.21, 0.01, 21.0, 1e-4),
        ("nist_prc433_anova", "level", "resistance", 27.897333 / 2, 17.452 / 12, 9.591107036, 2e-8),
    ],
)
def test_scatter_between_and_within(name, by, of, between, within, f, digits):
    """Mean squares and F; e-Handbook 7.4.3.3 prints F 9.59 (from memory)."""
    found = build_scatter(groups(name, by, of))
    assert found.mean_square_between == pytest.approx(between, rel=max(digits, 1e-8))
    assert found.mean_square_within == pytest.approx(within, rel=max(digits, 1e-8))
    assert found.mean_square_between / found.mean_square_within == pytest.approx(f, rel=digits)


def test_three_levels_by_regression():
    """E-Handbook 7.4.3.3: F 9.591107036, p 0.003248222601, by a fit with one column a level."""
    d = numbers("statistics", "nist_prc433_anova")
    fit = fit_linear((d["level"][:, None] == [1, 2, 3]).astype(float), d["resistance"])
    one = fit_linear(np.ones((15, 1)), d["resistance"])
    assert extra_squares(one, fit).f == pytest.approx(9.591107036, abs=5e-10)
    assert extra_squares(one, fit).p == pytest.approx(0.003248222601, abs=5e-13)
    assert fit.coefficients[1] - fit.coefficients[0] == pytest.approx(2.38, abs=1e-12)


def test_welch():
    """E-Handbook 1.3.5.3 (AUTO83B): 249 and 79 cars, df 136.875, -11.915 to -8.758; from summaries of six digits."""
    found = equivalence(Sample(20.14458, 6.41470, 249), Sample(30.48101, 6.10771, 79), 1.0, alpha=0.025)
    assert found.freedom == pytest.approx(136.874976673, abs=1e-3)
    assert (found.low, found.high) == (
        pytest.approx(-11.915248, abs=2e-5),
        pytest.approx(-8.757621, abs=2e-5),
    )
    assert (found.low + found.high) / 2 == pytest.approx(20.14458 - 30.48101, abs=1e-9)
    assert not found.shown


# ---- components, covariates, many tests ----


def test_pastes():
    """Davies & Goldsmith, 10 batches of 3 casks of 2 tests: 1.657309, 8.433667 and 0.678000 (nested, balanced)."""
    d = table("statistics", "mixed_pastes_Davies1972")
    y = np.array(d["strength"], dtype=float)
    batch, cask = (np.unique(d[key], return_inverse=True)[1] for key in ("batch", "sample"))
    found = fit_mixed(np.ones((60, 1)), y, {"batch": batch, "cask": cask})
    parts = [found.components[name] for name in ("batch", "cask", "residual")]
    # reached by a search: 1e-4, as tests of public packages allow
    assert parts == pytest.approx([1.657309, 8.433667, 0.678000], rel=1e-4)
    assert found.coefficients == pytest.approx([60.053333], abs=5e-7)


def test_dyestuff_by_mean_squares():
    """MS 11271.5 and 2451.25, F 4.598266; residual SD 49.5101."""
    text = """1545 1440 1440 1520 1580 1540 1555 1490 1560 1495 1595 1550 1605 1510 1560
    1445 1440 1595 1465 1545 1595 1630 1515 1635 1625 1520 1455 1450 1480 1445"""
    found = build_scatter(np.array(text.split(), dtype=float).reshape(6, 5).tolist())
    assert found.mean_square_between / found.mean_square_within == pytest.approx(4.598266, abs=5e-7)
    assert found.within == pytest.approx(49.5101, abs=5e-5)
    assert found.mean == pytest.approx(1527.5)


def test_builds_alike_within_their_scatter_have_none_between():
    """Mean square between below that within: the estimate would fall below 0; it is none."""
    found = build_scatter([[1.0, 9.0], [2.0, 8.5], [0.5, 9.5]])
    assert found.mean_square_between < found.mean_square_within
    assert found.between == 0.0


def test_machines_compared_at_one_diameter():
    """Fibre strengths, diameter as covariate: SS 13.283851, F 2.610643, p 0.118084, slope 0.953988 (from memory)."""
    d = numbers("statistics", "ancova_fibre_Montgomery")
    own = (d["machine"][:, None] == [1, 2, 3]).astype(float)
    full = fit_linear(np.column_stack([own, d["diameter"]]), d["strength"])
    small = fit_linear(np.column_stack([np.ones(15), d["diameter"]]), d["strength"])
    found = extra_squares(small, full)
    assert found.squares == pytest.approx(13.283851, abs=5e-7)
    assert (found.f, found.p) == (pytest.approx(2.610643, abs=5e-7), pytest.approx(0.118084, abs=5e-7))
    assert full.coefficients[3] == pytest.approx(0.953988, abs=5e-7)
    means = full.coefficients[:3] + full.coefficients[3] * d["diameter"].mean()
    assert means == pytest.approx([40.382413, 41.419223, 38.798364], abs=5e-7)


def test_many_drifts_are_held_together():
    """Holm, p 0.01, 0.04, 0.03, 0.005: adjusted 0.03, 0.06, 0.06, 0.02; two of four are said."""
    rows = {
        name: [ClassicalRow("order", 1.0, 0.5, 1.5, 2.0, 10.0, p, "estimated")]
        for name, p in zip("abcd", (0.01, 0.04, 0.03, 0.005), strict=True)
    }
    said = drift_sentences(rows)
    assert [line.split()[0] for line in said] == ["d", "a"]
    assert "p 0.02 among 4" in said[0]
    assert "p 0.03 among 4" in said[1]


# ---- designed experiments ----


def surface(columns, names, response, block=None):
    terms = quadratic_terms(names)
    matrix = model_matrix({n: columns[n] for n in names}, terms)
    if block is not None:
        matrix = np.column_stack([matrix, columns[block] == 2])
    return terms, fit_linear(matrix, columns[response])


def canonical(terms, fit, names):
    b = dict(zip(terms, fit.coefficients, strict=False))
    square = np.array([[b[(p, p)] if p == q else b[tuple(sorted((p, q)))] / 2 for q in names] for p in names])
    return stationary_point(np.array([b[(n,)] for n in names]), square), b


def test_paper_helicopter():
    """Box, Hunter & Hunter (2005), table 12.5; answers printed by Lenth (2009): a saddle."""
    d, names = numbers("statistics", "ccd_helicopter_BHH2005"), ["x1", "x2", "x3", "x4"]
    terms, fit = surface(d, names, "ave", "block")
    found, b = canonical(terms, fit, names)
    printed = {
        (): 372.80, ("x1",): -0.083333, ("x2",): 5.083333, ("x3",): 0.25, ("x4",): -6.083333,
        ("x1", "x2"): -2.875, ("x1", "x3"): -3.75, ("x1", "x4"): 4.375, ("x2", "x3"): 4.625, ("x2", "x4"): -1.5,
        ("x3", "x4"): -2.125, ("x1", "x1"): -2.0375, ("x2", "x2"): -1.6625, ("x3", "x3"): -2.5375,
        ("x4", "x4"): -0.1625,
    }  # fmt: skip
    assert {term: b[term] for term in printed} == pytest.approx(printed, abs=5e-7)
    assert fit.coefficients[-1] == pytest.approx(-2.95, abs=5e-7)
    assert fit.r_squared == pytest.approx(0.9555, abs=5e-5)
    lack = lack_of_fit(fit, np.column_stack([d["block"], *(d[n] for n in names)]), d["ave"])
    assert (lack.f, lack.p) == (pytest.approx(4.6660, abs=5e-5), pytest.approx(0.0755, abs=5e-5))
    assert found.point == pytest.approx([0.8607107, -0.3307115, -0.8394866, -0.1161465], abs=5e-8)
    assert sorted(found.eigenvalues, reverse=True) == pytest.approx(
        [3.258222, -1.198324, -3.807935, -4.651963], abs=5e-7
    )


def test_a_minimum_outside_what_was_tried():
    """Odour (John 1971): T 84.8765, R 0.539915, H 7.541050, predicted -52.02463; H lies 1.77 half-ranges off."""
    d = numbers("statistics", "bbd_odor_John1971")
    terms, fit = surface(d, ["x1", "x2", "x3"], "Odor")
    found, _ = canonical(terms, fit, ["x1", "x2", "x3"])
    assert found.point == pytest.approx([0.121913, 0.199575, 1.770525], abs=5e-7)
    real = np.array([80.0, 0.5, 4.0]) + found.point * [40.0, 0.2, 2.0]
    assert real == pytest.approx([84.8765, 0.539915, 7.541050], abs=5e-5)
    at = model_matrix(dict(zip(["x1", "x2", "x3"], found.point[:, None], strict=True)), terms)
    assert at @ fit.coefficients == pytest.approx([-52.02463], abs=5e-6)
    assert sorted(found.eigenvalues) == pytest.approx([6.037732, 31.103461, 48.858807], abs=5e-7)
    assert fit.sigma == pytest.approx(22.478508, abs=5e-7)
    assert fit.r_squared == pytest.approx(0.8819895, abs=5e-8)


def test_a_rising_ridge():
    """Carbon monoxide, replicated 3² (Box, Hunter & Hunter 2005): eigenvalues -8.886833 and 0.186833."""
    d = numbers("statistics", "factorial3x3_CO_BHH2005")
    terms, fit = surface(d, ["x1", "x2"], "y")
    found, b = canonical(terms, fit, ["x1", "x2"])
    printed = {
        (): 78.633333, ("x1",): 4.391667, ("x2",): -6.858333, ("x1", "x2"): -9.0625, ("x1", "x1"): -4.575,
        ("x2", "x2"): -4.125,
    }  # fmt: skip
    assert {term: b[term] for term in printed} == pytest.approx(printed, abs=5e-7)
    assert fit.r_squared == pytest.approx(0.954484194, abs=5e-10)
    assert fit.residual_squares == pytest.approx(76.522083, abs=5e-7)
    assert sorted(found.eigenvalues) == pytest.approx([-8.886833, 0.186833], abs=5e-7)


def test_trebuchet_and_cement():
    """Lawson (2015): a Box-Behnken plan and a central composite in two blocks."""
    d = numbers("designs", "bbd_trebuchet_Lawson")
    terms, fit = surface(d, ["x1", "x2", "x3"], "y")
    printed = {
        (): 90.0, ("x1",): 19.75, ("x2",): 19.75, ("x3",): -11.5, ("x1", "x2"): -6.25, ("x1", "x3"): 4.75,
        ("x2", "x3"): 6.75, ("x1", "x1"): -9.375, ("x2", "x2"): -1.375, ("x3", "x3"): -3.375,
    }  # fmt: skip
    assert dict(zip(terms, fit.coefficients, strict=True)) == pytest.approx(printed, abs=1e-9)
    assert fit.residual_squares == pytest.approx(20.5, abs=1e-9)
    assert fit.r_squared == pytest.approx(0.9974690525, abs=5e-11)
    d = numbers("designs", "ccd_cement_Lawson")
    d["block"] = d["Block"]
    terms, fit = surface(d, ["x1", "x2", "x3"], "y", "block")
    b = dict(zip([*terms, "block"], fit.coefficients, strict=True))
    cement = {
        (): 116.27966, "block": 0.44393, ("x1",): 5.40683, ("x2",): 0.92860, ("x3",): 4.99248,
        ("x1", "x1"): 1.41349, ("x2", "x2"): 1.32510, ("x3", "x3"): 1.50188, ("x1", "x2"): 0.125,
    }  # fmt: skip
    assert {term: b[term] for term in cement} == pytest.approx(cement, abs=5e-6)
    assert fit.residual_squares == pytest.approx(45.8214667, abs=5e-8)
    assert fit.r_squared == pytest.approx(0.94726725, abs=5e-9)


def effects_of(columns, names, response, runs=slice(None)):
    y = columns[response][runs]
    matrix = np.column_stack([np.ones(len(y)), *(columns[n][runs] for n in names)])
    fit = fit_linear(matrix, y)
    return fit.coefficients[0], 2.0 * fit.coefficients[1:]


def test_twelve_runs_of_the_reactor():
    """Box & Meyer (1993): mean 66.083333; effects A 5.8333, B 21.1667, C -1.5, D 7.1667, E -10.5."""
    mean, effects = effects_of(numbers("statistics", "pb12_reactor_BoxMeyer1993"), list("ABCDE"), "y")
    assert mean == pytest.approx(66.083333, abs=5e-7)
    assert effects == pytest.approx([5.8333, 21.1667, -1.5, 7.1667, -10.5], abs=5e-5)


def test_castings_hide_an_interaction():
    """Hunter, Hodi & Eager (1982): F + FG explains 0.892530, F + D 0.586729; the literature has 0.458 F - 0.459 FG."""
    d = numbers("designs", "pb12_castfatigue_Hunter1982")
    mean, effects = effects_of(d, list("ABCDEFG"), "y")
    assert mean == pytest.approx(5.73025, abs=5e-6)
    assert effects == pytest.approx([0.3258, 0.2938, -0.2458, -0.5162, 0.1498, 0.9152, 0.1832], abs=6e-5)
    both = fit_linear(np.column_stack([np.ones(12), d["F"], d["F"] * d["G"]]), d["y"])
    assert both.coefficients[1:] == pytest.approx([0.457583, -0.458750], abs=5e-7)
    assert both.r_squared == pytest.approx(0.892530, abs=5e-7)
    plain = fit_linear(np.column_stack([np.ones(12), d["F"], d["D"]]), d["y"])
    assert plain.r_squared == pytest.approx(0.586729, abs=5e-7)


def test_weld_strength_of_sixteen_runs():
    """Box & Meyer (1986): mean 42.9625, effects 2.15 and 3.10 of fifteen; Lenth's PSE 0.225, margin 0.578."""
    names = [f"X{i}" for i in range(1, 16)]
    mean, effects = effects_of(numbers("statistics", "taguchi_oa16_weld_tensile"), names, "y2")
    assert mean == pytest.approx(42.9625, abs=5e-5)
    assert effects[13:] == pytest.approx([2.15, 3.10], abs=1e-9)
    assert np.abs(effects[:13]).max() < 0.4251
    found = lenth(effects)
    assert found.pse == pytest.approx(0.225, abs=1e-9)
    assert found.margin == pytest.approx(0.578, abs=5e-4)


def test_shrinkage_of_moulded_parts():
    """2^(7-3) and four centre runs: B 35.625, A 13.875, AB 11.875, AD -5.375, G -4.875; curvature SS 3.6125."""
    d = numbers("designs", "fracfact_2_7_3_injection_Montgomery")
    corners = d["A"] != 0
    d["AB"], d["AD"] = d["A"] * d["B"], d["A"] * d["D"]
    mean, effects = effects_of(d, ["A", "B", "AB", "AD", "G"], "shrinkage", corners)
    assert mean == pytest.approx(27.3125)
    assert effects == pytest.approx([13.875, 35.625, 11.875, -5.375, -4.875], abs=1e-9)
    y, kind = d["shrinkage"], np.column_stack([np.ones(20), corners])
    assert extra_squares(fit_linear(kind[:, :1], y), fit_linear(kind, y)).squares == pytest.approx(3.6125)
    assert y[~corners].var(ddof=1) == pytest.approx(4.916667, abs=5e-7)


# ---- tolerance and life ----

SIZES = (3, 4, 5, 6, 8, 10, 15, 20, 30, 50)


@pytest.mark.parametrize(
    ("content", "exact"),
    [
        (0.90, [6.1553, 4.1619, 3.4066, 3.0063, 2.5819, 2.3546, 2.0684, 1.9260, 1.7773, 1.6456]),
        (0.99, [10.5527, 7.0424, 5.7411, 5.0620, 4.3539, 3.9811, 3.5201, 3.2952, 3.0639, 2.8624]),
        (0.95, [7.6559, 5.1439, 4.2027, 3.7077, 3.1873, 2.9110, 2.5660, 2.3960, 2.2198, 2.0650]),
    ],
)
def test_one_sided_factors(content, exact):
    """Exact by the noncentral t distribution, computed apart; CMH-17 prints 0.90 and 0.99 within 0.0017."""
    assert [one_sided_factor(content, 0.95, n) for n in SIZES] == pytest.approx(exact, abs=5e-5)


def test_exact_factors_of_the_handbook_case():
    """N 43, share 0.90, confidence 0.99: 1.8739536 and 2.2228252 where the page's approximations are 1.8752, 2.2173."""
    assert one_sided_factor(0.90, 0.99, 43) == pytest.approx(1.8739536, abs=5e-8)
    assert two_sided_factor(0.90, 0.99, 43) == pytest.approx(2.2228252, abs=5e-7)


def test_life_with_survivors_to_every_digit():
    """
    E-Handbook 8.4.1.3, as three programs agree: 1.7207973, 606.52756, -75.134618; AIC, mean and deviation of the page.

    Errata of the page: the logarithm of likelihood lost its sign, and its formula of the deviation a minus.
    """
    text = (DATA / "proof" / "nist_apr413_weibull.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))
    times = {flag: [float(r["time"]) for r in rows if r["censored"] == flag] for flag in ("0", "1")}
    found = fit_weibull(times["0"], times["1"])
    assert found.shape == pytest.approx(1.7207973, abs=5e-8)
    assert found.scale == pytest.approx(606.52756, abs=5e-6)
    assert found.log_likelihood == pytest.approx(-75.134618, abs=5e-7)
    assert 4.0 - 2.0 * found.log_likelihood == pytest.approx(154.27, abs=5e-3)
    first, second = (gamma(1.0 + k / found.shape) for k in (1.0, 2.0))
    assert found.scale * first == pytest.approx(540.737, abs=5e-3)  # of the page's own rounded scale
    assert found.scale * (second - first**2) ** 0.5 == pytest.approx(323.806, abs=5e-3)


def test_ball_bearings():
    """Lieblein & Zelen (1956, from memory): 2.102 and 81.88 in the literature."""
    lives = numbers("statistics", "weibull_ballbearing_LiebleinZelen1956")["mrev"]
    found = fit_weibull(lives.tolist())
    assert found.shape == pytest.approx(2.1020589, abs=5e-8)
    assert found.scale == pytest.approx(81.878334, abs=5e-7)
    assert found.log_likelihood == pytest.approx(-113.691291, abs=5e-7)
    assert found.quantile(-np.expm1(-1.0)) == pytest.approx(found.scale, rel=1e-12)


@pytest.mark.parametrize(("size", "printed"), [(5, 1.45), (20, 1.084)])
def test_small_samples_read_too_high_a_modulus(size, printed):
    """Mean of the modulus over the truth by 8000 draws; ours are 1500, hence four standard errors."""
    rng = np.random.default_rng(size)
    shapes = [fit_weibull(rng.weibull(8.0, size).tolist()).shape / 8.0 for _ in range(1500)]
    assert np.mean(shapes) == pytest.approx(printed, abs=4 * np.std(shapes) / 1500**0.5)
