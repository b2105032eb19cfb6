"""What responses tell of the settings that builds really had, and how surfaces slope and bend within their scatter."""

from dataclasses import replace
from importlib import util
from pathlib import Path

import numpy as np
import pytest

from voidless.campaign.types import Probability
from voidless.infer.bend import bend, steps_of
from voidless.infer.model import TrainingData, fit_model
from voidless.infer.realised import Witness, realised

_SPEC = util.spec_from_file_location("invented_lab", Path(__file__).with_name("invented.py"))
lab = util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(lab)

SD = {"flow_pct": 1.5, "nozzle_c": 4.0}


def test_one_witness_of_one_setting():
    """Slope a, variance v, residual r: mean a r / (a² + v), variance v / (a² + v) (normal algebra)."""
    said = Witness(np.array([1]), np.array([0.9]), np.array([0.25]), np.array([[2.0]]))
    found = realised(2, 1, [said])
    np.testing.assert_allclose(found.mean[:, 0], [0.0, 2.0 * 0.9 / 4.25])
    np.testing.assert_allclose(found.covariance[:, 0, 0], [1.0, 0.25 / 4.25])


def test_two_witnesses_tell_two_settings_apart():
    """Two responses without noise and two settings: the two equations solved."""
    slopes = np.array([[1.0, 0.5], [-0.3, 2.0]])
    moved = np.array([0.7, -1.2])
    said = [Witness(np.array([0]), row @ moved[:, None], np.array([1e-9]), row[None, :]) for row in slopes]
    found = realised(1, 2, said)
    np.testing.assert_allclose(found.mean[0], moved, atol=1e-6)


def test_a_parabola_bends_exactly():
    points = np.array([[0.2, 0.4], [0.6, 0.1]])
    slope, curvature = bend(lambda at: 3.0 * at[:, 0] ** 2 - at[:, 0] * at[:, 1], points, {0: 0.07})
    np.testing.assert_allclose(slope[0], 6.0 * points[:, 0] - points[:, 1])
    np.testing.assert_allclose(curvature[0], 6.0)


def test_variance_at_a_kink():
    """
    max(u, 0) of a standard normal u has the variance 1/2 - 1/(2 pi) = 0.3408 (derived); three points of
    Gauss and Hermite give 5/12 = 0.4167. Differences over a step of 0.02 would give 313.
    """
    sd = 0.03
    slope, curvature = bend(
        lambda at: np.maximum(at[:, 0] - 0.5, 0.0) / sd, np.array([[0.5]]), steps_of(np.array([sd]))
    )
    variance = (slope * sd) ** 2 + 0.5 * (curvature * sd**2) ** 2
    assert float(variance[0, 0]) == pytest.approx(5.0 / 12.0, abs=1e-9)
    assert steps_of(None) == {}


def campaign(rng, count=40):
    """Return points as commanded, their moves in standard deviations, and training data whose settings scattered."""
    at = lab.SPACE.from_unit(0.35 + 0.4 * rng.random((count, 3)))
    moves = rng.standard_normal((count, 2))
    builds, observations = lab.campaign(
        at + np.column_stack([moves * list(SD.values()), 0.0 * at[:, 2]]), rng, scatter=0.05
    )
    builds = [replace(b, settings=lab.SPACE.settings(p)) for b, p in zip(builds, at, strict=True)]
    return at, moves, TrainingData(lab.SPACE, builds, observations, setting_sd=SD)


def test_settings_of_builds_are_told_by_other_responses(monkeypatch):
    """Builds scatter by their settings alone: what is told goes with what truly was, and errs as stated."""
    from voidless.infer import model as module

    heard = []

    def spied(*given):
        heard.append(realised(*given))
        return heard[-1]

    monkeypatch.setattr(module, "realised", spied)
    _, moves, data = campaign(np.random.default_rng(4))
    fit_model(data, np.random.default_rng(0))
    told = heard[-3:]  # the last round, one for each response
    agreed = [max(np.corrcoef(item.mean[:, k], moves[:, k])[0, 1] for k in (0, 1)) for item in told]
    assert min(agreed) > 0.6
    for item in told:
        sd = np.sqrt(np.einsum("bss->bs", item.covariance))
        assert 0.6 < np.sqrt(np.mean(((item.mean - moves) / sd) ** 2)) < 1.5


def test_surfaces_are_better_known_where_settings_are_told(monkeypatch):
    """The same builds, listened to or not: mean squared error over the middle of the space."""
    from voidless.infer import model as module

    def error(data):
        model = fit_model(data, np.random.default_rng(0))
        at = lab.SPACE.from_unit(0.4 + 0.3 * np.random.default_rng(1).random((60, 3)))
        seen, true = (
            model.draws(at, 300, Probability.MEAN, np.random.default_rng(2), marginal=False),
            lab.truth(at),
        )
        return [
            float(np.mean((seen[name].mean(axis=0) - true[name]) ** 2)) / np.var(true[name]) for name in true
        ]

    ratios = []
    for seed in (4, 5):
        _, _, data = campaign(np.random.default_rng(seed))
        told = error(data)
        with monkeypatch.context() as patch:
            patch.setattr(module, "_TELLINGS", 0)
            alone = error(data)
        ratios.append(np.array(told) / alone)
    assert float(np.exp(np.mean(np.log(ratios)))) < 0.8
