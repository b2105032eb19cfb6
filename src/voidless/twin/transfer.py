"""What a campaign may take over from calibrated ones: constants, as far as they belong to what stays the same."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from voidless.twin.prior import TwinPrior

__all__ = ["ODDS", "SHARES", "Belief", "Source", "StartedPrior", "comes_over", "one_started", "start_from"]

Floats = NDArray[np.float64]

# Whose property a constant is. What is not named belongs to material and machine together.
_OF_MACHINE = frozenset(
    {
        "flow_offset_log",
        "heating_log",
        "nozzle_offset_k",
        "cooling_log",
        "flow_scatter_log",
        "nozzle_scatter_k",
    }
)
_OF_MATERIAL = frozenset(
    {
        "weld_time_log", "strength_log", "toughness_log", "impact_logit", "bubble_log", "bubble_size_log",
        "water_log", "absorption_log", "browning_log", "expansion_log",
    }
)  # fmt: skip

SHARES = (0.3, 0.7, 1.0)
"""Shares of the prior scatter that may return: another lot, colour or month; a relation; a stranger. Assumed."""
ODDS = (0.6, 0.2, 0.2)
"""How likely each is before a build of the new campaign: whoever names a campaign has a reason. Assumed."""
_SAME, _RELATED, _STRANGE = SHARES


@dataclass(frozen=True)
class Source:
    """
    What a calibrated campaign knows.

    Attributes
    ----------
    names : tuple of str
        Constants.
    mean : (p,) float array
        Their values after its builds.
    covariance : (p, p) float array
        How sure they are, together: builds often tell a product of two constants better than either.
    misfit : mapping of str to float
        How far the calibrated twin lies from its builds, root mean square per response. [unit of the response]
    same_material, same_machine : bool
        Whether it shares them with the new campaign.
    """

    names: tuple[str, ...]
    mean: Floats
    covariance: Floats
    misfit: Mapping[str, float]
    same_material: bool
    same_machine: bool

    @property
    def returning(self) -> float:
        """Share of the prior's doubt that returns for what belongs to material and machine together. [1]"""
        return {2: _SAME, 1: _RELATED, 0: _STRANGE}[self.same_material + self.same_machine]


@dataclass(frozen=True)
class Belief:
    """
    How far a source is believed.

    Attributes
    ----------
    name : str
        Campaign.
    weights : tuple of float
        Of each of `SHARES`; they add to 1. [1]
    told : mapping of str to float
        By build of the new campaign: how many times likelier its values are with what comes over than without, as a
        natural logarithm. [1]
    source : Source
        What the campaign knows.
    """

    name: str
    weights: tuple[float, ...]
    told: Mapping[str, float]
    source: Source = field(repr=False, compare=False)

    @property
    def weight(self) -> float:
        """Expected share of what the source taught that comes over. [1]"""
        return float(sum(w * (1.0 - share**2) for w, share in zip(self.weights, SHARES, strict=True)))


@dataclass(frozen=True)
class StartedPrior:
    """
    The twin seen through what other campaigns know: its constants are a mix of independent standard normal ones.

    Attributes
    ----------
    base : TwinPrior
        The twin.
    centre : (p,) float array
        Its constants where all independent ones are 0.
    mix : (p, p) float array
        What one unit of each independent constant adds.
    discrepancy_sd : mapping of str to float
        Standard deviation of the twin's own error, as those campaigns let expect it. [shop unit]
    beliefs : tuple of Belief
        How far each of them is believed.
    """

    base: TwinPrior
    centre: Floats
    mix: Floats
    discrepancy_sd: Mapping[str, float]
    beliefs: tuple[Belief, ...] = field(default=(), compare=False)

    @property
    def responses(self) -> tuple[str, ...]:
        """What it predicts, in the order of the columns of a call."""
        return self.base.responses

    @property
    def parameters(self) -> tuple[tuple[str, float, float], ...]:
        """The independent constants, by number."""
        return tuple((f"started_{number}", 0.0, 1.0) for number in range(1, self.centre.size + 1))

    def __call__(self, points: Floats, theta: Floats) -> Floats:
        """Return the responses `(n, r)` at points `(n, k)` for the independent constants `(p,)`. [shop units]"""
        return self.base(points, self.centre + self.mix @ np.asarray(theta, dtype=float).ravel())

    def physical(self, mean: Floats, covariance: Floats) -> tuple[tuple[str, ...], Floats, Floats]:
        """Return names, means and covariance of the twin's own constants for those of the independent ones."""
        names = tuple(name for name, _, _ in self.base.parameters)
        return names, self.centre + self.mix @ mean, self.mix @ covariance @ self.mix.T


def start_from(
    prior: TwinPrior, sources: Sequence[Source], weights: Sequence[Sequence[float]] | None = None
) -> TwinPrior | StartedPrior:
    """
    Return the twin as calibrated campaigns leave it to a new one; as it was where nothing comes over.

    Parameters
    ----------
    prior : TwinPrior
        With constants as literature has them.
    sources : sequence of Source
        Calibrated campaigns.
    weights : (n, h) sequence of sequence of float or None
        Weight of each of `SHARES`, per source; None: `ODDS`. [1]

    Notes
    -----
    A constant of the machine comes over where the machine is the same, one of the material where the material is; one
    of both comes over with more doubt where one of them is the same. Where a share s of the prior's standard deviation
    returns, constants are those of the source times sqrt(1 - s²), as seen from the prior's mean, plus s times a draw of
    the prior: never less sure than without the source, and with s = 1 nothing of it is left. Shares are weighed,
    and the mixture has the mean and covariance of its parts. Several sources are averaged by their precision;
    where they disagree by more than they should, the result is widened (Birge, Phys. Rev. 40 (1932) 207). The twin's
    own error is treated alike, from how far the calibrated twin lies from the builds that calibrated it.
    """
    given = [ODDS] * len(sources) if weights is None else weights
    told = [
        _mixed([_told(prior, source, share) for share in SHARES], own)
        for source, own in zip(sources, given, strict=True)
        if comes_over(prior, source)
    ]
    if not told:
        return prior
    mean, covariance = told[0] if len(told) == 1 else _joined(prior, told)
    errors = _discrepancy(prior, sources, given)
    return StartedPrior(prior, mean, np.asarray(np.linalg.cholesky(covariance)), errors)


def comes_over(prior: TwinPrior, source: Source) -> bool:
    """Return whether any constant of the prior belongs to what source and campaign share."""
    return any(_share(name, source) < 1.0 for name, _, _ in prior.parameters if name in source.names)


def one_started(prior: TwinPrior, source: Source, place: int) -> StartedPrior:
    """Return the twin as one source leaves it, were the share at this place of `SHARES` the right one."""
    started = start_from(prior, [source], [np.eye(len(SHARES))[place]])
    assert isinstance(started, StartedPrior)
    return started


def _discrepancy(
    prior: TwinPrior, sources: Sequence[Source], weights: Sequence[Sequence[float]]
) -> dict[str, float]:
    """Return the twin's own error as the sources leave it: the widest one told, as far as they are believed."""
    found = dict(prior.discrepancy_sd)
    for name, own in prior.discrepancy_sd.items():
        told, doubt = [], 1.0
        for item, given in zip(sources, weights, strict=True):
            if name not in item.misfit:
                continue
            returning = np.maximum(SHARES, item.returning) ** 2
            believed = np.asarray(given) * (returning < 1.0)
            if not believed.sum() > 0.0:
                continue
            variance = (1.0 - returning) * item.misfit[name] ** 2 + returning * own**2
            told.append(float(believed @ variance / believed.sum()))
            doubt = min(doubt, 1.0 - float(believed.sum()))
        if told:
            found[name] = min(own, float(np.sqrt((1.0 - doubt) * max(told) + doubt * own**2)))
    return found


def _told(prior: TwinPrior, source: Source, least: float) -> tuple[Floats, Floats]:
    """Return means and covariance of the prior's constants, were at least this share of its scatter to return."""
    names = [name for name, _, _ in prior.parameters]
    start = np.array([row[1] for row in prior.parameters])
    own = np.diag([row[2] ** 2 for row in prior.parameters])
    shares = np.array([max(least, _share(name, source)) if name in source.names else 1.0 for name in names])
    come = [place for place, share in enumerate(shares) if share < 1.0]
    there = [source.names.index(names[place]) for place in come]
    mean, posterior = start.copy(), own.copy()
    posterior[np.ix_(come, come)] = source.covariance[np.ix_(there, there)]
    mean[come] = source.mean[there]
    keep = np.sqrt(1.0 - shares**2)
    return start + keep * (mean - start), keep[:, None] * posterior * keep + shares[:, None] * own * shares


def _mixed(parts: Sequence[tuple[Floats, Floats]], weights: Sequence[float]) -> tuple[Floats, Floats]:
    """Return mean and covariance of a mixture."""
    mean = sum((w * m for w, (m, _) in zip(weights, parts, strict=True)), np.zeros_like(parts[0][0]))
    spread = [w * (c + np.outer(m - mean, m - mean)) for w, (m, c) in zip(weights, parts, strict=True)]
    return mean, np.sum(spread, axis=0)


def _joined(prior: TwinPrior, told: Sequence[tuple[Floats, Floats]]) -> tuple[Floats, Floats]:
    """Return the average of several sources by precision; the prior, which each contains, counts once."""
    own = np.diag([row[2] ** -2 for row in prior.parameters])
    start = np.array([row[1] for row in prior.parameters])
    precisions = [np.linalg.inv(covariance) for _, covariance in told]
    extra = len(told) - 1
    total = sum(precisions, np.zeros_like(own)) - extra * own
    pulled = sum((p @ m for p, (m, _) in zip(precisions, told, strict=True)), np.zeros_like(start))
    covariance = np.linalg.inv(total)
    mean = covariance @ (pulled - extra * own @ start)
    apart = sum(float((m - mean) @ p @ (m - mean)) for p, (m, _) in zip(precisions, told, strict=True))
    return mean, covariance * max(1.0, apart / (extra * start.size))


def _share(name: str, source: Source) -> float:
    """Return the share of the prior's standard deviation that returns; 1 where nothing comes over."""
    if name in _OF_MACHINE:
        return _SAME if source.same_machine else 1.0
    if name in _OF_MATERIAL:
        return _SAME if source.same_material else 1.0
    return source.returning
