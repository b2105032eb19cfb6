"""What matters, what interacts, what drifted, and what cannot be told: the answer of `learn`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.infer.classical import Classical, classical_effects, drift_sentences
from voidless.infer.compare import adjusted_holm
from voidless.infer.confounding import Confounding, find_confounding
from voidless.infer.learned import CampaignModel, Noise
from voidless.infer.response import ResponseTable
from voidless.infer.shares import Shares, variance_shares
from voidless.infer.table import TrainingData
from voidless.infer.torn import torn_builds

__all__ = ["Effects", "effects"]

Floats = NDArray[np.float64]

# An interaction is put into words when its share is at least this large and told from 0.
_WORTH_SAYING = 0.03
_FEWEST_BUILDS = 3
"""Builds of a response below which nothing is said of its effects. [1] Our choice."""
_FEWEST_SESSIONS = 3
"""Sessions from which something is said of how they differ. [1] Our choice."""
_UNCONFIRMED = "; the classical model does not confirm it"
_MOSTLY_FORETOLD = "; mostly foretold, by too few builds to tell it by themselves"


@dataclass(frozen=True)
class Effects:
    """
    Effects of every response, from the learned surface and from a classical model side by side.

    Attributes
    ----------
    shares : dict of str to Shares
        From the learned surface, by response.
    classical : dict of str to Classical
        From build means, by response with data.
    noise : dict of str to Noise
        Scatter between and within builds.
    confounded : tuple of Confounding
        What the builds do not separate.
    statements : tuple of str
        Plain sentences, most important first.
    """

    shares: dict[str, Shares]
    classical: dict[str, Classical]
    noise: dict[str, Noise]
    confounded: tuple[Confounding, ...]
    statements: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return plain data for JSON."""
        return {
            "responses": {
                name: {
                    "surface": item.to_dict(),
                    "classical": self.classical[name].to_dict() if name in self.classical else None,
                    "scatter": vars(self.noise[name]) if name in self.noise else None,
                }
                for name, item in self.shares.items()
            },
            "confounded": [
                {"factor": item.factor, "other": item.other, "share": item.share, "sentence": item.sentence}
                for item in self.confounded
            ],
            "statements": list(self.statements),
        }


def effects(model: CampaignModel, data: TrainingData, rng: np.random.Generator) -> Effects:
    """
    Return effects, interactions, drift and confounding of a campaign.

    Parameters
    ----------
    model : CampaignModel
        Model fitted to `data`.
    data : TrainingData
        Builds and observations.
    rng : numpy.random.Generator
        Source of randomness.
    """
    tables = {name: item.table for name, item in model.outputs.items() if item.table is not None}
    used = sorted({int(row) for table in tables.values() for row in table.rows})
    confounded = _confounded(model, data, used)
    shares = variance_shares(model, rng)
    classical = {name: classical_effects(model, data, table, confounded) for name, table in tables.items()}
    statements = [*_suspicions(model, data), *_torn(data), *(item.sentence for item in confounded)]
    blocked = {item.factor for item in confounded} | {item.other for item in confounded}
    for name, item in shares.items():
        if name in tables and len(set(tables[name].rows.tolist())) < _FEWEST_BUILDS:
            continue
        said = _surface_statements(model, name, item, blocked, classical.get(name))
        statements += said or _nothing_told(name, classical.get(name))
    statements += drift_sentences({name: rows.drift for name, rows in classical.items()})
    scatter = model.noise
    # Where builds are too few for their factors, scatter between them is what was assumed, not what was found.
    told = [name for name in tables if classical[name].model != "none"]
    statements += [text for name in told if (text := _scatter_sentence(name, scatter[name]))]
    statements += _session_sentences({name: classical[name] for name in told}, model, tables)
    return Effects(shares, classical, model.noise, confounded, tuple(statements))


def _confounded(model: CampaignModel, data: TrainingData, used: list[int]) -> tuple[Confounding, ...]:
    if len(used) < 4:
        return ()
    points = model.space.points([data.builds[row].settings for row in used])
    nuisance: Mapping[str, Floats] = {
        name: np.array([getattr(data.builds[row], name) or 0.0 for row in used], dtype=float)
        for name in model.nuisance.names
    }
    sessions = model.nuisance.sessions[used]
    return find_confounding(model.space.columns(points), nuisance, sessions)


def _surface_statements(
    model: CampaignModel, name: str, item: Shares, blocked: set[str], classical: Classical | None
) -> list[str]:
    if name in model.outputs and model.outputs[name].table is None:
        return []
    found = []

    def unconfirmed(*factors: str) -> str:
        if classical is not None and classical.model == "none":
            return _MOSTLY_FORETOLD
        return _UNCONFIRMED if classical is not None and classical.stands(*factors) is False else ""

    allowed = [factor for factor in item.main if factor not in blocked]
    ranked = sorted(allowed, key=lambda factor: -item.main[factor][0])
    for factor in ranked[:2]:
        share, (change, low, high) = item.main[factor][0], item.slopes[factor]
        own = model.space.factors[model.space.names.index(factor)]
        if share >= _WORTH_SAYING and low * high > 0.0:
            found.append(
                f"{name}: {factor} explains {100 * share:.0f} % of the change; "
                f"{change:+.3g} from {own.low:g} to {own.high:g} (95 % {low:.3g} to {high:.3g})"
                f"{unconfirmed(factor)}."
            )
        elif share >= _WORTH_SAYING and item.main[factor][1] > _WORTH_SAYING:
            found.append(
                f"{name}: {factor} explains {100 * share:.0f} % of the change, rising and falling{unconfirmed(factor)}."
            )
    for pair, (share, low, _) in sorted(item.pairs.items(), key=lambda row: -row[1][0])[:1]:
        if share >= _WORTH_SAYING and low > 0.2 * _WORTH_SAYING and not blocked & set(pair):
            found.append(
                f"{name}: {pair[0]} and {pair[1]} interact ({100 * share:.0f} % of the change){unconfirmed(*pair)}."
            )
    return found


def _nothing_told(name: str, classical: Classical | None) -> list[str]:
    """Return a sentence where builds are enough to tell effects and tell none."""
    tested = [row for row in classical.rows if row.p is not None] if classical is not None else []
    if classical is None or not tested or classical.claims():
        return []
    return [f"{name}: no effect of a setting is told from chance."]


def _scatter_sentence(name: str, noise: Noise) -> str | None:
    if not noise.within_known or noise.within <= 0.0:
        return None
    ratio = noise.between / noise.within
    return (
        f"{name}: builds of the same settings differ by {noise.between:.3g} (standard deviation), "
        f"specimens of one build by {noise.within:.3g}; ratio {ratio:.2g}."
    )


def _session_sentences(
    classical: Mapping[str, Classical], model: CampaignModel, tables: Mapping[str, ResponseTable]
) -> list[str]:
    """Return where days, lots or batches differ more than builds of one, beyond chance (Holm over all responses)."""
    tested = {name: item.session_p for name, item in classical.items() if item.session_p is not None}
    found = []
    for name, p in zip(tested, adjusted_holm([p for p in tested.values() if p is not None]), strict=True):
        apart, alike = (np.sqrt(classical[name].components.get(key, 0.0)) for key in ("session", "residual"))
        sessions = np.unique(model.nuisance.sessions[tables[name].rows]).size
        if sessions >= _FEWEST_SESSIONS and p < 0.05 and apart > alike:
            found.append(
                f"{name}: sessions differ by {apart:.3g} (standard deviation, from {sessions} of them), more than "
                f"builds of one session ({alike:.3g}): look for what changed between them, as lot, drying or room."
            )
    return found


def _torn(data: TrainingData) -> list[str]:
    return [
        f"{name}: specimens of build {item.build} lie further apart than chance gives, {item.low[0]} at "
        f"{item.low[1]:.3g} and {item.high[0]} at {item.high[1]:.3g}, where those of one build usually differ by "
        f"{item.usual:.2g} (standard deviation); check for a spoiled specimen or a slip."
        for name, found in torn_builds(data).items()
        for item in found
    ]


def _suspicions(model: CampaignModel, data: TrainingData) -> list[str]:
    found = []
    for name, check in model.check().items():
        builds = [data.builds[row] for row in check["suspicious"]]
        found += [
            f"{name}: build {build.label} of run {build.run} is far from what other builds foretell; check for a "
            "swapped row or a slip."
            for build in builds
        ]
        if check["swapped"]:
            first, second = (data.builds[row].label for row in check["swapped"])
            found.append(
                f"{name}: builds {first} and {second} fit far better with their values exchanged; check whether "
                "their rows were swapped. Until then no effect on this response is to be trusted."
            )
    return found
