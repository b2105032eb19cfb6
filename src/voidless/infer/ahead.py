"""What one more build is expected to do for the recipe."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from voidless.infer.failure import BUILD_OK
from voidless.infer.worth import Outlook, pass_chance, worth_of

__all__ = ["recipe_gain"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

# Outcomes fancied for each build, every one with its mirror image.
_OUTCOMES = 32
# As in `worth`, but steeper: what counts is whether a recipe reaches the confidence once the build is known.
_STEEP = 8.0


def recipe_gain(view: Outlook, asked: Ints) -> Floats:
    """
    Return by how much the worth of the best recipe is expected to rise when a candidate is built, `(m,)`. [1]

    Parameters
    ----------
    view : Outlook
        Joint draws of all responses at all candidates.
    asked : (m,) int array
        Rows of the candidates that may be built.

    Notes
    -----
    One step ahead, the recipe being any candidate, built or not (the knowledge gradient of Frazier, Powell &
    Dayanik, INFORMS J. Computing 21 (2009) 599, with limits). Means, variances and covariances are those of the
    draws; a build's result moves the means along the covariance and takes its share of the variance, response by
    response; whether builds fail is not taken to be learned. docs/methods/next.md.
    """
    state = _State.of(view)
    now = state.best({})
    return np.array([state.best(state.moves(row)) - now for row in asked])


class _State:
    """Moments of the surfaces at the candidates, per output."""

    def __init__(self, view: Outlook, off: Mapping[str, Floats], luck: Mapping[str, Floats]) -> None:
        self.view = view
        self.off = off
        self.luck = luck
        self.mean = {name: values.mean(axis=0) for name, values in view.surfaces.items()}
        self.variance = {name: (values**2).mean(axis=0) for name, values in off.items()}

    @classmethod
    def of(cls, view: Outlook) -> _State:
        rng = np.random.default_rng(3)
        half = {name: rng.standard_normal((_OUTCOMES // 2, 1)) for name in view.surfaces}
        off = {name: values - values.mean(axis=0) for name, values in view.surfaces.items()}
        return cls(view, off, {name: np.concatenate([luck, -luck]) for name, luck in half.items()})

    def moves(self, row: int) -> dict[str, Floats]:
        """Return the standard deviations `(n,)` of what a build at a row does to the means of every output."""
        found = {}
        for name, off in self.off.items():
            if name != BUILD_OK:
                seen = self.variance[name][row] + self.view.scatter[name][row] ** 2
                found[name] = off[:, row] @ off / len(off) / np.sqrt(seen)
        return found

    def best(self, moves: Mapping[str, Floats]) -> float:
        """Return the worth of the best recipe, in the mean of all outcomes of a build. [1]"""
        centre: dict[str, Floats] = {}
        spread: dict[str, Floats] = {}
        for name in self.mean:
            moved = moves.get(name, np.zeros(1))
            left = np.maximum(self.variance[name] - moved**2, 0.0)
            spread[name] = np.sqrt(left + self.view.scatter[name] ** 2)
            centre[name] = self.mean[name] + self.luck[name] * moved
        chance = pass_chance(self.view.criteria, centre, spread)
        worth = worth_of(chance, self.view.confidence, self.view.merit, _STEEP)
        return float(worth.max(axis=-1).mean())
