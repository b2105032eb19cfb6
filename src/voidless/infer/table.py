"""Observations of a campaign -> one table per response: build means, scatter within builds, bounds."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.space import Space
from voidless.campaign.types import Bound, Build, BuildOutcome, Observation
from voidless.errors import InputError
from voidless.infer.pairs import RATIO, RATIO_PARTS, paired
from voidless.infer.prior import Prior
from voidless.infer.response import ResponseTable

__all__ = ["TrainingData", "output_name", "reduce_observations"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_SIDES = {Bound.EXACT: 0, Bound.LOWER: 1, Bound.UPPER: -1}


@dataclass(frozen=True)
class TrainingData:
    """
    All that a campaign knows when a model is fitted.

    Attributes
    ----------
    space : Space
        Factors and bounds.
    builds : sequence of Build
        Builds with the settings they printed; a build that carries several runs appears once per run.
    observations : sequence of Observation
        Measured values; those without a build are left to summaries.
    prior : Prior or None
        Physics expectation of some responses.
    known : mapping of str to callable
        Responses that are known functions of points `(n, k)` in shop units, such as `build_min`.
    responses : tuple of str or None
        Quantities to model; None takes every quantity that was observed or that the prior gives.
    setting_sd : mapping of str to float
        Realised scatter of the builds' settings, by factor name; what is not stated here counts as scatter
        of builds. [shop units]
    load : callable or None
        Share of what machine and material melt that points `(n, k)` in shop units ask for: what makes builds come
        out cold; None: not known. [1]
    """

    space: Space
    builds: Sequence[Build]
    observations: Sequence[Observation] = ()
    prior: Prior | None = None
    known: Mapping[str, Callable[[Floats], Floats]] = field(default_factory=dict)
    responses: tuple[str, ...] | None = None
    setting_sd: Mapping[str, float] = field(default_factory=dict)
    load: Callable[[Floats], Floats] | None = None


def output_name(quantity: str, feature: str) -> str:
    """Return the name under which a quantity, or one feature of it, is modelled."""
    return f"{quantity}:{feature}" if feature else quantity


def reduce_observations(data: TrainingData) -> dict[str, ResponseTable]:
    """
    Return one table per response.

    Parameters
    ----------
    data : TrainingData
        Campaign as it stands.

    Returns
    -------
    tables : dict of str to ResponseTable
        By output name; responses without any usable value are absent.

    Raises
    ------
    InputError
        An observation names a build that is not in `data.builds`.

    Notes
    -----
    Rows with the same response, build and specimen are repeated readings and are averaged first; then
    specimens are averaged within their build. Where no build holds two specimens but some hold two
    readings, the readings take the specimens' place. Where through-layer and in-plane strengths are both there,
    `z_ratio` is formed from the two of each build and rows of `z_ratio` are not used; where fewer than half of the
    builds have both, the strengths are learned apart and the ratio follows from them.
    """
    place = {(build.label, build.run): row for row, build in enumerate(data.builds)}
    grouped: dict[str, dict[int, dict[str, list[Observation]]]] = defaultdict(
        lambda: defaultdict(lambda: defaultdict(list))
    )
    for item in data.observations:
        if not item.build and not item.run:
            continue
        row = _row_of(item, place, data.builds)
        _check(item)
        if data.builds[row].outcome is not BuildOutcome.OK:
            continue  # what a failed build left behind is not what its settings make
        grouped[output_name(item.key.quantity, item.key.feature)][row][item.specimen].append(item)
    tables = {name: _table(name, by_build) for name, by_build in sorted(grouped.items())}
    if set(RATIO_PARTS) <= set(tables):
        tables.pop(RATIO, None)
        parts = [tables[name] for name in RATIO_PARTS]
        pairs = paired(*parts)
        most = max(np.unique(part.rows).size for part in parts)
        if pairs is not None and 2 * np.unique(pairs.rows).size >= most:
            tables[RATIO] = pairs
    apart = RATIO not in tables
    return {name: table for name, table in tables.items() if _wanted(table.quantity, data.responses, apart)}


def _check(item: Observation) -> None:
    if not math.isfinite(item.value) or not (item.uncertainty is None or item.uncertainty >= 0.0):
        raise InputError(
            f"{item.key.quantity} of run {item.run}, build {item.build}",
            f"value {item.value}, uncertainty {item.uncertainty}",
            "a finite value and an uncertainty that is not negative",
            "Correct the row.",
        )


def _wanted(quantity: str, responses: tuple[str, ...] | None, apart: bool) -> bool:
    if responses is None or quantity in responses:
        return True
    return apart and quantity in RATIO_PARTS and RATIO in responses


def _row_of(item: Observation, place: Mapping[tuple[str, str], int], builds: Sequence[Build]) -> int:
    found = place.get((item.build, item.run))
    if found is None:
        half = "label" if not item.run else "run" if not item.build else ""
        told = item.build or item.run
        near = [row for row, build in enumerate(builds) if half and getattr(build, half) == told]
        if len(near) == 1:
            return near[0]
        raise InputError(
            f"{item.key.quantity} of run {item.run or '?'}, build {item.build or '?'}",
            "this build is not known, or the run alone does not say which build it was",
            "a build of the campaign",
            "Log the build first or correct its label.",
        )
    return found


def _table(name: str, by_build: Mapping[int, Mapping[str, list[Observation]]]) -> ResponseTable:
    units = {row: _units(specimens) for row, specimens in by_build.items()}
    if all(len(unit.values) <= 1 for unit in units.values()):
        units = {row: _readings(specimens) for row, specimens in by_build.items()}
    columns: list[tuple[int, float, float, float, int]] = []
    squares = np.zeros(2)
    freedom = np.zeros(2)
    for row, unit in sorted(units.items()):
        columns += [(row, value, 1.0, variance, side) for value, variance, side in unit.censored]
        if unit.values:
            values = np.array(unit.values)
            count = float(values.size)
            columns.append((row, float(values.mean()), count, float(np.sum(unit.variances)) / count**2, 0))
            squares += (float(np.sum((values - values.mean()) ** 2)), unit.squares)
            freedom += (count - 1.0, unit.freedom)
    rows, values_, counts, variances, sides = (np.array(column) for column in zip(*columns, strict=True))
    return ResponseTable(
        name,
        name.split(":")[0],
        rows.astype(np.int64),
        values_.astype(float),
        counts.astype(float),
        variances.astype(float),
        sides.astype(np.int64),
        float(squares[0]),
        float(freedom[0]),
        float(squares[1]),
        float(freedom[1]),
    )


@dataclass
class _Units:
    values: list[float] = field(default_factory=list)
    variances: list[float] = field(default_factory=list)
    censored: list[tuple[float, float, int]] = field(default_factory=list)
    squares: float = 0.0
    freedom: float = 0.0


def _variance(item: Observation) -> float:
    return (item.uncertainty or 0.0) ** 2


def _units(specimens: Mapping[str, list[Observation]]) -> _Units:
    """Return specimen means of one build, its censored specimens and the scatter of readings."""
    units = _Units()
    for items in specimens.values():
        exact = [item for item in items if item.bound is Bound.EXACT]
        units.censored += [
            (item.value, _variance(item), _SIDES[item.bound])
            for item in items
            if item.bound is not Bound.EXACT
        ]
        if exact:
            values = np.array([item.value for item in exact])
            units.values.append(float(values.mean()))
            units.variances.append(float(np.sum([_variance(item) for item in exact])) / values.size**2)
            units.squares += float(np.sum((values - values.mean()) ** 2))
            units.freedom += values.size - 1.0
    return units


def _readings(specimens: Mapping[str, list[Observation]]) -> _Units:
    """Return single readings of one build as its units, where no build holds two specimens."""
    units = _Units()
    for item in (item for items in specimens.values() for item in items):
        if item.bound is Bound.EXACT:
            units.values.append(item.value)
            units.variances.append(_variance(item))
        else:
            units.censored.append((item.value, _variance(item), _SIDES[item.bound]))
    return units
