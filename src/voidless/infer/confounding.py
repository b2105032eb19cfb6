"""What cannot be told apart: factors among each other, and with session, order or exposure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from voidless.infer.linear import estimable

__all__ = ["Confounding", "find_confounding", "session_share"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

# From this share of a factor's variation on, its effect and the other cause cannot be separated: the
# variance of either estimate is inflated five-fold. Common practice (variance inflation of 5), no source.
_TOO_MUCH = 0.8


@dataclass(frozen=True)
class Confounding:
    """
    One pair that the builds do not separate.

    Attributes
    ----------
    factor, other : str
        Factor, and what it goes with: a factor, `session`, `order`, `exposure_h`, `humidity_pct` or `water_pct`.
    share : float
        Share of the factor's variation that the other explains. [1]
    """

    factor: str
    other: str
    share: float

    @property
    def sentence(self) -> str:
        """What it means, for people."""
        what = {"session": "the session", "order": "run order"}.get(self.other, self.other)
        return (
            f"{self.factor} is confounded with {what}: {100 * self.share:.0f} % of its variation goes along, "
            "so no effect is claimed for either."
        )


def session_share(values: Floats, sessions: Ints) -> float:
    """
    Return the share of a factor's variance that lies between sessions, beyond what chance puts there. [1]

    Parameters
    ----------
    values : (n,) float array
        Factor.
    sessions : (n,) int array
        Session of every build.
    """
    codes, group = np.unique(sessions, return_inverse=True)
    total = float(np.sum((values - values.mean()) ** 2))
    spare = values.size - codes.size
    if total <= 0.0 or codes.size < 2 or spare < 1:
        return 0.0
    means = np.bincount(group, values) / np.bincount(group)
    within = float(np.sum((values - means[group]) ** 2))
    return max(0.0, 1.0 - (within / spare) / (total / (values.size - 1)))


def find_confounding(
    factors: Mapping[str, Floats], nuisance: Mapping[str, Floats], sessions: Ints
) -> tuple[Confounding, ...]:
    """
    Return all pairs that the builds do not separate.

    Parameters
    ----------
    factors, nuisance : mapping of str to (n,) float array
        Values per build.
    sessions : (n,) int array
        Session per build.
    """
    found = []
    moving = {name: values for name, values in factors.items() if float(np.ptp(values)) > 0.0}
    for (first, a), (second, b) in combinations(moving.items(), 2):
        share = _squared_correlation(a, b)
        if share >= _TOO_MUCH:
            found.append(Confounding(first, second, share))
    for name, values in moving.items():
        for other, column in nuisance.items():
            share = _squared_correlation(values, column)
            if share >= _TOO_MUCH:
                found.append(Confounding(name, other, share))
        share = session_share(values, sessions)
        if share >= _TOO_MUCH:
            found.append(Confounding(name, "session", share))
    return tuple(found)


def _squared_correlation(a: Floats, b: Floats) -> float:
    pair = np.column_stack([np.ones(a.size), a, b])
    if a.size < 3 or float(np.ptp(b)) == 0.0:
        return 0.0
    if not bool(np.all(estimable(pair))):
        return 1.0
    return float(np.corrcoef(a, b)[0, 1] ** 2)
