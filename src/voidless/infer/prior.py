"""The physics expectation as learning sees it: a function of points and a few uncertain parameters."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.space import Space
from voidless.errors import ComputationError
from voidless.infer.bend import bend
from voidless.infer.transform import Transform

__all__ = ["Field", "JointPrior", "KnownPrior", "Prior", "PriorField"]

Floats = NDArray[np.float64]

# Standard deviation of a table's build time about the computed one; an assumption.
_KNOWN_SD = 0.15
# Half-width of the secant that stands for a derivative, in standard deviations of a parameter: wide enough to see past
# the steps of a table or a threshold.
_PARAMETER_STEP = 0.3
_NOWHERE: Mapping[int, float] = {}
_REMEMBERED = 20_000


class Prior(Protocol):
    """
    A physics model of several responses.

    Attributes
    ----------
    responses : tuple of str
        Quantities it gives, in column order.
    parameters : tuple of (str, float, float)
        Name, mean and standard deviation of each uncertain parameter; may be empty.
    discrepancy_sd : mapping of str to float
        How far the truth may lie from the model, one standard deviation per response. [shop unit]
    """

    @property
    def responses(self) -> tuple[str, ...]:
        """Quantities it gives."""
        ...

    @property
    def parameters(self) -> tuple[tuple[str, float, float], ...]:
        """Name, mean and standard deviation of each."""
        ...

    @property
    def discrepancy_sd(self) -> Mapping[str, float]:
        """Standard deviation of the model's own error."""
        ...

    def __call__(self, points: Floats, theta: Floats) -> Floats:
        """Return responses `(n, r)` at points `(n, k)` in shop units for parameters `(p,)`."""
        ...


@dataclass(frozen=True)
class KnownPrior:
    """A known function of settings, used as expectation of the same quantity when a table gives it too."""

    name: str
    function: Callable[[Floats], Floats]
    typical: float
    """Typical value, whose 15 % a table's value may lie off; an assumption. [unit of the quantity]"""

    @property
    def responses(self) -> tuple[str, ...]:
        """The one quantity."""
        return (self.name,)

    @property
    def parameters(self) -> tuple[tuple[str, float, float], ...]:
        """None."""
        return ()

    @property
    def discrepancy_sd(self) -> Mapping[str, float]:
        """A share of the typical value."""
        return {self.name: _KNOWN_SD * self.typical}

    def __call__(self, points: Floats, theta: Floats) -> Floats:  # noqa: ARG002 - it has no parameters
        """Return the function's values as one column."""
        return np.asarray(self.function(points), dtype=float).reshape(-1, 1)


@dataclass(frozen=True)
class JointPrior:
    """Several priors side by side; a response belongs to the first that gives it."""

    parts: tuple[Prior, ...]
    columns: tuple[tuple[int, int], ...]
    """Part and column of every response."""
    responses: tuple[str, ...]
    parameters: tuple[tuple[str, float, float], ...]
    discrepancy_sd: Mapping[str, float]

    @classmethod
    def of(cls, parts: Sequence[Prior]) -> JointPrior:
        """Return the priors as one."""
        where: dict[str, tuple[int, int]] = {}
        discrepancy: dict[str, float] = {}
        for number, part in enumerate(parts):
            for column, name in enumerate(part.responses):
                if name not in where:
                    where[name] = (number, column)
                    discrepancy[name] = float(part.discrepancy_sd[name])
        parameters = tuple(row for part in parts for row in part.parameters)
        return cls(tuple(parts), tuple(where.values()), tuple(where), parameters, discrepancy)

    def __call__(self, points: Floats, theta: Floats) -> Floats:
        """Return responses `(n, r)`; each part gets its own share of `theta`."""
        values, start = [], 0
        for part in self.parts:
            size = len(part.parameters)
            values.append(np.asarray(part(points, theta[start : start + size]), dtype=float))
            start += size
        return np.column_stack([values[number][:, column] for number, column in self.columns])


@dataclass(frozen=True)
class Field:
    """
    A prior evaluated at points, with its derivatives.

    Attributes
    ----------
    values : (n,) float array
        Transformed response at the expansion parameters.
    jacobian : (n, p) float array
        Change per standard deviation of each parameter.
    slope, curvature : (n, s) float array or None
        First and second change per unit of the unit cube, along the factors asked for.
    """

    values: Floats
    jacobian: Floats
    slope: Floats | None = None
    curvature: Floats | None = None


class PriorField:
    """
    A prior on transformed responses, expanded about parameters `theta`.

    Parameters
    ----------
    prior : Prior
        Physics model.
    space : Space
        Factors, to step in.
    transforms : mapping of str to Transform
        By quantity.
    """

    def __init__(self, prior: Prior, space: Space, transforms: Mapping[str, Transform]) -> None:
        self.prior = prior
        self.space = space
        self.transforms = transforms
        self.mean = np.array([row[1] for row in prior.parameters], dtype=float)
        self.sd = np.array([row[2] for row in prior.parameters], dtype=float)
        self.shift = np.zeros(self.mean.size)
        """Expansion point, in standard deviations from the parameters' means."""
        self._known: dict[str, dict[bytes, tuple[Floats, ...]]] = {}

    def move(self, shift: Floats) -> None:
        """Expand about other parameters from now on."""
        self.shift = shift
        self._known.clear()

    def discrepancy(self, points: Floats) -> dict[str, float]:
        """Return the standard deviation of the model's own error per quantity. [learning scale]"""
        fields = self.plain(points)
        found = {}
        for name, sd in self.prior.discrepancy_sd.items():
            transform = self.transforms[name]
            # the error is stated as a typical one of the space, so it is turned at the mean response
            typical = np.mean(transform.backward(fields[name].values), keepdims=True)
            found[name] = float(sd) * float(transform.slope(typical)[0])
        return found

    def evaluate(self, points: Floats, along: Mapping[int, float] = _NOWHERE) -> dict[str, Field]:
        """
        Return one field per quantity at points `(n, k)` in shop units.

        `along` are the columns of the factors whose slopes are wanted, and the steps for them. What was once
        evaluated is kept.
        """
        base, jacobian = self._remembered("parameters", points, self._with_jacobian)
        return self._fields(base, jacobian, points, along)

    def plain(self, points: Floats, along: Mapping[int, float] = _NOWHERE) -> dict[str, Field]:
        """Return fields without jacobian: ten times cheaper, and right at the expansion parameters only."""
        base = self._remembered("values", points, lambda fresh: (self._values(fresh, self.shift),))[0]
        return self._fields(base, np.zeros((*base.shape, self.mean.size)), points, along)

    def _fields(
        self, base: Floats, jacobian: Floats, points: Floats, along: Mapping[int, float]
    ) -> dict[str, Field]:
        slope = curvature = None
        if along:
            key = f"factors {tuple(along.items())}"
            slope, curvature = self._remembered(key, points, lambda fresh: self._slopes(fresh, along))
        return {
            name: Field(
                base[:, column],
                jacobian[:, column],
                None if slope is None else slope[:, column],
                None if curvature is None else curvature[:, column],
            )
            for column, name in enumerate(self.prior.responses)
        }

    def _remembered(
        self, what: str, points: Floats, function: Callable[[Floats], tuple[Floats, ...]]
    ) -> tuple[Floats, ...]:
        """Return `function(points)`, computed for points that were not asked before only."""
        known = self._known.setdefault(what, {})
        keys = [row.tobytes() for row in np.ascontiguousarray(points)]
        fresh = {key: row for row, key in enumerate(keys) if key not in known}
        if not keys:
            return function(points)
        if len(fresh) + len(known) > _REMEMBERED:
            known.clear()
            fresh = dict(zip(keys, range(len(keys)), strict=True))
        if fresh:
            parts = function(points[list(fresh.values())])
            known.update(zip(fresh, zip(*parts, strict=True), strict=True))
        return tuple(np.array(part) for part in zip(*(known[key] for key in keys), strict=True))

    def _with_jacobian(self, points: Floats) -> tuple[Floats, Floats]:
        base = self._values(points, self.shift)
        if not self.mean.size:
            return base, np.zeros((*base.shape, 0))
        steps = np.eye(self.mean.size) * _PARAMETER_STEP
        changes = [(self._values(points, self.shift + step) - base) / _PARAMETER_STEP for step in steps]
        return base, np.stack(changes, axis=-1)

    def _values(self, points: Floats, shift: Floats) -> Floats:
        raw = np.asarray(self.prior(points, self.mean + self.sd * shift), dtype=float)
        values = np.column_stack(
            [
                self.transforms[name].forward(raw[:, column])
                for column, name in enumerate(self.prior.responses)
            ]
        )
        if not np.all(np.isfinite(values)):
            raise ComputationError(
                "physics prior", "it gave a value that is not a finite number", "finite values"
            )
        return values

    def _slopes(self, points: Floats, along: Mapping[int, float]) -> tuple[Floats, Floats]:
        def values(unit: Floats) -> Floats:
            return self._values(self.space.from_unit(unit), self.shift)

        slope, curvature = bend(values, self.space.to_unit(points), along)
        return np.moveaxis(slope, 0, -1), np.moveaxis(curvature, 0, -1)
