"""What varied without being chosen: exposure, humidity, run order, sessions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.types import Build

__all__ = ["Nuisance", "nuisance_columns"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

# How much a response may move with a nuisance over the range it spans, one standard deviation in units
# of the response's own spread. Assumed. A short exposure cannot do what a long one can, so the range is
# never taken shorter than `_EXPOSURE_SPAN_H`.
_PRIOR_SD = {"water_pct": 0.3, "exposure_h": 0.3, "humidity_pct": 0.2, "order": 0.2}
_EXPOSURE_SPAN_H = 12.0
_DRY_H = 2.0
_HUMIDITY_SPAN = 20.0
_WATER_SPAN = 0.05
"""Water that a span is never taken shorter than: what steams in a melt. [%] Assumed."""


@dataclass(frozen=True)
class Nuisance:
    """
    Nuisance columns of all builds.

    Attributes
    ----------
    names : tuple of str
        Columns in use.
    columns : (b, m) float array
        Zero at the reference, scaled so that a coefficient of 1 is one prior standard deviation. [1]
    references : dict of str to float
        Where predictions are made. [unit of the nuisance]
    spans : dict of str to float
        Change of the nuisance per unit of column before the prior scale. [unit of the nuisance]
    sessions : (b,) int array
        Session code of every build.
    notes : tuple of str
        Plain sentences on what the references are.
    """

    names: tuple[str, ...]
    columns: Floats
    references: dict[str, float]
    spans: dict[str, float]
    sessions: Ints
    notes: tuple[str, ...]


def nuisance_columns(builds: Sequence[Build]) -> Nuisance:
    """
    Return the nuisance columns of builds; what does not vary gives none.

    Where the water of every build is known it stands in place of hours and humidity: both act through it.
    """
    wet = all(build.water_pct is not None for build in builds)
    names: list[str] = []
    columns: list[Floats] = []
    references: dict[str, float] = {}
    spans: dict[str, float] = {}
    notes: list[str] = []
    for name in ("water_pct", "order") if wet else ("exposure_h", "humidity_pct", "order"):
        values = np.array(
            [np.nan if getattr(b, name) is None else getattr(b, name) for b in builds], dtype=float
        )
        seen = values[np.isfinite(values)]
        if seen.size < 2 or float(np.ptp(seen)) == 0.0:
            continue
        reference, span = _reference(name, seen, notes)
        names.append(name)
        references[name], spans[name] = reference, span
        filled = np.where(np.isfinite(values), values, reference)
        columns.append(_PRIOR_SD[name] * (filled - reference) / span)
        if seen.size < values.size:
            notes.append(
                f"{name} is not recorded for {values.size - seen.size} builds; they count as {reference:g}"
            )
    matrix = np.column_stack(columns) if columns else np.zeros((len(builds), 0))
    sessions = np.array([build.session for build in builds], dtype=np.int64)
    return Nuisance(tuple(names), matrix, references, spans, sessions, tuple(notes))


def _reference(name: str, seen: Floats, notes: list[str]) -> tuple[float, float]:
    spread = float(np.ptp(seen))
    if name == "order":
        return 0.5 * float(seen.min() + seen.max()), 0.5 * spread
    if name == "humidity_pct":
        return float(np.median(seen)), max(spread, _HUMIDITY_SPAN)
    if name == "water_pct":
        driest = float(seen.min())
        notes.append(f"predictions refer to the driest build, of {driest:.2g} % water")
        return driest, max(spread, _WATER_SPAN)
    if float(seen.min()) <= max(_DRY_H, 0.25 * spread):
        return 0.0, max(spread, _EXPOSURE_SPAN_H)
    middle = float(np.median(seen))
    notes.append(f"no build was printed near dry; predictions refer to {middle:g} h of exposure")
    return middle, max(spread, _EXPOSURE_SPAN_H)
