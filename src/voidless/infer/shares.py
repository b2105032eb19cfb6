"""How much of a response's change over the space each factor and each pair explains."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.infer.learned import CampaignModel
from voidless.infer.paths import surface_draws
from voidless.infer.search import even_points

__all__ = ["Shares", "central_interval", "total_shares", "variance_shares"]

Floats = NDArray[np.float64]

_POINTS = 400
_DEGREE = 3
_PAIRED = 128
_ENDS = 64


@dataclass(frozen=True)
class Shares:
    """
    Shares of variance of one response over the factors' ranges.

    Attributes
    ----------
    main : dict of str to (float, float, float)
        Median and 95 % interval of each factor's own share. [1]
    total : dict of str to (float, float, float)
        The same of each factor with all that it takes part in: what would stay open if only it were unknown. [1]
    pairs : dict of (str, str) to (float, float, float)
        The same of each interaction. [1]
    slopes : dict of str to (float, float, float)
        Change of the response from the low to the high end of a factor, averaged over the others.
        [unit of the response]
    rest : float
        Median share that neither explains: curved interactions, three factors and more. [1]
    spread : float
        Median standard deviation of the response over the space. [unit of the response]
    """

    main: dict[str, tuple[float, float, float]]
    total: dict[str, tuple[float, float, float]]
    pairs: dict[tuple[str, str], tuple[float, float, float]]
    slopes: dict[str, tuple[float, float, float]]
    rest: float
    spread: float

    def to_dict(self) -> dict[str, Any]:
        """Return plain data for JSON."""
        keys = ("value", "low", "high")
        return {
            "main": {name: dict(zip(keys, values, strict=True)) for name, values in self.main.items()},
            "total": {name: dict(zip(keys, values, strict=True)) for name, values in self.total.items()},
            "interactions": [
                {"factors": list(pair), **dict(zip(keys, values, strict=True))}
                for pair, values in self.pairs.items()
            ],
            "change_low_to_high": {
                name: dict(zip(keys, values, strict=True)) for name, values in self.slopes.items()
            },
            "rest": self.rest,
            "spread": self.spread,
        }


def variance_shares(model: CampaignModel, rng: np.random.Generator, count: int = 480) -> dict[str, Shares]:
    """
    Return shares of variance of every modelled response.

    Parameters
    ----------
    model : CampaignModel
        Fitted model.
    rng : numpy.random.Generator
        Source of randomness.
    count : int
        Surfaces drawn.

    Notes
    -----
    Every drawn surface is expanded in products of Legendre polynomials, orthonormal over the box: main
    effects to the third degree, interactions linear by linear. Squared coefficients are the shares
    (Sudret, Reliab. Eng. Syst. Saf. 93 (2008) 964), so the intervals hold what the data leave open. Total shares
    come from pairs of points that differ in one factor (`total_shares`) on the same drawn surfaces, changes from
    the low to the high end from 64 even points with one factor at either end.
    """
    names = model.space.names
    unit = even_points(_POINTS, len(names), rng)
    basis, owners = _basis(unit, names)
    solve = np.asarray(np.linalg.pinv(basis))
    paired, ends = _paired(len(names), rng), _ends(len(names), rng)
    everywhere = np.vstack([unit, paired.reshape(-1, len(names)), ends.reshape(-1, len(names))])
    draws = surface_draws(model, model.space.from_unit(everywhere), count, rng)
    learned = (*model.outputs, *model.derived)
    last = len(unit) + paired.shape[0] * paired.shape[1]
    return {
        name: _shares(
            draws[name][:, : len(unit)],
            draws[name][:, len(unit) : last].reshape(count, *paired.shape[:2]),
            draws[name][:, last:].reshape(count, *ends.shape[:3]),
            solve,
            owners,
            names,
        )
        for name in learned
    }


def total_shares(values: Floats) -> Floats:
    """
    Return total shares of variance of functions.

    Parameters
    ----------
    values : (functions, 1 + factors, points) float array
        Each function at evenly spread points, then at the same points with one factor drawn anew, factor by factor.

    Returns
    -------
    shares : (functions, factors) float array
        [1]

    Notes
    -----
    Half the mean square of what one factor changes, over the variance (Jansen, Comput. Phys. Commun. 117 (1999) 35).
    """
    changed = values[:, 1:] - values[:, :1]
    variance = np.maximum(values.reshape(len(values), -1).var(axis=1), 1e-300)
    return np.asarray(0.5 * np.mean(changed**2, axis=2) / variance[:, None])


def _paired(factors: int, rng: np.random.Generator) -> Floats:
    """Return points `(1 + factors, points, factors)`: a set, and the set with one factor taken from another."""
    both = even_points(_PAIRED, 2 * factors, rng)
    first, second = both[:, :factors], both[:, factors:]
    sets = np.repeat(first[None], 1 + factors, axis=0)
    for factor in range(factors):
        sets[1 + factor, :, factor] = second[:, factor]
    return sets


def _ends(factors: int, rng: np.random.Generator) -> Floats:
    """Return points `(factors, 2, points, factors)`: a set with each factor at its low end, and at its high one."""
    sets = np.tile(even_points(_ENDS, factors, rng), (factors, 2, 1, 1))
    for factor in range(factors):
        sets[factor, 0, :, factor], sets[factor, 1, :, factor] = 0.0, 1.0
    return sets


def _basis(unit: Floats, names: tuple[str, ...]) -> tuple[Floats, list[tuple[str, ...]]]:
    coded = 2.0 * unit - 1.0
    powers = [np.ones_like(coded), coded, 0.5 * (3.0 * coded**2 - 1.0), 0.5 * (5.0 * coded**3 - 3.0 * coded)]
    scaled = [np.sqrt(2.0 * degree + 1.0) * power for degree, power in enumerate(powers)]
    columns = [np.ones(len(unit))]
    owners: list[tuple[str, ...]] = [()]
    for degree in range(1, _DEGREE + 1):
        for position, name in enumerate(names):
            columns.append(scaled[degree][:, position])
            owners.append((name,))
    for (a, first), (b, second) in combinations(enumerate(names), 2):
        columns.append(scaled[1][:, a] * scaled[1][:, b])
        owners.append((first, second))
    return np.column_stack(columns), owners


def _shares(
    values: Floats,
    paired: Floats,
    ends: Floats,
    solve: Floats,
    owners: list[tuple[str, ...]],
    names: tuple[str, ...],
) -> Shares:
    coefficients = values @ solve.T
    total = np.maximum(values.var(axis=1), 1e-300)
    squares = coefficients**2 / total[:, None]

    def share(owner: tuple[str, ...]) -> tuple[float, float, float]:
        columns = [i for i, own in enumerate(owners) if own == owner]
        return central_interval(squares[:, columns].sum(axis=1))

    changes = np.mean(ends[:, :, 1] - ends[:, :, 0], axis=2)
    explained = squares[:, 1:].sum(axis=1)
    totals = total_shares(paired)
    return Shares(
        {name: share((name,)) for name in names},
        {name: central_interval(totals[:, place]) for place, name in enumerate(names)},
        {pair: share(pair) for pair in combinations(names, 2)},
        {name: central_interval(changes[:, place]) for place, name in enumerate(names)},
        float(np.median(np.maximum(0.0, 1.0 - explained))),
        float(np.median(np.sqrt(total))),
    )


def central_interval(values: Floats) -> tuple[float, float, float]:
    """
    Return median, low and high end of the interval that one more of as many draws falls into with 95 %.

    Parameters
    ----------
    values : (n,) float array
        Draws; under 39 of them, their ends.

    Notes
    -----
    Places k/(n + 1), number 6 of Hyndman and Fan, Am. Stat. 50 (1996) 361: as often beyond the ends as said,
    however few the draws.
    """
    low, middle, high = np.quantile(values, (0.025, 0.5, 0.975), method="weibull")
    return float(middle), float(low), float(high)
