"""The space of the invented laboratories, what a build there gives, and what is true of a setting."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.space import Space
from voidless.campaign.types import (
    Bound,
    Build,
    BuildOutcome,
    Factor,
    Observation,
    ResponseKey,
    Specification,
)

Floats = NDArray[np.float64]
Values = dict[str, Floats]

SPACE = Space(
    (
        Factor("layer_mm", 0.10, 0.30, 0.02),
        Factor("width_mm", 0.40, 0.70, 0.02),
        Factor("flow_pct", 90.0, 112.0, 0.5),
        Factor("nozzle_c", 215.0, 260.0, 1.0),
        Factor("fan_pct", 0.0, 100.0, 5.0),
        Factor("speed_mm_s", 15.0, 100.0, 1.0),
    )
)
USUAL = SPACE.snap(np.array([[0.2, 0.46, 100.0, 235.0, 50.0, 45.0]]))[0]
SETTING_SD = {"nozzle_c": 1.5, "flow_pct": 0.7}
MEASURED = ("clarity", "strength_xy_mpa", "strength_z_mpa", "size_error_mm")
_SD = np.array([SETTING_SD.get(name, 0.0) for name in SPACE.names])
# Where truth is told: dry filament, no session, middle of a campaign of 60 builds.
_MIDDLE = 30.5
_BUILDS_A_SESSION = 4
_CHANCES = 2000
_ROWS_AT_ONCE = 8000


def build_minutes(points: Floats) -> Floats:
    """Return the known build time, `(n,)`. [min]"""
    layer, width, speed = points[:, 0], points[:, 1], points[:, 5]
    return np.asarray(6.0 + 18_000.0 / (60.0 * layer * width * speed) + 1.2 / layer)


def load(points: Floats) -> Floats:
    """Return the share of the machine's stated melt rate that points ask for, `(n,)`. [1]"""
    rate = points[:, 0] * points[:, 1] * points[:, 5]
    return np.asarray(rate / (5.0 + 6.0 * (points[:, 3] - 215.0) / 45.0))


def feasible(points: Floats) -> NDArray[np.bool_]:
    """Return which points the machine's melt rate allows, `(n,)`."""
    return np.asarray(load(points) <= 1.0)


@dataclass(frozen=True)
class Bad:
    """
    What goes wrong in a laboratory.

    Attributes
    ----------
    drift : mapping of str to float
        Change of a response over 60 builds. [unit of the response]
    exposure : mapping of str to float
        Change of a response per hour since drying. [unit of the response per h]
    session, position : float
        Standard deviations of sessions and of four places on the bed, in units of the scatter of builds. [1]
    bound, slip : float
        Chance that a bar breaks at its radius, and that one value of a build is grossly wrong. [1]
    cold : float
        Builds whose rate is above this share of the machine's limit come out cold. [1]
    """

    drift: Mapping[str, float]
    exposure: Mapping[str, float]
    session: float = 0.5
    position: float = 0.3
    bound: float = 0.03
    slip: float = 0.02
    cold: float = 1.0


@dataclass(frozen=True)
class Lab:
    """
    One invented laboratory.

    Attributes
    ----------
    truth : callable
        Points `(n, k)` in shop units -> long-run means of `MEASURED`, each `(n,)`.
    between, within : mapping of str to float
        Standard deviations of builds and of specimens of one build. [unit of the response]
    best, best_point : float, (k,) float array
        Fastest build time among settings whose next build passes with 0.9, and such a setting. [min]
    """

    name: str
    seed: int
    truth: Callable[[Floats], Values]
    specifications: tuple[Specification, ...] = ()
    between: Mapping[str, float] = field(default_factory=dict)
    within: Mapping[str, float] = field(default_factory=dict)
    bad: Bad = field(default_factory=lambda: Bad({}, {}))
    best: float = float("nan")
    best_point: Floats = field(default_factory=lambda: np.zeros(0))

    def means(self, points: Floats) -> Values:
        """Return the long-run means `(n,)`, `z_ratio` included."""
        return _with_ratio(self.truth(points))

    def cold(self, points: Floats) -> NDArray[np.bool_]:
        """Return which settings build cold, `(n,)`."""
        rate = points[:, 0] * points[:, 1] * points[:, 5]
        return np.asarray(rate > self.bad.cold * (5.0 + 6.0 * (points[:, 3] - 215.0) / 45.0))

    def passes(self, values: Mapping[str, Floats]) -> NDArray[np.bool_]:
        """Return where values hold every specification."""
        held = np.ones(np.shape(values["clarity"]), dtype=bool)
        for spec in self.specifications:
            v = values[spec.response]
            held &= (v >= (-np.inf if spec.minimum is None else spec.minimum)) & (
                v <= (np.inf if spec.maximum is None else spec.maximum)
            )
        return held

    def mean_passes(self, points: Floats) -> NDArray[np.bool_]:
        """Return where the long-run means hold every specification and the build is not cold, `(n,)`."""
        return np.asarray(self.passes(self.means(points)) & ~self.cold(points))

    def pass_probability(self, points: Floats, count: int = _CHANCES) -> Floats:
        """Return the true probability that the next build passes, the same draws at every point, `(n,)`."""
        rng = np.random.default_rng([self.seed, 7])
        moves = _SD * rng.standard_normal((count, len(_SD)))
        noise = {name: rng.standard_normal(count) for name in MEASURED}
        places = rng.integers(0, 4, count)
        found = [np.zeros(0)]
        at_once = max(1, _ROWS_AT_ONCE // count)
        for first in range(0, len(points), at_once):
            moved = (points[first : first + at_once, None, :] + moves).reshape(-1, len(_SD))
            values = self.truth(moved)
            for name in MEASURED:
                spread = self.between[name] * np.sqrt(1.0 + self.bad.session**2)
                added = spread * noise[name] + self._place(name)[places]
                values[name] = (values[name].reshape(-1, count) + added).ravel()
            held = self.passes(_with_ratio(values)) & ~self.cold(moved)
            found.append(held.reshape(-1, count).mean(axis=1))
        return np.concatenate(found)

    def _place(self, name: str) -> Floats:
        """Return what the four places of the bed add to a response, with mean 0."""
        offsets = np.random.default_rng([self.seed, 11, MEASURED.index(name)]).standard_normal(4)
        return np.asarray(self.bad.position * self.between[name] * (offsets - offsets.mean()))

    def build(self, point: Floats, order: int) -> tuple[Build, list[Observation]]:
        """Return the build of a setting at its turn: the same order has the same luck, whatever is built."""
        rng = np.random.default_rng([self.seed, 13, order])
        moved = point + _SD * rng.standard_normal(len(_SD))
        exposure, place = float(rng.uniform(0.0, 6.0)), int(rng.integers(0, 4))
        session = 1 + (order - 1) // _BUILDS_A_SESSION
        tide = np.random.default_rng([self.seed, 17, session]).standard_normal(len(MEASURED))
        luck, bars = rng.standard_normal(len(MEASURED)), rng.standard_normal((len(MEASURED), 2))
        spoiled, wrong = rng.random(2), rng.random()
        at, side = int(rng.integers(0, len(MEASURED))), float(rng.choice([-1.0, 1.0]))
        cold = bool(self.cold(moved[None, :])[0])
        label = f"{order:03d}"
        build = Build(
            f"B{label}", f"R{label}", order, session, SPACE.settings(point), place + 1, exposure,
            outcome=BuildOutcome.COLD if cold else BuildOutcome.OK,
        )  # fmt: skip
        if cold:
            return build, []
        means, seen = self.truth(moved[None, :]), []
        for number, name in enumerate(MEASURED):
            sd = self.between[name]
            mean = float(means[name][0]) + sd * (luck[number] + self.bad.session * tide[number])
            mean += float(self._place(name)[place]) + self.bad.exposure.get(name, 0.0) * exposure
            mean += self.bad.drift.get(name, 0.0) * (order - _MIDDLE) / 60.0
            if wrong < self.bad.slip and number == at:
                mean += 8.0 * side * sd
            seen += _specimens(
                build, name, mean, self.within.get(name, 0.0) * bars[number], spoiled, self.bad
            )
        return build, seen


def _specimens(
    build: Build, name: str, mean: float, shifts: Floats, spoiled: Floats, bad: Bad
) -> list[Observation]:
    """Return two bars of a strength, one plaque or block of anything else; a spoiled bar is a bound."""
    if not name.startswith("strength"):
        return [Observation(build.run, build.label, f"{name}-1", ResponseKey(name), mean)]
    found = []
    for number, shift in enumerate(shifts):
        broke = name == "strength_z_mpa" and spoiled[number] < bad.bound
        value = max((0.85 if broke else 1.0) * (mean + float(shift)), 0.1)
        found.append(
            Observation(
                build.run,
                build.label,
                f"{name}-{number + 1}",
                ResponseKey(name),
                value,
                bound=Bound.LOWER if broke else Bound.EXACT,
            )
        )
    return found


def _with_ratio(values: Values) -> Values:
    return {**values, "z_ratio": values["strength_z_mpa"] / values["strength_xy_mpa"]}
