"""Campaigns where the truth is known: what the learned surface says of effects and of passing, and what is so."""

from importlib import util
from pathlib import Path

import numpy as np

from voidless.campaign.types import Objective, Probability, Specification
from voidless.infer.model import TrainingData, fit_model
from voidless.infer.question import Question
from voidless.infer.search import even_points
from voidless.infer.shares import variance_shares

_SPEC = util.spec_from_file_location(
    "invented_for_coverage", Path(__file__).parents[1] / "unit" / "infer" / "invented.py"
)
lab = util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(lab)

BUILDS = 24
_SPECS = (Specification("clarity", 0.66), Specification("strength_z_mpa", 30.0))


def true_changes():
    """Return the change of every response from the low to the high end of each factor, others averaged."""
    unit, found = even_points(20_000, 3, np.random.default_rng(0)), {}
    for column, name in enumerate(lab.SPACE.names):
        ends = [unit.copy(), unit.copy()]
        ends[0][:, column], ends[1][:, column] = 0.0, 1.0
        low, high = (lab.truth(lab.SPACE.from_unit(end)) for end in ends)
        for response in low:
            found[response, name] = float(np.mean(high[response] - low[response]))
    return found


def true_chance(points):
    """Return the probability that the next build at points `(n, 3)` passes."""
    rng, means = np.random.default_rng(1), lab.truth(points)
    held = np.ones((4000, len(points)), dtype=bool)
    for spec in _SPECS:
        noise = lab.BETWEEN[spec.response] * rng.standard_normal((4000, 1))
        held &= means[spec.response] + noise >= spec.bounds[0]
    return held.mean(axis=0)


def simulate(seeds):
    """Return which 95 % intervals of changes cover, `(s, 9)`, and (stated, true) chances to pass, `(s, 200, 2)`."""
    truth, covered, chances = true_changes(), [], []
    for seed in seeds:
        rng = np.random.default_rng([seed, 77])
        at = lab.SPACE.from_unit(even_points(BUILDS, 3, rng))
        builds, observations = lab.campaign(at, rng)
        model = fit_model(TrainingData(lab.SPACE, builds, observations), rng)
        shares = variance_shares(model, rng)
        covered.append(
            [shares[name].slopes[factor][1] <= value <= shares[name].slopes[factor][2]
             for (name, factor), value in truth.items()]
        )  # fmt: skip
        points = lab.SPACE.from_unit(even_points(200, 3, rng))
        question = Question(
            model,
            _SPECS,
            Objective("strength_xy_mpa"),
            lab.SPACE,
            lab.everywhere,
            0.9,
            Probability.NEXT_BUILD,
        )
        stated = question.pass_shares(points, 1000, rng)[0]
        chances.append(np.column_stack([stated, true_chance(points)]))
    return np.array(covered), np.array(chances)
