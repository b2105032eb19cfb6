"""Effects, drift and confounding against invented truths that are known."""

import json
from dataclasses import replace
from importlib import util
from pathlib import Path

import numpy as np
import pytest

from voidless.campaign.types import Observation, ResponseKey
from voidless.errors import InputError
from voidless.infer.classical import Classical, ClassicalRow
from voidless.infer.confounding import find_confounding, session_share
from voidless.infer.effects import effects
from voidless.infer.linear import estimable, fit_linear, lenth
from voidless.infer.mixed import fit_mixed
from voidless.infer.model import TrainingData, fit_model
from voidless.infer.search import even_points
from voidless.infer.shares import central_interval, variance_shares
from voidless.infer.terms import factorial_terms, model_matrix, quadratic_terms

_SPEC = util.spec_from_file_location("invented_lab", Path(__file__).with_name("invented.py"))
lab = util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(lab)


def learned(at, seed=0, **extra):
    rng = np.random.default_rng(seed)
    builds, observations = lab.campaign(at, rng, **extra)
    data = TrainingData(lab.SPACE, builds, observations)
    return effects(fit_model(data, rng), data, rng)


def even(count, seed=0):
    return lab.SPACE.from_unit(even_points(count, 3, np.random.default_rng(seed)))


def test_main_effects_and_shares_are_the_truths():
    """
    Strength in plane is 45 + 5 flow - 3 speed: shares 25/34 and 9/34, changes +5 and -3.

    30 builds with a scatter of 0.55 give each change a standard error of 0.35: tolerance three of them.
    """
    found = learned(even(30)).shares["strength_xy_mpa"]
    value, low, high = found.slopes["flow_pct"]
    assert low < 5.0 < high
    assert value == pytest.approx(5.0, abs=1.05)
    assert found.slopes["speed_mm_s"][0] == pytest.approx(-3.0, abs=1.05)
    assert found.main["flow_pct"][0] == pytest.approx(25 / 34, abs=0.2)
    assert found.main["speed_mm_s"][0] == pytest.approx(9 / 34, abs=0.2)
    assert found.main["nozzle_c"][0] < 0.05


def test_an_interaction_is_seen():
    rng = np.random.default_rng(0)
    at = even(30)
    builds, _ = lab.campaign(at, rng)
    u = 2.0 * lab.SPACE.to_unit(at) - 1.0
    values = u[:, 0] + u[:, 0] * u[:, 1] + 0.05 * rng.standard_normal(30)
    observations = [
        Observation(b.run, b.label, "", ResponseKey("yellowness"), float(v))
        for b, v in zip(builds, values, strict=True)
    ]
    data = TrainingData(lab.SPACE, builds, observations)
    found = variance_shares(fit_model(data, rng), rng)["yellowness"]
    # x has variance 1/3, x·y 1/9: shares 3/4 and 1/4
    assert found.main["flow_pct"][0] == pytest.approx(0.75, abs=0.1)
    assert found.pairs["flow_pct", "nozzle_c"][0] == pytest.approx(0.25, abs=0.1)


def test_drift_with_exposure_is_found_and_said():
    hours = np.random.default_rng(1).permutation(np.linspace(0.0, 48.0, 24))
    found = learned(even(24), exposure=hours, drift=-0.2)
    row = next(r for r in found.classical["strength_xy_mpa"].drift if r.term == "exposure_h")
    assert row.low < -0.2 < row.high
    assert row.p < 0.01
    assert any("strength_xy_mpa drifts with exposure" in text for text in found.statements)


def test_a_factor_confounded_with_session_claims_nothing():
    """Hot in one session, cold in the other."""
    at = even(16)
    at[:8, 1], at[8:, 1] = 215.0, 255.0
    found = learned(at, sessions=[1] * 8 + [2] * 8)
    assert any("nozzle_c is confounded with the session" in text for text in found.statements)
    row = next(r for r in found.classical["clarity"].rows if r.term == "nozzle_c")
    assert row.status == "confounded"
    assert row.value is None
    assert not any("nozzle_c explains" in text for text in found.statements)


@pytest.mark.parametrize("apart", [0.0, 6.0])
def test_sessions_that_differ_more_than_builds_are_said(apart):
    """Three days, the second 6 MPa below the first and the third: builds of one day alone would hide it."""
    at, days, rng = even(24), [1 + row % 3 for row in range(24)], np.random.default_rng(0)
    builds, observations = lab.campaign(at, rng, sessions=days)
    second = {item.label for item in builds if item.session == 2}
    lower = [
        replace(item, value=item.value - apart)
        if item.build in second and item.key.quantity == "strength_xy_mpa"
        else item
        for item in observations
    ]
    data = TrainingData(lab.SPACE, builds, lower)
    said = [text for text in effects(fit_model(data, rng), data, rng).statements if "sessions differ" in text]
    assert ("strength_xy_mpa" in [text.partition(":")[0] for text in said]) == bool(apart)
    assert not any(text.startswith("clarity") for text in said)
    assert all("from 3 of them" in text for text in said)


def test_exposure_that_goes_along_with_a_factor_is_said():
    at = even(12)
    at[:, 0] = np.linspace(90.0, 110.0, 12)
    found = learned(at, exposure=np.linspace(0.0, 30.0, 12))
    assert any(item.factor == "flow_pct" and item.other == "exposure_h" for item in found.confounded)


def test_randomised_sessions_are_not_called_confounded():
    assert learned(even(24), sessions=np.repeat(np.arange(4), 6)).confounded == ()
    rng = np.random.default_rng(0)
    shares = [session_share(rng.random(12), np.repeat(np.arange(6), 2)) for _ in range(300)]
    assert np.mean(np.array(shares) > 0.8) < 0.05


def test_two_factors_that_move_together_are_said():
    a = np.linspace(0.0, 1.0, 8)
    found = find_confounding({"a": a, "b": 2.0 * a, "c": np.full(8, 1.0)}, {}, np.zeros(8, dtype=int))
    assert [(item.factor, item.other, item.share) for item in found] == [("a", "b", 1.0)]


def test_too_few_builds_say_so():
    found = learned(even(4)).classical["clarity"]
    assert found.model == "none"
    assert found.note.startswith("4 builds are too few for 3 factors.")


def test_too_few_builds_tell_no_scatter_between_builds_and_claim_no_effect_of_their_own():
    few, more, one = (learned(even(count)).statements for count in (4, 30, 2))
    assert not [words for words in one if "explains" in words or "interact" in words]
    assert not [words for words in few if "builds of the same settings differ" in words]
    assert all("mostly foretold" in words for words in few if "explains" in words or "interact" in words)
    assert [words for words in more if "builds of the same settings differ" in words]
    assert not [words for words in more if "mostly foretold" in words]


def test_effects_are_plain_data():
    assert json.loads(json.dumps(learned(even(10)).to_dict()))["responses"]["clarity"]["classical"]["model"]


def test_models_have_the_right_number_of_terms():
    assert len(quadratic_terms("abcdef")) == 28
    assert len(factorial_terms("abcde", 3)) == 26
    columns = {"a": np.array([2.0]), "b": np.array([3.0])}
    assert model_matrix(columns, [(), ("a",), ("a", "b"), ("b", "b")]).tolist() == [[1.0, 2.0, 6.0, 9.0]]


def test_columns_that_repeat_others_are_not_estimable():
    a = np.array([1.0, -1.0, 1.0, -1.0])
    matrix = np.column_stack([np.ones(4), a, np.array([1.0, 1.0, -1.0, -1.0]), 1.0 - a])
    assert estimable(matrix).tolist() == [True, True, True, False]
    with pytest.raises(InputError, match="cannot all be told apart"):
        fit_linear(matrix, a)
    with pytest.raises(InputError, match="cannot all be told apart"):
        fit_mixed(matrix, a, {})


def test_mixed_model_without_groups_is_least_squares():
    rng = np.random.default_rng(0)
    matrix = np.column_stack([np.ones(12), rng.standard_normal((12, 2))])
    y = rng.standard_normal(12)
    plain, mixed = fit_linear(matrix, y), fit_mixed(matrix, y, {})
    assert mixed.coefficients == pytest.approx(plain.coefficients)
    assert mixed.standard_errors == pytest.approx(plain.standard_errors, rel=1e-5)
    assert mixed.freedom == pytest.approx(np.full(3, 9.0), rel=1e-3)
    assert mixed.p == pytest.approx(plain.p, rel=1e-3)


def test_a_between_variance_below_zero_ends_at_zero():
    """Group means closer than chance: the analysis-of-variance estimate is negative."""
    y = np.array([1.0, -1.0, 2.0, -2.0, 1.5, -1.5])
    assert fit_mixed(np.ones((6, 1)), y, {"build": np.repeat(np.arange(3), 2)}).components["build"] == 0.0


@pytest.mark.slow
def test_intervals_of_mixed_effects_cover():
    """
    400 simulations, 8 builds x 3 specimens: 95 % intervals cover 92.8 to 97.2 % (two Monte-Carlo
    errors of 1.1 %).
    """
    rng = np.random.default_rng(0)
    group = np.repeat(np.arange(8), 3)
    x = np.repeat(np.tile([-1.0, 1.0], 4), 3)
    matrix = np.column_stack([np.ones(24), x])
    held = 0
    for _ in range(400):
        y = 2.0 + 0.7 * x + rng.standard_normal(8)[group] + 0.5 * rng.standard_normal(24)
        low, high = fit_mixed(matrix, y, {"build": group}).interval()
        held += low[1] < 0.7 < high[1]
    assert 0.928 <= held / 400 <= 0.972


def test_lenth_of_nothing_is_nothing():
    assert lenth([0.0, 0.0, 0.0]).margin == 0.0


def test_a_term_stands_only_among_all_terms():
    """Two of three probabilities are below 0.05; by Holm only the smallest stands."""

    def row(term, p):
        return ClassicalRow(term, 1.0, 0.0, 2.0, 2.0, 8.0, p, "estimated")

    rows = (row("a", 0.03), row("a × b", 0.001), row("b²", 0.04), row("c", None))
    found = Classical("main effects and interactions", rows, (), {}, "")
    assert found.stands("b", "a") is True
    assert found.stands("a") is False
    assert found.stands("b") is False
    assert found.stands("c") is None


def test_noise_is_not_said_to_be_confirmed():
    """Six campaigns of pure noise: a sentence on shares hardly ever goes without the classical model's doubt."""
    sure = 0
    for seed in range(6):
        rng = np.random.default_rng(seed)
        builds, _ = lab.campaign(even(12, seed), rng)
        key = ResponseKey("yellowness")
        noise = [Observation(b.run, b.label, "", key, float(rng.standard_normal())) for b in builds]
        data = TrainingData(lab.SPACE, builds, noise)
        found = effects(fit_model(data, rng), data, rng)
        told = [text for text in found.statements if " explains " in text or " interact " in text]
        sure += any("does not confirm" not in text for text in told)
    assert sure <= 1


def test_one_more_draw_falls_into_the_interval_as_often_as_said():
    """39 draws: expected (k/(n + 1)) exactly 95 %; places k/(n - 1) would hold 90 %."""
    draws = np.random.default_rng(5).normal(size=(4000, 40))
    held = [low <= row[-1] <= high for row in draws for _, low, high in [central_interval(row[:-1])]]
    assert np.mean(held) == pytest.approx(0.95, abs=0.011)  # three errors of 4,000 yes and no


def _noise_at(unit):
    points = lab.SPACE.from_unit(unit)
    rng = np.random.default_rng(4)
    builds, _ = lab.campaign(points, rng)
    said = [
        Observation(
            item.run, item.label, f"S{part}", ResponseKey("strength_xy_mpa"), float(30.0 + rng.normal())
        )
        for item in builds
        for part in (0, 1)
    ]
    data = TrainingData(lab.SPACE, builds, said)
    return effects(fit_model(data, rng), data, rng)


def test_builds_that_crowd_are_not_asked_for_interactions():
    """
    Builds chosen by `next` huddle near the recipe; interactions there made effects of noise of ±400 of 30.

    The same number of builds over the whole box carries squares and interactions.
    """
    rng = np.random.default_rng(3)
    huddle = np.vstack([rng.uniform(size=(3, 3)), 0.9 + 0.03 * rng.uniform(-1, 1, (21, 3))])
    found = _noise_at(huddle)
    crowded = found.classical["strength_xy_mpa"]
    assert "strength_xy_mpa: no effect of a setting is told from chance." in found.statements
    assert crowded.model == "main effects"
    assert "too close together" in crowded.note
    assert all(abs(row.value) < 30.0 for row in crowded.rows)
    spread = _noise_at(even_points(24, 3, rng)).classical["strength_xy_mpa"]
    assert (spread.model, spread.note) == ("main effects, interactions and squares", "")
