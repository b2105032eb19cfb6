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
from voidless.twin.learnable import own_error, probes, reach, worth_learning
from voidless.twin.parameters import prior_mean, prior_means, prior_sd
from voidless.twin.state import SETTINGS

__all__ = ["TwinPrior", "twin_prior"]

Floats = NDArray[np.float64]

_ROWS_AT_ONCE = 4096
_REMEMBERED = 64  # heats of at most _ROWS_AT_ONCE rows, two a call: below 20 MB in all


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
    lasting : mapping of str to float
        Constants that were measured on the machine and are not calibrated. [unit in the name]
    """

    responses: tuple[str, ...]
    parameters: tuple[tuple[str, float, float], ...]
    discrepancy_sd: Mapping[str, float]
    space: Space
    fixed: Mapping[str, float]
    ground: Ground
    context: Mapping[str, float]
    lasting: Mapping[str, float] = field(default_factory=dict)
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
        calibrated = {name: float(value) for (name, _, _), value in zip(self.parameters, given, strict=True)}
        named = {**self.lasting, **calibrated}
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
        parts = [
            (
                self._slopes(rows[start : start + _ROWS_AT_ONCE], given, self._theta_steps(given.size)),
                self._slopes(rows[start : start + _ROWS_AT_ONCE], given, self._setting_steps()),
            )
            for start in range(0, len(rows), _ROWS_AT_ONCE)
        ]
        return np.concatenate([part[0] for part in parts]), np.concatenate([part[1] for part in parts])

    def draws(self, points: Floats, count: int, rng: np.random.Generator) -> Floats:
        """
        Return the responses for parameters drawn from their priors: the spread before any data.

        The twin's own error (`discrepancy_sd`) and scatter from build to build are not in it.

        Parameters
        ----------
        points : (n, k) float array
            Settings, in the columns of the space. [shop units]
        count : int
            How many draws. [1]
        rng : Generator
            Where they come from. [1]

        Returns
        -------
        values : (count, n, r) float array
            In the order of `responses`. [shop units]

        Raises
        ------
        InputError
            A setting is impossible.
        """
        mean, sd = (np.array([row[k] for row in self.parameters], dtype=float) for k in (1, 2))
        thetas = mean + sd * rng.standard_normal((count, mean.size))
        rows = np.atleast_2d(np.asarray(points, dtype=float))
        found = [self(rows, theta) for theta in thetas]
        return np.stack(found) if found else np.empty((0, len(rows), len(self.responses)))

    def _theta_steps(self, size: int) -> list[tuple[Floats, Floats, float]]:
        """Return steps of points and parameters, and what they divide by."""
        none = np.zeros(len(self.space.factors))
        widths = [1e-3 * sd for _, _, sd in self.parameters]
        return [(none, width * np.eye(size)[k], width) for k, width in enumerate(widths)]

    def _setting_steps(self) -> list[tuple[Floats, Floats, float]]:
        reach, none = self.space.high - self.space.low, np.zeros(len(self.parameters))
        return [(1e-4 * span * np.eye(reach.size)[k], none, 1e-4 * span) for k, span in enumerate(reach)]

    def _slopes(self, rows: Floats, theta: Floats, steps: Sequence[tuple[Floats, Floats, float]]) -> Floats:
        """Return central differences along each step, (n, r, steps)."""
        found = np.empty((len(rows), len(self.responses), len(steps)))
        for place, (of_point, of_theta, width) in enumerate(steps):
            above, below = self(rows + of_point, theta + of_theta), self(rows - of_point, theta - of_theta)
            found[..., place] = (above - below) / (2.0 * width)
        return found

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
    columns = probes(space, settings)
    own, moved = reach(columns, ground, context, wanted, material, machine)
    chosen = worth_learning(own, moved)
    return TwinPrior(
        wanted,
        tuple((item.name, prior_mean(item, machine), prior_sd(item, material, machine)) for item in chosen),
        own_error(own, moved, {item.name for item in chosen}),
        space,
        settings,
        ground,
        context,
        prior_means(machine),
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
