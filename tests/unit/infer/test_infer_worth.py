"""What recipes may be worth: improvement over builds made, and where the best settings lie."""

from importlib import util
from pathlib import Path

import numpy as np
import pytest

from voidless.campaign.types import Objective, Sense, Specification
from voidless.infer.model import TrainingData, fit_model
from voidless.infer.question import Question
from voidless.infer.search import even_points, front
from voidless.infer.worth import Outlook, outlook

_SPEC = util.spec_from_file_location("invented_lab_worth", Path(__file__).with_name("invented.py"))
lab = util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(lab)

SPECS = (Specification("clarity", 0.66), Specification("z_ratio", 0.78))
COLD = [97.0, 215.0, 21.0]


def _view(worth):
    return Outlook(np.array(worth), {}, {}, np.zeros(3), (), 0.9)


def test_improvement_is_over_the_best_build_of_each_draw():
    view = _view([[1.0, 2.0, 0.0], [2.0, 1.0, 2.5]])
    assert view.improvement(np.array([0])) == pytest.approx([0.0, 0.5, 0.25])
    assert view.improvement(np.array([0, 1])) == pytest.approx([0.0, 0.0, 0.25])
    assert view.improvement(np.array([], dtype=np.int64)) == pytest.approx([1.5, 1.5, 1.25])


def test_the_optimum_is_where_draws_have_their_best():
    view = _view([[1.0, 2.0, 1.97], [2.0, 1.0, 2.5]])
    assert view.optimum() == pytest.approx([0.0, 0.5, 1.0])


@pytest.fixture(scope="module")
def question():
    rng = np.random.default_rng(3)
    builds, observations = lab.campaign(lab.SPACE.from_unit(even_points(30, 3, rng)), rng)
    data = TrainingData(lab.SPACE, builds, observations, known={"build_min": lab.build_min})
    return Question(fit_model(data, rng), SPECS, Objective(), lab.SPACE, lab.everywhere)


def test_what_fails_is_worth_nothing_and_speed_is_worth_its_logarithm(question):
    at = np.array([[97.0, 257.0, speed] for speed in (21.0, 30.0, 60.0, 62.0)] + [COLD])
    worth = outlook(question, at, 200, np.random.default_rng(0)).worth
    assert worth[:, 4].max() == 0.0
    minutes = lab.build_min(at)
    assert worth[:, 1] == pytest.approx(1.0 + np.log(minutes.max() / minutes[1]), abs=1e-6)
    # at the edge some draws hold and some fail, neighbours alike; where both hold the faster is worth more
    edge = worth[:, 2:4]
    assert edge.std(axis=0).min() > 0.3
    assert np.corrcoef(edge.T)[0, 1] > 0.8
    both = edge.min(axis=1) > 1.7
    assert 0.05 < both.mean() < 0.95
    assert edge[both, 1].mean() > edge[both, 0].mean()


def test_merit_is_a_logarithm_where_all_values_have_one_sign(question):
    assert question.merit(np.array([1.0, np.e, np.e**2])) == pytest.approx([2.0, 1.0, 0.0])
    most = Question(question.model, SPECS, Objective("clarity", Sense.MAXIMISE), lab.SPACE, lab.everywhere)
    assert most.merit(-np.array([1.0, np.e, np.e**2])) == pytest.approx([0.0, 1.0, 2.0])
    mixed = np.array([-1.0, 0.0, 1.0])
    assert question.merit(mixed) == pytest.approx((1.0 - mixed) / np.std(mixed))


def test_the_front_holds_the_best_objective_at_every_level():
    cost, chance = np.array([5.0, 4.0, 3.0, 2.0, 1.0]), np.array([0.8, 0.9, 0.5, 0.05, 0.0])
    assert front(cost, chance, (0.5,), 1).tolist() == [1, 2]
    assert front(cost, chance, (0.05, 0.9), 1).tolist() == [1, 3]
