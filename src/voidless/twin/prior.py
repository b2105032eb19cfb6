"""The twin as a prior that a campaign calibrates."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.space import Space
from voidless.errors import InputError
from voidless.machines.types import Machine
from voidless.materials.types import Material
from voidless.twin.chain import responses_of, run_chain, supported
from voidless.twin.context import DEFAULT_CONTEXT, context_of
from voidless.twin.ground import Ground, ground_of
from voidless.twin.heat import Remembered, WarmthOf
from voidless.twin.links import LINKS
from voidless.twin.parameters import PARAMETERS, Parameter, prior_sd
from voidless.twin.ranges import widening
from voidless.twin.state import SETTINGS

__all__ = ["TwinPrior", "twin_prior"]

Floats = NDArray[np.float64]

_ROWS_AT_ONCE = 4096
_PROBES = 64
_REMEMBERED = 64  # heats of at most _ROWS_AT_ONCE rows, two a call: below 20 MB in all
_MOST_CALIBRATED = 9
_WORTH = 0.1  # of a response's own error: what moves less is not worth learning


@dataclass(frozen=True)
class TwinPrior:
    """
    Means of the responses as a smooth function of settings and a few parameters.

    Attributes
    ----------
    responses : tuple of str
        What it predicts, in the order of the columns of a call.
    parameters : tuple of (name, mean, sd)
        Normal priors of theta; names that end in `_log` are logarithms of factors.
    discrepancy_sd : mapping of str to float
        Standard deviation of the twin's own error, typical over the space. [shop unit]
    """

    responses: tuple[str, ...]
    parameters: tuple[tuple[str, float, float], ...]
    discrepancy_sd: Mapping[str, float]
    space: Space
    fixed: Mapping[str, float]
    ground: Ground
    context: Mapping[str, float]
    warmth: WarmthOf = field(default_factory=lambda: Remembered(_REMEMBERED), repr=False, compare=False)

    def __call__(self, points: Floats, theta: Floats) -> Floats:
        """
        Return the responses.

        Parameters
        ----------
        points : (n, k) float array
            Settings, in the columns of the space. [shop units]
        theta : (p,) float array
            Parameters, in the order of `parameters`.

        Returns
        -------
        values : (n, r) float array
            In the order of `responses`. [shop units]

        Raises
        ------
        InputError
            The number of parameters is wrong or a setting is impossible.
        """
        rows = np.atleast_2d(np.asarray(points, dtype=float))
        given = np.asarray(theta, dtype=float).ravel()
        if given.size != len(self.parameters):
            raise InputError(
                "twin prior",
                f"{given.size} parameters",
                f"{len(self.parameters)} parameters",
                "Give one value for each.",
            )
        named = {name: float(value) for (name, _, _), value in zip(self.parameters, given, strict=True)}
        parts = [
            self._part(rows[start : start + _ROWS_AT_ONCE], named)
            for start in range(0, len(rows), _ROWS_AT_ONCE)
        ]
        return np.concatenate(parts) if parts else np.empty((0, len(self.responses)))

    def gradient(self, points: Floats, theta: Floats) -> tuple[Floats, Floats]:
        """
        Return the slopes of the responses along parameters and settings.

        Parameters
        ----------
        points : (n, k) float array
            Settings, in the columns of the space. [shop units]
        theta : (p,) float array
            Parameters.

        Returns
        -------
        by_theta : (n, r, p) float array
            Central differences over 0.002 of each prior standard deviation. [unit of response/parameter]
        by_setting : (n, r, k) float array
            Central differences over 0.0002 of each factor's range, which they may leave by half of that.
            [unit of response/setting]

        Raises
        ------
        InputError
            As for a call.
        """
        rows, given = np.atleast_2d(np.asarray(points, dtype=float)), np.asarray(theta, dtype=float).ravel()
        by_theta = np.empty((len(rows), len(self.responses), given.size))
        for place, (_, _, sd) in enumerate(self.parameters):
            step = 1e-3 * sd * np.eye(given.size)[place]
            by_theta[..., place] = (self(rows, given + step) - self(rows, given - step)) / (2e-3 * sd)
        reach = self.space.high - self.space.low
        by_setting = np.empty((len(rows), len(self.responses), reach.size))
        for place, span in enumerate(reach):
            step = 1e-4 * span * np.eye(reach.size)[place]
            by_setting[..., place] = (self(rows + step, given) - self(rows - step, given)) / (2e-4 * span)
        return by_theta, by_setting

    def _part(self, points: Floats, theta: Mapping[str, float]) -> Floats:
        columns = {name: np.full(len(points), value) for name, value in self.fixed.items()}
        columns.update(self.space.columns(points))
        found = responses_of(run_chain(columns, self.ground, self.context, theta, self.warmth))
        values = np.empty((len(points), len(self.responses)))
        for column, name in enumerate(self.responses):
            values[:, column] = found[name]
        return values


def twin_prior(
    space: Space,
    fixed: Mapping[str, float],
    material: Material,
    machine: Machine,
    responses: Sequence[str],
) -> TwinPrior:
    """
    Return the twin as a prior for a campaign.

    Parameters
    ----------
    space : Space
        Factors of the campaign.
    fixed : mapping of str to float
        Every other setting, and any name of `context.DEFAULT_CONTEXT`. [shop units]
    material, machine
        Ground facts.
    responses : sequence of str
        What the campaign measures; what the twin cannot predict (a response of another kind, optics of an
        opaque polymer) is left out of `responses` of the result.

    Returns
    -------
    prior : TwinPrior
        With at most nine parameters.

    Raises
    ------
    InputError
        A setting is neither factor nor fixed, or a property that the twin needs is absent.

    Notes
    -----
    What of the twin's spread is not calibrated (parameters that only widen predictions) is part of
    `discrepancy_sd`, by a linear estimate at probes over the space. Scatter from build to build is not: the
    learning model has its own place for it.
    """
    ground = ground_of(material, machine)
    context = context_of({name: value for name, value in fixed.items() if name in DEFAULT_CONTEXT})
    settings = {
        name: float(value) for name, value in fixed.items() if name in SETTINGS and name not in space.names
    }
    _complete(space, settings)
    known = supported(ground)
    wanted = tuple(name for name in dict.fromkeys(responses) if name in known)
    columns = _probes(space, settings)
    own, moved = _reach(columns, ground, context, wanted, material, machine)
    chosen = _chosen(own, moved)
    return TwinPrior(
        wanted,
        tuple((item.name, 0.0, prior_sd(item, material, machine)) for item in chosen),
        _discrepancy(own, moved, {item.name for item in chosen}),
        space,
        settings,
        ground,
        context,
    )


def _complete(space: Space, fixed: Mapping[str, float]) -> None:
    missing = [name for name in SETTINGS if name not in fixed and name not in space.names]
    if missing:
        raise InputError(
            "twin prior",
            "no value for " + ", ".join(missing),
            "every setting as factor or fixed",
            "Fill them in first.",
        )


def _probes(space: Space, fixed: Mapping[str, float]) -> dict[str, Floats]:
    from scipy.stats import qmc  # imported late: slow to load, and only this function needs it

    unit = qmc.Sobol(len(space.factors), scramble=False).random(_PROBES)
    columns = {name: np.full(_PROBES, value) for name, value in fixed.items()}
    columns.update(space.columns(space.from_unit(0.02 + 0.96 * unit)))
    return columns


def _reach(
    columns: Mapping[str, Floats],
    ground: Ground,
    context: Mapping[str, float],
    wanted: Sequence[str],
    material: Material,
    machine: Machine,
) -> tuple[dict[str, Floats], dict[str, dict[str, Floats]]]:
    """Return the twin's own error by response, and what one sd of each lasting parameter moves, at probes."""
    centre = run_chain(columns, ground, context, {})
    base, wide = responses_of(centre), widening(centre, material)
    own = {name: LINKS[name].discrepancy * LINKS[name].slope(base[name]) * wide[name] for name in wanted}
    moved: dict[str, dict[str, Floats]] = {}
    for item in PARAMETERS:
        if item.scatter or not set(item.moves) & set(wanted):
            continue
        theta = {item.name: prior_sd(item, material, machine)}
        found = responses_of(run_chain(columns, ground, context, theta))
        moved[item.name] = {name: found[name] - base[name] for name in wanted}
    return own, moved


def _chosen(own: Mapping[str, Floats], moved: Mapping[str, Mapping[str, Floats]]) -> tuple[Parameter, ...]:
    """Return at most nine parameters worth learning: those that move some response most against its error."""
    weight = {
        item.name: max(
            (float(np.sqrt(np.mean((shift / own[name]) ** 2))) for name, shift in moved[item.name].items()),
            default=0.0,
        )
        for item in PARAMETERS
        if item.calibrate and item.name in moved
    }
    strong = [name for name in weight if weight[name] > _WORTH]
    kept = set(sorted(strong, key=lambda name: -weight[name])[:_MOST_CALIBRATED])
    return tuple(item for item in PARAMETERS if item.name in kept)


def _discrepancy(
    own: Mapping[str, Floats], moved: Mapping[str, Mapping[str, Floats]], calibrated: set[str]
) -> dict[str, float]:
    """Return the twin's root mean square error at probes over the space, uncalibrated parameters included."""
    found = {}
    for name, error in own.items():
        variance = error**2
        for parameter, shifts in moved.items():
            if parameter not in calibrated:
                variance = variance + shifts[name] ** 2
        found[name] = float(np.sqrt(np.mean(variance)))
    return found
