"""
A general Bayesian optimiser under constraints: one Gaussian process per response, log noisy expected improvement.

BoTorch and torch are no dependencies of this project; they are needed for this file alone. Known build time is the
objective (its logarithm), the specifications are constraints on the processes. Candidates are even over the allowed
space and close to the best ones, as in this project's own search, so that only model and criterion differ.
"""

from __future__ import annotations

import warnings

import numpy as np
from benchmarks.campaigns.history import History
from benchmarks.campaigns.rules import Step, levels_of, recommended
from benchmarks.labs.bench import SPACE, build_minutes, feasible
from numpy.typing import NDArray
from scipy.special import ndtr

from voidless.infer.search import candidates, near

Floats = NDArray[np.float64]

_EVEN = 1024
_SAMPLES = 128


class Generic:
    """`SingleTaskGP` per response with standardised outcomes, and `qLogNoisyExpectedImprovement`."""

    def step(self, history: History, rng: np.random.Generator) -> Step:
        """Return the fastest setting that its own posterior lets pass with 0.9, and the next build."""
        import torch

        torch.set_num_threads(1)
        torch.manual_seed(int(rng.integers(2**31)))
        warnings.filterwarnings("ignore")
        model = _model(history)
        made = history.points
        even = candidates(SPACE, feasible, 4096, rng)
        pool = np.vstack([made, even])
        chance = _chance(model, pool, history.limits)
        for _ in range(3):
            best = np.argsort(-chance, kind="stable")[:12]
            enough = np.flatnonzero(chance >= min(0.9, float(chance.max())))
            fast = enough[np.argsort(build_minutes(pool[enough]), kind="stable")[:20]]
            fresh = near(SPACE, feasible, pool[np.union1d(best, fast)], 24, rng)
            pool = np.vstack([pool, fresh])
            chance = np.append(chance, _chance(model, fresh, history.limits))
        row = recommended(pool, chance)
        following = _next(model, history, pool[row], even[:_EVEN], rng)
        return Step(pool[row], float(chance[row]), following, levels_of(pool, chance))


def _model(history: History) -> object:
    """Return the fitted processes; a cold build takes the worst values seen."""
    import torch
    from botorch.fit import fit_gpytorch_mll
    from botorch.models import ModelListGP, SingleTaskGP
    from botorch.models.transforms import Standardize
    from gpytorch.mlls import SumMarginalLogLikelihood

    table = history.table.copy()
    cold = np.isnan(table).any(axis=1)
    if cold.any() and not cold.all():
        limits = history.limits
        short = np.maximum(limits[:, 0] - table, 0.0) + np.maximum(table - limits[:, 1], 0.0)
        for column in range(table.shape[1]):
            worst = int(np.nanargmax(np.where(cold, np.nan, short[:, column])))
            table[cold, column] = table[worst, column]
    x = torch.tensor(SPACE.to_unit(history.points), dtype=torch.double)
    models = [
        SingleTaskGP(
            x,
            torch.tensor(table[:, column : column + 1], dtype=torch.double),
            outcome_transform=Standardize(1),
        )
        for column in range(table.shape[1])
    ]
    model = ModelListGP(*models)
    fit_gpytorch_mll(SumMarginalLogLikelihood(model.likelihood, model))
    return model


def _chance(model: object, points: Floats, limits: Floats) -> Floats:
    """Return the probability that the next build passes, responses independent, `(n,)`."""
    import torch

    found = np.ones(len(points))
    x = torch.tensor(SPACE.to_unit(points), dtype=torch.double)
    with torch.no_grad():
        for one, (low, high) in zip(model.models, limits, strict=True):  # type: ignore[attr-defined]
            posterior = one.posterior(x.unsqueeze(1), observation_noise=True)
            mean, spread = posterior.mean.reshape(-1).numpy(), posterior.variance.reshape(-1).sqrt().numpy()
            found *= ndtr((high - mean) / spread) - ndtr((low - mean) / spread)
    return found


def _next(model: object, history: History, recipe: Floats, even: Floats, rng: np.random.Generator) -> Floats:
    """Return the candidate of the largest log noisy expected improvement, refined once."""
    import torch
    from botorch.acquisition.logei import qLogNoisyExpectedImprovement
    from botorch.acquisition.objective import GenericMCObjective
    from botorch.sampling import SobolQMCNormalSampler

    def shop(x: object) -> Floats:
        return SPACE.from_unit(x.detach().numpy().reshape(-1, len(SPACE.names)))  # type: ignore[attr-defined]

    def gain(samples: object, X: object = None) -> object:  # `X` is BoTorch's name
        minutes = torch.tensor(np.log(build_minutes(shop(X))), dtype=torch.double)
        return -minutes.reshape(X.shape[:-1]).expand(samples.shape[:-1])  # type: ignore[attr-defined]

    constraints = []
    for column, (low, high) in enumerate(history.limits):
        if np.isfinite(low):
            constraints.append(lambda y, c=column, v=low: v - y[..., c])
        if np.isfinite(high):
            constraints.append(lambda y, c=column, v=high: y[..., c] - v)
    criterion = qLogNoisyExpectedImprovement(
        model,
        torch.tensor(SPACE.to_unit(history.points), dtype=torch.double),
        sampler=SobolQMCNormalSampler(torch.Size([_SAMPLES])),
        objective=GenericMCObjective(gain),
        constraints=constraints,
        prune_baseline=False,
    )

    def worth(points: Floats) -> Floats:
        x = torch.tensor(SPACE.to_unit(points), dtype=torch.double).unsqueeze(1)
        with torch.no_grad():
            return np.concatenate([criterion(part).numpy() for part in x.split(512)])

    pool = near(SPACE, feasible, np.vstack([recipe[None, :], even]), 1, rng)
    value = worth(pool)
    close = near(SPACE, feasible, pool[np.argsort(-value)[:10]], 24, rng)
    again = worth(close)
    return close[int(np.argmax(again))] if again.max() > value.max() else pool[int(np.argmax(value))]
