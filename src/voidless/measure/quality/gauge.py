"""Share of the variance of results that is the gauge's and not the parts'."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from voidless.errors import InputError

__all__ = ["GaugeShare", "gauge_share"]


@dataclass(frozen=True)
class GaugeShare:
    """
    Variances of a gauge study.

    Attributes
    ----------
    repeat, operator, interaction, part : float
        Variances of one reading, of operators, of operators with parts, of parts; 0 where negative. [unit squared]
    gauge_pct : float
        Share of the total variance that is the gauge's (repeat, operator and interaction). [%]
    distinct : int
        Classes of parts that the gauge tells apart: 1.41 part deviations over gauge deviations, rounded down. [1]
    """

    repeat: float
    operator: float
    interaction: float
    part: float
    gauge_pct: float
    distinct: int


def gauge_share(readings: Sequence[Sequence[Sequence[float]]]) -> GaugeShare:
    """
    Return the gauge's share from a crossed study.

    Parameters
    ----------
    readings : (parts, operators, repeats) nested sequence of float
        Every operator reads every part equally often. [any one unit]

    Returns
    -------
    share : GaugeShare
        By two-way analysis of variance with random effects (expected mean squares of a balanced crossed study,
        D. C. Montgomery, "Design and Analysis of Experiments", chapter on random factors, from memory).

    Raises
    ------
    InputError
        Not balanced, or fewer than two parts, operators or repeats.
    """
    try:
        table = np.asarray(readings, dtype=float)
    except ValueError as fault:
        raise InputError(
            "gauge", "a study that is not balanced", "equally many readings", "Complete it."
        ) from fault
    if table.ndim != 3 or min(table.shape) < 2 or not np.all(np.isfinite(table)):
        raise InputError(
            "gauge", f"a study of shape {table.shape}", "at least 2 parts, 2 operators, 2 repeats", "Add."
        )
    parts, operators, repeats = table.shape
    grand, cell = table.mean(), table.mean(axis=2)
    by_part, by_operator = cell.mean(axis=1), cell.mean(axis=0)
    ms_part = operators * repeats * float(np.sum((by_part - grand) ** 2)) / (parts - 1)
    ms_operator = parts * repeats * float(np.sum((by_operator - grand) ** 2)) / (operators - 1)
    mixed = cell - by_part[:, None] - by_operator[None, :] + grand
    ms_mixed = repeats * float(np.sum(mixed**2)) / ((parts - 1) * (operators - 1))
    ms_repeat = float(np.sum((table - cell[:, :, None]) ** 2)) / (parts * operators * (repeats - 1))
    interaction = max((ms_mixed - ms_repeat) / repeats, 0.0)
    operator = max((ms_operator - ms_mixed) / (parts * repeats), 0.0)
    part = max((ms_part - ms_mixed) / (operators * repeats), 0.0)
    gauge = ms_repeat + operator + interaction
    total = gauge + part
    if not total > 0:
        raise InputError(
            "gauge", "readings that are all alike", "readings that resolve the parts", "Read more digits."
        )
    distinct = int(1.41 * (part / gauge) ** 0.5) if gauge > 0 else 10**6
    return GaugeShare(ms_repeat, operator, interaction, part, 100.0 * gauge / total, distinct)
