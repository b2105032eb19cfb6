"""
Plans against published plans and their published properties.

Sources beside each check; the CSV files name theirs in the header (tests/data/designs/SOURCE.txt). Levels are
whole numbers or given to 15 digits, so tolerances are rounding alone unless a sentence says otherwise.
"""

import csv
from pathlib import Path

import numpy as np
import pytest

from voidless.campaign.space import Space
from voidless.campaign.types import Factor
from voidless.design.aliases import resolution
from voidless.design.criteria import evaluate, variance_inflation
from voidless.design.factorial import fraction, full_levels, hadamard
from voidless.design.plan import PlanRequest, make_plan
from voidless.design.screening import screening_rows
from voidless.design.surface import box_behnken_rows, composite_rows
from voidless.design.terms import model_matrix, model_terms

DATA = Path(__file__).parents[1] / "data" / "designs"


def _read(name):
    lines = [
        line for line in (DATA / name).read_text(encoding="utf-8").splitlines() if not line.startswith("#")
    ]
    rows = list(csv.reader(lines))
    return rows[0], np.array(rows[1:], dtype=float)


def _as_set(rows):
    return sorted(map(tuple, np.round(rows, 9) + 0.0))


@pytest.mark.parametrize(
    ("count", "full", "published"),
    [
        (3, 2, 3), (4, 3, 4), (5, 4, 5), (5, 3, 3), (6, 5, 6), (6, 4, 4), (6, 3, 3), (7, 6, 7), (7, 5, 4),
        (7, 4, 4), (7, 3, 3), (8, 6, 5), (8, 5, 4), (8, 4, 4), (9, 7, 6), (9, 6, 4), (9, 5, 4), (9, 4, 3),
        (10, 7, 5), (10, 6, 4), (10, 5, 4), (10, 4, 3), (11, 7, 5), (11, 5, 4), (11, 4, 3), (12, 5, 4),
        (12, 4, 3), (12, 8, 6),
    ],
)  # fmt: skip
def test_resolution_of_fractions(count, full, published):
    """Box, Hunter & Hunter's table of fractional factorials, also NIST/SEMATECH e-Handbook table 5.3.3.4.7
    (resolutions from memory; computed here by another route than the table's generators)."""
    assert resolution(fraction(count, full)) == published


def test_sixteen_runs_of_seven_factors_are_the_published_ones():
    """2^(7-3) of Montgomery's injection-moulding example: E = ABC, F = BCD, G = ACD."""
    _, rows = _read("fracfact_2_7_3_injection_Montgomery.csv")
    corners = rows[np.all(rows[:, :7] != 0, axis=1), :7]
    assert _as_set(fraction(7, 4)) == _as_set(corners)


def test_twelve_runs_of_seven_factors_are_the_published_ones():
    """Plackett & Burman's 12 as Hunter, Hodi & Eager (1982) used it: the same cycle, run through in the
    other direction, so rows agree up to the order of columns; compared by all inner products."""
    _, rows = _read("pb12_castfatigue_Hunter1982.csv")
    published, ours = rows[:, :7], hadamard(12)[:, :7]
    assert sorted((published @ published.T).ravel()) == sorted((ours @ ours.T).ravel())


def test_central_composite_of_three_factors_is_the_published_one():
    """Rotatable, axial distance 8^(1/4) = 1.6818 (Lawson 2015, chapter 10, cement workability)."""
    _, rows = _read("ccd_cement_Lawson.csv")
    published = rows[np.any(rows[:, 1:4] != 0, axis=1), 1:4]
    assert _as_set(composite_rows(3, 3, 8**0.25)) == _as_set(published)


def test_box_behnken_of_three_factors_is_the_published_one():
    """Lawson 2015, chapter 10, trebuchet; three centre runs."""
    _, rows = _read("bbd_trebuchet_Lawson.csv")
    assert _as_set(np.concatenate([box_behnken_rows(3), np.zeros((3, 3))])) == _as_set(rows[:, :3])


@pytest.mark.parametrize(("count", "runs"), [(3, 12), (4, 24), (5, 40), (6, 48), (7, 56)])
def test_box_behnken_run_numbers(count, runs):
    """Runs without centre points: Box & Behnken, Technometrics 2 (1960) (from memory)."""
    rows = box_behnken_rows(count)
    assert rows.shape == (runs, count)
    assert len(np.unique(rows, axis=0)) == runs


def _gram(rows):
    squares = rows**2
    return rows.T @ rows, np.corrcoef(squares.T)[np.triu_indices(rows.shape[1], 1)]


@pytest.mark.parametrize("source", ["published", "ours"])
def test_definitive_screening_of_six_factors(source):
    """13 runs, 6 factors: the variances and correlations stated with the published plan (Jones & Nachtsheim
    2011); printed to at most five digits, compared to half the last."""
    published = _read("dsd6_13run_conference.csv")[1]
    rows = published if source == "published" else np.concatenate([screening_rows(6), np.zeros((1, 6))])
    names = "abcdef"
    gram, squares = _gram(rows)
    np.testing.assert_allclose(gram, 10 * np.eye(6), atol=1e-12)
    np.testing.assert_allclose(squares, 0.13333, atol=5e-6)
    for terms, intercept, square in (
        (("1", *names), 1 / 13, None),
        (("1", *names, *(f"{name}^2" for name in names)), 1.0, 0.46),
    ):
        matrix = model_matrix(rows, names, terms)
        variance = np.diag(np.linalg.inv(matrix.T @ matrix))
        assert variance[0] == pytest.approx(intercept, rel=1e-9)
        np.testing.assert_allclose(variance[1:7], 0.1, rtol=1e-9)
        if square:
            np.testing.assert_allclose(variance[7:], square, atol=0.005)
    pairs = model_matrix(rows, names, [term for term in model_terms(names, "interactions") if ":" in term])
    alike = np.abs(np.corrcoef(pairs.T))[np.triu_indices(15, 1)]
    assert set(np.round(alike, 9).ravel()) == {0.25, 0.5}
    cross = np.abs(np.corrcoef(np.concatenate([pairs, rows**2], axis=1).T)[:15, 15:])
    assert set(np.round(cross, 4).ravel()) == {0.0, 0.4655}


def test_axial_distance_that_makes_a_plan_orthogonal():
    """Orthogonal squares need alpha² = (sqrt(F (F + T)) - F) / 2, F factorial and T further rows; for k = 2
    one centre run makes alpha 1.000, for 4 it makes 1.414, for 5 in half the corners 1.547 (from memory)."""
    for count, full, printed in ((2, 2, 1.0), (4, 4, 1.414), (5, 4, 1.547)):
        few, more = 2**full, 2 * count + 1
        alpha = ((few * (few + more)) ** 0.5 / 2 - few / 2) ** 0.5
        assert alpha == pytest.approx(printed, abs=5e-4)
        rows = np.concatenate([composite_rows(count, full, alpha), np.zeros((1, count))])
        np.testing.assert_allclose(variance_inflation(rows**2), 1.0, rtol=1e-9)


def _optimal(runs, model="quadratic", count=2):
    space = Space(
        tuple(Factor(name, 0.0, 20.0) for name in ("bed_c", "overlap_pct", "chamber_c", "fan_pct")[:count])
    )
    request = PlanRequest(
        space,
        lambda x: np.ones(len(x), dtype=bool),
        np.full(count, 10.0),
        "d-optimal",
        runs=runs,
        model=model,
    )
    made = make_plan(request, np.random.default_rng(1))
    return 2 * space.to_unit(made.builds) - 1, made


def test_nine_runs_of_two_factors_are_the_three_by_three_grid():
    """Box & Draper, "Factorial designs, the |X'X| criterion, and some related matters", Technometrics 13
    (1971) 731-742: the D-optimal nine runs for the quadratic on the square are the 3² plan (from memory)."""
    coded, _ = _optimal(9)
    assert _as_set(coded) == _as_set(full_levels(2, 3))


def test_six_runs_of_two_factors_reach_the_published_determinant():
    """
    Box & Draper (1971, from memory): with d = (4 - sqrt 13) / 3 the D-optimal six runs are (-1, -1), (1, -1),
    (-1, 1), (-d, -d), (1, 3 d), (3 d, 1).

    Our levels are a twentieth of the range apart and miss d = 0.1315 by up to 0.05; 0.2 % of D is what
    rounding the published plan to such levels costs, computed below, and ours may not be worse than that.
    """
    d = (4 - 13**0.5) / 3
    published = np.array([[-1, -1], [1, -1], [-1, 1], [-d, -d], [1, 3 * d], [3 * d, 1]])
    terms = model_terms("ab", "quadratic")
    best = evaluate(published, "ab", terms)["d_efficiency"]
    rounded = evaluate(np.round(published, 1), "ab", terms)["d_efficiency"]
    assert rounded < best
    coded, _ = _optimal(6)
    ours = evaluate(coded, "ab", terms)["d_efficiency"]
    assert rounded * (1 - 1e-9) <= ours <= best * (1 + 1e-9)


@pytest.mark.parametrize(("count", "runs"), [(2, 4), (3, 4), (3, 8), (4, 8)])
def test_optimal_plans_for_main_effects_are_orthogonal(count, runs):
    """Hadamard's bound |X'X| <= n^p is reached by two-level orthogonal plans (Plackett & Burman 1946)."""
    coded, made = _optimal(runs, "linear", count)
    assert made.criteria["d_efficiency"] == pytest.approx(1.0, abs=1e-9)
    assert set(np.unique(coded)) == {-1.0, 1.0}
