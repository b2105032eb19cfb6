"""Central composite design about the usual settings, full quadratic surfaces, then confirmation and refit."""

from __future__ import annotations

from itertools import product

import numpy as np
from benchmarks.campaigns.history import History
from benchmarks.campaigns.rules import Step, levels_of, recommended
from benchmarks.labs.bench import SPACE, USUAL, feasible
from numpy.typing import NDArray
from scipy.special import ndtr

from voidless.infer.linear import estimable, fit_linear
from voidless.infer.search import candidates
from voidless.infer.terms import model_matrix, quadratic_terms

Floats = NDArray[np.float64]

_CUBE = 0.25
_AXIS = 0.4
_CENTRES = 4
_DESIGN_SEED = 5


class Composite:
    """32 corners (half fraction, resolution VI), 12 on the axes, 4 in the middle: 48 builds before any answer."""

    def __init__(self) -> None:
        self.design = _design()

    def step(self, history: History, rng: np.random.Generator) -> Step:
        """Return the quadratic optimum once the design is built; it is built again to confirm."""
        count = len(history.builds)
        if count < len(self.design):
            return Step(None, float("nan"), self.design[count])
        table = history.table
        kept = ~np.isnan(table).any(axis=1)
        points = _inside(candidates(SPACE, feasible, 20_000, rng))
        coded, coded_new = _coded(history.points[kept]), _coded(points)
        names = SPACE.names
        terms = quadratic_terms(names)
        matrix = model_matrix(dict(zip(names, coded.T, strict=True)), terms)
        fresh = model_matrix(dict(zip(names, coded_new.T, strict=True)), terms)
        if not bool(np.all(estimable(matrix))):  # too many builds came out cold
            return Step(None, float("nan"), self.design[count % len(self.design)])
        chance = np.ones(len(points))
        for column, (low, high) in enumerate(history.limits):
            fit = fit_linear(matrix, table[kept, column])
            mean = fresh @ fit.coefficients
            spread = np.sqrt(fit.sigma**2 + np.sum((fresh @ fit.covariance) * fresh, axis=1))
            chance *= ndtr((high - mean) / spread) - ndtr((low - mean) / spread)
        row = recommended(points, chance)
        return Step(points[row], float(chance[row]), points[row], levels_of(points, chance))


def _coded(points: Floats) -> Floats:
    usual = SPACE.to_unit(USUAL[None, :])
    return np.asarray((SPACE.to_unit(points) - usual) / _CUBE)


def _inside(points: Floats) -> Floats:
    """Return points of the region that the design spans: a sphere through the corners would leave the box."""
    return np.asarray(points[np.all(np.abs(_coded(points)) <= _AXIS / _CUBE, axis=1)])


def _design() -> list[Floats]:
    corners = np.array([[*signs, np.prod(signs)] for signs in product((-1.0, 1.0), repeat=5)]) * _CUBE
    axes = np.vstack([sign * _AXIS * np.eye(6) for sign in (-1.0, 1.0)])
    offsets = np.vstack([corners, axes, np.zeros((_CENTRES, 6))])
    unit = np.clip(SPACE.to_unit(USUAL[None, :]) + offsets, 0.0, 1.0)
    points = SPACE.snap(SPACE.from_unit(unit))
    speed = SPACE.names.index("speed_mm_s")
    while not np.all(feasible(points)):  # a corner beyond the machine is printed as fast as it allows
        points[~feasible(points), speed] -= 1.0
    order = np.random.default_rng(_DESIGN_SEED).permutation(len(points))
    return [points[row] for row in order]
