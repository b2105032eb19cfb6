"""Data of a campaign -> fitted model."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from voidless.campaign.space import Space
from voidless.campaign.types import BuildOutcome
from voidless.errors import InputError
from voidless.infer.assemble import Draft, calibrate, draft, expanded, fit_draft, moved_closer
from voidless.infer.bend import steps_of
from voidless.infer.evidence import left_out, stacking_weight
from voidless.infer.failure import FailureModel, fit_failures
from voidless.infer.gp import Rows
from voidless.infer.hyper import Posterior, hyper_prior
from voidless.infer.learned import CampaignModel
from voidless.infer.methods import method_words
from voidless.infer.moved import Moved
from voidless.infer.nuisance import Nuisance, nuisance_columns
from voidless.infer.output import Output, Variant
from voidless.infer.pairs import RATIO, RATIO_PARTS, PriorWithRatio
from voidless.infer.prior import JointPrior, KnownPrior, Prior, PriorField
from voidless.infer.realised import Realised, Witness, realised
from voidless.infer.response import ResponseTable
from voidless.infer.search import even_points
from voidless.infer.table import TrainingData, reduce_observations
from voidless.infer.transform import transform_for

__all__ = ["CampaignModel", "TrainingData", "fit_model"]

Floats = NDArray[np.float64]

_SAMPLES = 24
_THIN = 4
# Where few builds hold both parts, the quotient of two learned responses stands in for a learned one.
_DERIVED = {RATIO: RATIO_PARTS}
# Below this many builds a surface without physics says nothing that its prior did not put in.
_FEWEST_BUILDS = 3
# How often the settings that builds had are told anew, and the physics expanded anew.
_TELLINGS = 3


def fit_model(data: TrainingData, rng: np.random.Generator) -> CampaignModel:
    """
    Return what a campaign has learned.

    Parameters
    ----------
    data : TrainingData
        Space, builds, observations, physics prior and known functions.
    rng : numpy.random.Generator
        Source of randomness of the posterior samples.

    Returns
    -------
    model : CampaignModel
        Joint model of every response that was observed or that the prior gives.

    Raises
    ------
    InputError
        A build lacks a factor, or an observation names an unknown build.
    ComputationError
        The prior gives values that are not finite.

    Notes
    -----
    Every response is learned twice, with the physics prior as mean and without; weights come from how
    well either foretells builds that are left out. docs/methods/learning.md derives it.
    """
    tables = reduce_observations(data)
    points = _points(data)
    nuisance = nuisance_columns(data.builds)
    field = _field(data, tables, points)
    bench = _Bench(data, points, nuisance, field, rng)
    outputs = _outputs(bench, tables)
    seen = {int(row) for table in tables.values() for row in table.rows}
    succeeded = np.array([build.outcome is BuildOutcome.OK for build in data.builds], dtype=bool)
    judged = np.array([row in seen or not ok for row, ok in enumerate(succeeded)], dtype=bool)
    derived = {
        name: parts
        for name, parts in _DERIVED.items()
        if name not in outputs and all(part in outputs for part in parts)
    }
    return CampaignModel(
        space=data.space,
        outputs=outputs,
        field=field,
        known={name: f for name, f in data.known.items() if name not in outputs},
        derived=derived,
        failure=_failure(data, points[judged], succeeded[judged]),
        nuisance=nuisance,
        builds=int(np.count_nonzero(judged)),
        setting_sd=data.setting_sd,
        notes=_notes(data, tables, nuisance.notes),
    )


def _failure(data: TrainingData, points: Floats, succeeded: NDArray[np.bool_]) -> FailureModel | None:
    """Return where builds fail; None where none did."""
    space, load = data.space, data.load
    asked = None if load is None else lambda unit: np.asarray(load(space.from_unit(unit)), dtype=float)
    return fit_failures(space.to_unit(points), succeeded, asked)


@dataclass(frozen=True)
class _Bench:
    data: TrainingData
    points: Floats
    nuisance: Nuisance
    field: PriorField | None
    rng: np.random.Generator

    @property
    def parameters(self) -> int:
        return 0 if self.field is None else self.field.mean.size

    @property
    def moved(self) -> bool:
        """Whether the scatter of any setting is stated."""
        return any(sd > 0.0 for sd in self.data.setting_sd.values())

    @property
    def unit(self) -> Floats:
        return self.data.space.to_unit(self.points)

    @property
    def discrepancy(self) -> dict[str, float]:
        """Standard deviation of the physics model's own error, typical of the builds. [learning scale]"""
        if self.field is None:
            return {}
        some = self.points if len(self.points) else self.data.space.from_unit(_probes(self.data.space))
        return self.field.discrepancy(some)


def _probes(space: Space) -> Floats:
    return even_points(64, len(space.factors), np.random.default_rng(0))


def _points(data: TrainingData) -> Floats:
    try:
        return data.space.points([build.settings for build in data.builds])
    except KeyError as error:
        raise InputError(
            "learn",
            f"a build lacks the factor {error.args[0]}",
            "every factor of the campaign",
            "Log the setting.",
        ) from error


def _field(data: TrainingData, tables: Mapping[str, ResponseTable], points: Floats) -> PriorField | None:
    """Return the physics prior, with known functions that a table gives too as expectation of those."""
    parts: list[Prior] = [
        KnownPrior(name, f, float(np.exp(np.mean(np.log(f(points))))))
        for name, f in data.known.items()
        if name in tables
    ]
    if data.prior is not None:
        parts.append(_with_ratio(data, tables))
    if not parts:
        return None
    joint = JointPrior.of(parts)
    return PriorField(joint, data.space, {name: transform_for(name) for name in joint.responses})


def _with_ratio(data: TrainingData, tables: Mapping[str, ResponseTable]) -> Prior:
    """Return the campaign's prior, of the ratio of strengths too where that is learned or asked for."""
    prior = data.prior
    assert prior is not None
    asked = RATIO in tables or (not tables and (data.responses is None or RATIO in data.responses))
    if not asked or RATIO in prior.responses or not set(RATIO_PARTS) <= set(prior.responses):
        return prior
    return PriorWithRatio.at(prior, data.space.from_unit(_probes(data.space)))


def _outputs(bench: _Bench, tables: Mapping[str, ResponseTable]) -> dict[str, Output]:
    shifts, scales, plain, physics = {}, {}, {}, {}
    quantities = {name: table.quantity for name, table in tables.items()}
    given = bench.discrepancy
    for name, table in tables.items():
        transform = transform_for(table.quantity)
        values = transform.forward(table.values)
        shifts[name] = float(np.mean(values))
        scales[name] = _scale(values, given.get(table.quantity))
        common = (table, transform, bench.unit, bench.nuisance)
        plain[name] = draft(*common, shifts[name], scales[name], None, bench.parameters, bench.moved)
        if table.quantity in given:
            own = (0.0, scales[name], given[table.quantity])
            physics[name] = draft(*common, *own, bench.parameters, bench.moved)
    first = dict(physics)
    if bench.field is not None and physics:
        physics = calibrate(physics, scales, quantities, bench.field, bench.points)
    plain = {name: fit_draft(item) for name, item in plain.items()}
    fits = {
        name: _rivals(bench, table, scales[name], plain[name], physics.get(name))
        for name, table in tables.items()
    }
    for _ in range(_TELLINGS if bench.moved else 0):
        known = _told_by_others(bench, fits)
        current = {name: fits[name].rivals[0] for name in physics}
        if bench.field is not None and physics and moved_closer(current, bench.field):
            physics = expanded(first, current, scales, quantities, bench.field, bench.points)
            fits |= {
                name: fits[name].about(_moved(bench, item, quantities[name], scales[name]))
                for name, item in physics.items()
            }
        fits = {name: fit.told(known[name]) for name, fit in fits.items()}
    found = {
        name: _output(bench, tables[name], shifts[name], scales[name], fit) for name, fit in fits.items()
    }
    return found | _unseen(bench, {table.quantity for table in tables.values()})


def _scale(values: Floats, discrepancy: float | None) -> float:
    """Return the standard unit of a response: its spread, never below a share of the stated discrepancy."""
    spread = float(np.std(values, ddof=1)) if values.size > 1 else 0.0
    floor = max(0.3 * (discrepancy or 0.0), 1e-6 * float(np.max(np.abs(values))), 1e-12)
    return max(spread, floor)


@dataclass(frozen=True)
class _Fit:
    """Rivals of one response, as they are without and with the scatter of settings, and their weights."""

    moved: tuple[Moved, ...]
    rivals: tuple[Draft, ...]
    physics: bool

    @property
    def weights(self) -> tuple[float, ...]:
        if len(self.rivals) == 1:
            return (1.0,)
        densities = [left_out(rival.rows, rival.scales)[2] for rival in self.rivals]
        weight = stacking_weight(densities[0], densities[1])
        return (weight, 1.0 - weight)

    @property
    def witness(self) -> Witness:
        """What the heavier rival says of each build."""
        heavy = int(np.argmax(self.weights))
        return self.moved[heavy].witness(self.rivals[heavy])

    def about(self, physics: Moved) -> _Fit:
        """Return the fit with its physics expanded about other parameters."""
        rival = physics.taken_over(self.moved[0], self.rivals[0])
        return replace(self, moved=(physics, *self.moved[1:]), rivals=(rival, *self.rivals[1:]))

    def told(self, known: Realised) -> _Fit:
        """Return the fit with what is known of the settings that builds had."""
        rivals = [item.fitted(known, start) for item, start in zip(self.moved, self.rivals, strict=True)]
        return replace(self, rivals=tuple(rivals))


def _rivals(bench: _Bench, table: ResponseTable, scale: float, plain: Draft, physics: Draft | None) -> _Fit:
    moved = [] if physics is None else [_moved(bench, physics, table.quantity, scale)]
    if physics is None or plain.rows.size >= _FEWEST_BUILDS:
        moved.append(_moved(bench, plain, None, scale))
    rivals = [item.fitted() if bench.moved else item.base for item in moved]
    return _Fit(tuple(moved), tuple(rivals), physics is not None)


def _told_by_others(bench: _Bench, fits: Mapping[str, _Fit]) -> dict[str, Realised]:
    """Return the settings of every build as its responses tell them, for each response by the others."""
    builds, factors = len(bench.points), len(steps_of(bench.data.space.spread(bench.data.setting_sd)))
    said = {name: fit.witness for name, fit in fits.items()}
    return {
        name: realised(builds, factors, [said[other] for other in fits if not _share_data(name, other)])
        for name in fits
    }


def _share_data(name: str, other: str) -> bool:
    return name == other or (RATIO in (name, other) and {name, other} <= {RATIO, *RATIO_PARTS})


def _output(bench: _Bench, table: ResponseTable, shift: float, scale: float, fit: _Fit) -> Output:
    variants = tuple(
        _variant(bench, rival, fit.physics and number == 0) for number, rival in enumerate(fit.rivals)
    )
    name = table.quantity
    return Output(table.name, name, transform_for(name), shift, scale, variants, fit.weights, table)


def _moved(bench: _Bench, item: Draft, quantity: str | None, scale: float) -> Moved:
    """Return the draft with the scatter of settings, which may be none."""
    spread = bench.data.space.spread(bench.data.setting_sd)
    if quantity is None or bench.field is None:
        return Moved(item, spread, None, np.zeros(bench.parameters), scale)
    field = bench.field.evaluate(bench.points, steps_of(spread))[quantity] if bench.moved else None
    return Moved(item, spread, field, bench.field.shift, scale)


def _variant(bench: _Bench, rival: Draft, physics: bool) -> Variant:
    best = np.zeros(rival.prior.medians.size) if rival.white is None else rival.white
    samples = Posterior(rival.rows, rival.prior).samples(best, _SAMPLES, _THIN, bench.rng)
    return Variant(rival.rows, rival.prior, np.vstack([best, samples]), physics, rival.trend_sd)


def _unseen(bench: _Bench, seen: set[str]) -> dict[str, Output]:
    """Return outputs of responses that only the physics prior gives so far."""
    found: dict[str, Output] = {}
    if bench.field is None:
        return found
    wanted = bench.data.responses
    apart = seen & set(RATIO_PARTS) and RATIO not in seen
    for name in bench.field.prior.responses:
        needed = wanted is None or name in wanted or (apart and RATIO in wanted and name in RATIO_PARTS)
        if name in seen or not needed or (name == RATIO and apart):
            continue
        discrepancy = bench.discrepancy[name]
        rows = _no_rows(bench)
        prior = hyper_prior(rows, 1.0)
        # evenly over the prior, not drawn: the band before any build would be the luck of two dozen numbers
        scores = ndtri((np.arange(_SAMPLES) + 0.5) / _SAMPLES)
        even = np.column_stack([bench.rng.permutation(scores) for _ in range(prior.medians.size)])
        white = np.vstack([np.zeros((1, prior.medians.size)), even])
        variant = Variant(rows, prior, white, True, (0.0, 0.0))
        found[name] = Output(name, name, transform_for(name), 0.0, discrepancy, (variant,), (1.0,), None)
    return found


def _no_rows(bench: _Bench) -> Rows:
    k = len(bench.data.space.factors)
    empty, codes = np.zeros(0), np.zeros(0, dtype=np.int64)
    return Rows(
        points=np.zeros((0, k)),
        target=empty,
        trend=np.zeros((0, 1 + k)),
        nuisance=np.zeros((0, bench.nuisance.columns.shape[1])),
        jacobian=np.zeros((0, bench.parameters)),
        builds=codes,
        sessions=codes,
        counts=empty,
        variances=empty,
    )


def _notes(
    data: TrainingData, tables: Mapping[str, ResponseTable], notes: tuple[str, ...]
) -> tuple[str, ...]:
    found = list(notes)
    single = [name for name, table in tables.items() if table.freedom_within == 0]
    if single:
        found.append(
            f"no build holds two specimens of {', '.join(single)}: scatter within builds is unknown there, "
            "and the next part is taken to be as its build"
        )
    direct = any(item.key.quantity == "z_ratio" for item in data.observations)
    measured = {item.key.quantity for item in data.observations}
    if direct and set(RATIO_PARTS) <= measured:
        found.append("z_ratio rows are not used: the ratio follows from the strengths, which are there too")
    for name in dict.fromkeys(table.quantity for table in tables.values()):
        found += method_words(name, data.observations)
    return tuple(found)
