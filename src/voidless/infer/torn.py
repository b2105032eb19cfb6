"""Builds whose specimens lie further apart than those of the other builds: a spoiled specimen, or a slip."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.types import Bound, BuildOutcome
from voidless.infer.table import TrainingData, output_name

__all__ = ["Torn", "torn", "torn_builds"]

Floats = NDArray[np.float64]

_FEWEST = 6
"""Builds with two specimens or more below which nothing is said. [1] Our choice."""
_CHANCE = 0.01
"""Probability that one of all builds of a response is named by chance. [1] Our choice."""
_OF_MEDIAN = 0.35
"""Share of the degrees of freedom that a scale from the median keeps; 0.368 for single ones, large samples. [1]"""


@dataclass(frozen=True)
class Torn:
    """A build, its two specimens that lie furthest apart, and the usual standard deviation within a build."""

    build: str
    low: tuple[str, float]
    high: tuple[str, float]
    usual: float


def torn(builds: Mapping[str, Mapping[str, float]]) -> list[Torn]:
    """
    Return builds that scatter within themselves as no other does, on the plain and on the logarithmic scale.

    Parameters
    ----------
    builds : mapping of str to mapping of str to float
        By build the value of each specimen, all of one response. [unit of the response]

    Notes
    -----
    The usual scatter is that of the middle build, so that the torn ones do not hide each other. Scatter may grow
    with the value or not: a build must stand out both ways.
    """
    several = {label: found for label, found in builds.items() if len(found) > 1}
    if len(several) < _FEWEST:
        return []
    rows = [np.array(list(found.values())) for found in several.values()]
    usual, out = _apart(rows)
    if all(float(row.min()) > 0.0 for row in rows):
        out &= _apart([np.log(row) for row in rows])[1]
    return [
        Torn(
            label,
            min(found.items(), key=lambda item: item[1]),
            max(found.items(), key=lambda item: item[1]),
            usual,
        )
        for (label, found), named in zip(several.items(), out, strict=True)
        if named
    ]


def _apart(rows: Sequence[Floats]) -> tuple[float, NDArray[np.bool_]]:
    """Return the usual standard deviation within a row, and which rows have one that chance does not give."""
    from scipy.stats import chi2, f

    freedom = np.array([row.size - 1.0 for row in rows])
    squares = np.array([float(np.sum((row - row.mean()) ** 2)) for row in rows])
    usual = float(np.median(squares / chi2.median(freedom)))
    if usual <= 0.0:
        return 0.0, np.zeros(len(rows), dtype=bool)
    chance = f.sf(squares / freedom / usual, freedom, _OF_MEDIAN * float(np.sum(freedom)))
    return math.sqrt(usual), np.asarray(chance < _CHANCE / len(rows), dtype=bool)


def torn_builds(data: TrainingData) -> dict[str, list[Torn]]:
    """Return torn builds by response; builds that failed and values that are only bounds are left out."""
    failed = {(item.label, item.run) for item in data.builds if item.outcome is not BuildOutcome.OK}
    readings: dict[str, dict[str, dict[str, list[float]]]] = defaultdict(
        lambda: defaultdict(lambda: defaultdict(list))
    )
    for item in data.observations:
        label = " of run ".join(
            filter(None, (item.build, item.run))
        )  # runs of one bed differ in their settings
        if label and item.specimen and item.bound is Bound.EXACT and (item.build, item.run) not in failed:
            name = output_name(item.key.quantity, item.key.feature)
            readings[name][label][item.specimen].append(item.value)
    return {
        name: torn(
            {
                label: {specimen: sum(values) / len(values) for specimen, values in found.items()}
                for label, found in builds.items()
            }
        )
        for name, builds in sorted(readings.items())
    }
