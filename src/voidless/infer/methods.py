"""Whether methods that measured one response agree, build by build."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import combinations

import numpy as np
from scipy.special import stdtrit

from voidless.campaign.types import Bound, Observation
from voidless.quantities import QUANTITIES

__all__ = ["method_words"]

Cells = dict[tuple[str, str], dict[str, list[Observation]]]
"""Values of a response by feature and build, then by method."""


def method_words(quantity: str, observations: Iterable[Observation]) -> tuple[str, ...]:
    """
    Return what to know of a response that several methods measured.

    Parameters
    ----------
    quantity : str
        The response.
    observations : iterable of Observation
        Values; those of the response that belong to a build count.

    Returns
    -------
    words : tuple of str
        Empty where one method measured it.

    Notes
    -----
    Builds that two methods measured are compared by the mean of their differences. Its interval comes from the
    scatter of the differences between builds, at least from that of values within builds, and from the stated
    uncertainties, taken as common to all builds: methods that agree are seldom called apart.
    """
    cells: Cells = {}
    for item in observations:
        if item.key.quantity == quantity and item.build:
            of = cells.setdefault((item.key.feature, item.build), {})
            of.setdefault(item.key.method, []).append(item)
    seen = sorted({method for each in cells.values() for method in each})
    if len(seen) < 2:
        return ()
    named = ", ".join(_named(method) for method in seen)
    merged = f"{quantity} was measured by {len(seen)} methods ({named}), which are taken as one response"
    pairs = [words for pair in combinations(seen, 2) if (words := _pair(quantity, pair, cells))]
    return (
        merged,
        *(
            pairs
            or [f"no build has {quantity} by two methods, limits aside: whether they agree is not known"]
        ),
    )


def _named(method: str) -> str:
    return method or "not said"


def _pair(quantity: str, pair: tuple[str, str], cells: Cells) -> str:
    """Return by how much two methods differ, empty where no build has both."""
    both = []
    for methods in cells.values():
        found = [[each for each in methods.get(name, ()) if each.bound is Bound.EXACT] for name in pair]
        if all(found):
            both.append(found)
    if not both:
        return ""
    difference, half = _difference(both)
    unit = QUANTITIES[quantity].unit
    first, second = (_named(method) for method in pair)
    shown = f"{difference:+.3g} ± {half:.2g} {unit if unit != '1' else ''}".rstrip()
    builds = f"{len(both)} build{'s' if len(both) > 1 else ''} with both"
    if abs(difference) <= half:
        return f"{quantity}: {first} less {second} is {shown} (95 %) in {builds}: they do not contradict each other"
    return (
        f"{quantity}: {first} less {second} is {shown} (95 %) in {builds}: they contradict each other, and what is "
        f"learned of both together speaks of neither. Say which one counts ([responses.{quantity}] "
        f'method = "{pair[0]}" in campaign.toml); the other stays on record'
    )


def _difference(both: Sequence[Sequence[Sequence[Observation]]]) -> tuple[float, float]:
    """Return the mean difference of two methods over builds, and half of its 95 % interval."""
    values = [[np.array([item.value for item in each]) for each in pair] for pair in both]
    apart = np.array([first.mean() - second.mean() for first, second in values])
    within, common = [], []
    for side in (0, 1):
        of = [pair[side] for pair in values]
        freedom = sum(each.size - 1 for each in of)
        squares = sum(float(np.sum((each - each.mean()) ** 2)) for each in of)
        within.append(squares / freedom / np.mean([each.size for each in of]) if freedom else 0.0)
        stated = [item.uncertainty for pair in both for item in pair[side] if item.uncertainty is not None]
        common.append(float(np.mean(np.square(stated))) if stated else 0.0)
    scatter = sum(within) / apart.size
    if apart.size > 1:
        between = float(apart.var(ddof=1)) / apart.size * (stdtrit(apart.size - 1, 0.975) / 1.96) ** 2
        scatter = max(scatter, float(between))
    return float(apart.mean()), 1.96 * float(np.sqrt(scatter + sum(common)))
