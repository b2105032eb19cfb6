"""Truths of the twin's kind, and the physics priors that a campaign is given."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np
from benchmarks.labs.bench import MEASURED, SPACE
from numpy.typing import NDArray

from voidless.infer.prior import Prior
from voidless.machines import load_machine
from voidless.materials import load_material
from voidless.settings import default_settings
from voidless.twin.chain import responses_of, run_chain
from voidless.twin.links import LINKS
from voidless.twin.parameters import PARAMETERS, prior_sd
from voidless.twin.prior import TwinPrior, twin_prior

Floats = NDArray[np.float64]

_WAVES = 40
_LENGTH = 0.8
_OFF = 1.5
_NO_BUBBLES = -6.0


@cache
def plain_prior() -> TwinPrior:
    """Return the twin as a campaign with a copolyester on a bench machine gets it."""
    material, machine = load_material("petg"), load_machine("bench-0.4")
    return twin_prior(SPACE, default_settings(material, machine), material, machine, MEASURED)


@dataclass(frozen=True)
class WithoutBubbles:
    """A prior that does not know one mechanism: bubbles are off and cannot be calibrated."""

    whole: TwinPrior

    @property
    def responses(self) -> tuple[str, ...]:
        """As the whole."""
        return self.whole.responses

    @property
    def parameters(self) -> tuple[tuple[str, float, float], ...]:
        """All but the bubbles'."""
        return tuple(row for row in self.whole.parameters if row[0] != "bubble_log")

    @property
    def discrepancy_sd(self) -> Mapping[str, float]:
        """As the whole."""
        return self.whole.discrepancy_sd

    def __call__(self, points: Floats, theta: Floats) -> Floats:
        """Return the responses without bubbles."""
        place = [row[0] for row in self.whole.parameters].index("bubble_log")
        return self.whole(points, np.insert(np.asarray(theta, dtype=float), place, _NO_BUBBLES))


def prior_for(name: str) -> Prior:
    """Return the physics prior that a campaign of a laboratory is given."""
    return WithoutBubbles(plain_prior()) if name == "cousin" else plain_prior()


def kin_truth(name: str, rng: np.random.Generator) -> Callable[[Floats], dict[str, Floats]]:
    """
    Return a truth of the twin's kind: its chain at other constants, plus a smooth error of its stated size.

    `kin` draws every constant from its prior; in `cousin` each lies 1.5 standard deviations off, either way.
    """
    theta = {}
    for constant, sd in constants().items():
        drawn = rng.standard_normal() if name == "kin" else _OFF * rng.choice([-1.0, 1.0])
        theta[constant] = float(np.clip(drawn, -2.0, 2.0)) * sd
    return twin_truth(theta, rng)


def constants() -> dict[str, float]:
    """Return the twin's uncertain constants and their prior standard deviations."""
    material, machine = load_material("petg"), load_machine("bench-0.4")
    return {item.name: prior_sd(item, material, machine) for item in PARAMETERS if not item.scatter}


def twin_truth(theta: Mapping[str, float], rng: np.random.Generator) -> Callable[[Floats], dict[str, Floats]]:
    """Return the twin's chain at given constants, plus a smooth error of its stated size."""
    prior = plain_prior()
    waves = rng.standard_normal((6, _WAVES)) / _LENGTH
    phases = rng.uniform(0.0, 2.0 * np.pi, _WAVES)
    weights = rng.standard_normal((_WAVES, len(MEASURED)))

    def truth(points: Floats) -> dict[str, Floats]:
        columns = {setting: np.full(len(points), value) for setting, value in prior.fixed.items()}
        columns.update(SPACE.columns(points))
        found = responses_of(run_chain(columns, prior.ground, prior.context, theta))
        errors = np.sqrt(2.0 / _WAVES) * np.cos(SPACE.to_unit(points) @ waves + phases) @ weights
        values = {}
        for place, response in enumerate(MEASURED):
            link = LINKS[response]
            values[response] = link.back(link.forward(found[response]) + link.discrepancy * errors[:, place])
        return values

    return truth
