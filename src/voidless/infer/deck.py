"""Everything that is random in a set of joint draws, the same at every point."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from voidless.infer.bend import steps_of
from voidless.infer.failure import BUILD_OK

if TYPE_CHECKING:
    from voidless.infer.learned import CampaignModel

__all__ = ["Deck", "deal"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Deck:
    """
    The luck of `c` draws: points that are judged with one deck are told apart without noise.

    Attributes
    ----------
    rows : (c,) int array
        Row of the hyper-parameters behind each draw, ascending.
    theta : (c, p) float array
        Physics parameters, in prior standard deviations from their means. [1]
    rival : mapping of str to (c,) int array
        Which rival model a draw takes, per output.
    smooth, scatter : mapping of str to (c,) float array
        Standard normals of the smooth part and of the scatter, per output. [1]
    moves : (c, k) float array or None
        What the machine's own scatter does to the settings; None where nothing moves. [1 of the unit cube]
    spread : (k,) float array or None
        Standard deviation of the moves. [1 of the unit cube]
    """

    rows: Ints
    theta: Floats
    rival: Mapping[str, Ints]
    smooth: Mapping[str, Floats]
    scatter: Mapping[str, Floats]
    moves: Floats | None
    spread: Floats | None = None

    @property
    def moved(self) -> dict[int, float]:
        """Columns of the factors that scatter, and the step within their scatter. [1 of the unit cube]"""
        return steps_of(self.spread)


def deal(
    model: CampaignModel, count: int, rng: np.random.Generator, spread: Floats | None, marginal: bool
) -> Deck:
    """
    Return the luck of `count` draws.

    Parameters
    ----------
    model : CampaignModel
        Fitted model.
    count : int
        Draws.
    rng : numpy.random.Generator
        Source of randomness.
    spread : (k,) float array or None
        Standard deviation of the settings. [1 of the unit cube]
    marginal : bool
        Whether hyper-parameters are drawn from their posterior, or the most probable ones are used.
    """
    shares = model.allot(count, marginal)
    rows = np.concatenate([np.full(draws, index, dtype=np.int64) for index, draws in shares])
    theta = np.vstack([model.theta_draws(index, draws, rng) for index, draws in shares])
    names = [*model.outputs, BUILD_OK]
    rival = {
        name: rng.choice(len(item.variants), size=count, p=item.weights)
        for name, item in model.outputs.items()
    }
    smooth = {name: rng.standard_normal(count) for name in names}
    scatter = {name: rng.standard_normal(count) for name in names}
    moves = None if spread is None else spread * rng.standard_normal((count, spread.size))
    return Deck(rows, theta, rival, smooth, scatter, moves, spread)
