"""
Campaigns of invented laboratories, with and without the twin: intervals against what is so.

`plain`: the smooth laboratory of the unit tests, learned without physics. `twin`: the twin's own chain at constants
drawn from their priors, plus a smooth error of its stated size, learned with the twin. `scattered`: as `plain`,
with settings that scatter as the campaign is told, most of what its builds scatter by. Three factors each, 24 builds.
"""

from dataclasses import dataclass, field, replace
from functools import cache
from importlib import util
from itertools import product
from pathlib import Path

import numpy as np

from voidless.campaign.space import Space
from voidless.campaign.types import (
    Build,
    Factor,
    Objective,
    Observation,
    Probability,
    ResponseKey,
    Specification,
)
from voidless.infer.model import TrainingData, fit_model
from voidless.infer.propose import propose
from voidless.infer.search import even_points
from voidless.infer.shares import variance_shares
from voidless.infer.window import find_window
from voidless.machines import load_machine
from voidless.materials import load_material
from voidless.settings import default_settings
from voidless.twin.links import LINKS
from voidless.twin.prior import twin_prior

_SPEC = util.spec_from_file_location(
    "invented_for_campaigns", Path(__file__).parents[1] / "unit" / "infer" / "invented.py"
)
lab = util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(lab)

BUILDS, LEVEL = 24, 0.9
_SPACE = Space(
    (Factor("flow_pct", 94.0, 110.0), Factor("nozzle_c", 225.0, 255.0), Factor("speed_mm_s", 15.0, 60.0))
)
_RESPONSES = ("clarity", "strength_z_mpa", "strength_xy_mpa")
_WAVES, _LENGTH = 40, 0.8


@dataclass(frozen=True)
class Bench:
    """A truth with its scatter, limits, and the prior that a campaign is given."""

    space: Space
    truth: object
    between: dict
    within: dict
    specifications: tuple
    prior: object = None
    setting_sd: dict = field(default_factory=dict)

    def moved(self, points, rng):
        """Return the settings that builds at points had."""
        return points + self.space.spread(self.setting_sd) * (
            self.space.high - self.space.low
        ) * rng.standard_normal(points.shape)

    def campaign(self, points, rng):
        """Return builds and observations at points `(n, 3)`: two strengths a build, one clarity."""
        builds, seen, means = [], [], self.truth(self.moved(points, rng))
        for row, point in enumerate(points):
            label = f"B{row + 1:02d}"
            builds.append(Build(label, f"R{row + 1:02d}", row + 1, 1, self.space.settings(point)))
            for name, mean in means.items():
                here = mean[row] + self.between[name] * rng.standard_normal()
                for part in range(2 if self.within[name] else 1):
                    value = float(max(here + self.within[name] * rng.standard_normal(), 1e-3))
                    seen.append(Observation(f"R{row + 1:02d}", label, f"{part}", ResponseKey(name), value))
        return builds, seen

    def chance(self, points):
        """Return the true probability that the next build passes, `(n,)`."""
        rng = np.random.default_rng(1)
        if self.setting_sd:
            drawn = self.truth(self.moved(np.tile(points, (4000, 1)), rng))
            means = {name: mean.reshape(4000, -1) for name, mean in drawn.items()}
        else:
            means = self.truth(points)
        draws = {
            name: mean + self.between[name] * rng.standard_normal((4000, 1)) for name, mean in means.items()
        }
        held = np.ones((4000, len(points)), dtype=bool)
        for spec in self.specifications:
            held &= (draws[spec.response] >= spec.bounds[0]) & (draws[spec.response] <= spec.bounds[1])
        return held.mean(axis=0)


def bench(kind, seed):
    """Return the laboratory of a kind and seed."""
    if kind in ("plain", "scattered"):
        specs = (Specification("clarity", 0.66), Specification("strength_z_mpa", 30.0))
        found = Bench(lab.SPACE, lab.truth, lab.BETWEEN, lab.WITHIN, specs)
        if kind == "plain":
            return found
        own = {name: 0.3 * sd for name, sd in lab.BETWEEN.items()}
        return replace(found, between=own, setting_sd={"flow_pct": 1.0, "nozzle_c": 3.0})
    return _of_the_twin(seed)


@cache
def _prior():
    material, machine = load_material("petg"), load_machine("bench-0.4")
    fixed = {k: v for k, v in default_settings(material, machine).items() if k not in _SPACE.names}
    return twin_prior(_SPACE, fixed, material, machine, _RESPONSES)


def _of_the_twin(seed):
    prior, rng = _prior(), np.random.default_rng([seed, 78])
    theta = np.array([mean + sd * np.clip(rng.standard_normal(), -2, 2) for _, mean, sd in prior.parameters])
    waves = rng.standard_normal((3, _WAVES)) / _LENGTH
    phases, weights = rng.uniform(0.0, 2.0 * np.pi, _WAVES), rng.standard_normal((_WAVES, len(_RESPONSES)))

    def truth(points):
        values = prior(points, theta)
        errors = np.sqrt(2.0 / _WAVES) * np.cos(_SPACE.to_unit(points) @ waves + phases) @ weights
        found = {}
        for place, name in enumerate(prior.responses):
            link = LINKS[name]
            moved = link.forward(values[:, place]) + link.discrepancy * errors[:, place]
            found[name] = np.asarray(link.back(moved))
        return found

    even = truth(_SPACE.from_unit(even_points(2000, 3, np.random.default_rng(0))))
    between = {name: 0.03 * float(np.std(values)) for name, values in even.items()}
    within = {name: 1.5 * between[name] if name != "clarity" else 0.0 for name in even}
    limits = tuple(
        Specification(name, float(np.quantile(even[name], 0.6))) for name in ("clarity", "strength_z_mpa")
    )
    return Bench(_SPACE, truth, between, within, limits, prior)


def _minutes(points):
    return 10.0 + 900.0 / points[:, 2]


def _everywhere(points):
    return np.ones(len(points), dtype=bool)


@dataclass
class Seen:
    """What one campaign said against what was so; lists of 0 and 1 unless said otherwise."""

    changes: list
    next_build: list
    next_part: list
    recipe_build: list
    proposals: list
    recipe: list
    """(stated, true) probability of a claimed recipe."""
    corner: list
    """(stated, true) probability at the truly worst corner of its tolerance box."""
    inside: list
    """True probability at points inside of the box."""


def simulate(kind, seed):
    """Return what the campaign of a seed said and what is so."""
    own, rng = bench(kind, seed), np.random.default_rng([seed, 79])
    at = own.space.from_unit(even_points(BUILDS, 3, rng))
    builds, seen = own.campaign(at, rng)
    sd = own.setting_sd
    data = TrainingData(
        own.space, builds, seen, prior=own.prior, known={"build_min": _minutes}, setting_sd=sd
    )
    model = fit_model(data, rng)
    found = Seen(_changes(own, model, rng), [], [], [], [], [], [], [])
    some = own.space.from_unit(even_points(40, 3, rng))
    found.next_build, found.next_part = _intervals(own, model, some, rng)
    asked = (model, own.specifications, Objective(), own.space, _everywhere)
    window = find_window(
        *asked, confidence=LEVEL, kind=Probability.NEXT_BUILD, setting_sd=sd, rng=rng, seeds=at
    )
    found.recipe_build = _intervals(own, model, window.recipe.point[None, :], rng)[0]
    proposed = propose(*asked, 1, rng, window=window, confidence=LEVEL, setting_sd=sd, builds=at)
    points = np.array([own.space.point(item.settings) for item in proposed])
    found.proposals = _intervals(own, model, points, rng)[0]
    if window.claim:
        recipe = window.recipe
        found.recipe = [(recipe.probability, float(own.chance(recipe.point[None, :])[0]))]
    if window.claim and window.box is not None:
        _box(own, window, found, rng)
    return found


def _changes(own, model, rng):
    """Return which 95 % intervals of changes from the low to the high end cover, per response and factor."""
    unit, shares, covered = even_points(4000, 3, np.random.default_rng(0)), variance_shares(model, rng), []
    for column, factor in enumerate(own.space.names):
        ends = [unit.copy(), unit.copy()]
        ends[0][:, column], ends[1][:, column] = 0.0, 1.0
        low, high = (own.truth(own.space.from_unit(end)) for end in ends)
        for name in low:
            _, least, most = shares[name].slopes[factor]
            covered.append(least <= float(np.mean(high[name] - low[name])) <= most)
    return covered


def _intervals(own, model, points, rng):
    """Return which 95 % intervals hold the mean of the next build, and which the next part, at points."""
    told, means = model.predict(points, own.setting_sd), own.truth(own.moved(points, rng))
    builds, parts = [], []
    for name, mean in means.items():
        build = mean + own.between[name] * rng.standard_normal(len(points))
        part = build + own.within[name] * rng.standard_normal(len(points))
        builds += ((told[name].low <= build) & (build <= told[name].high)).tolist()
        if own.within[name]:
            parts += ((told[name].part_low <= part) & (part <= told[name].part_high)).tolist()
    return builds, parts


def _box(own, window, found, rng):
    """Tell the box of a claimed recipe: its truly worst corner, and points inside."""
    low, high = window.box.low, window.box.high
    corners = np.array(list(product(*zip(low, high, strict=True))))
    found.corner = [(window.box.lowest, float(own.chance(corners).min()))]
    found.inside = own.chance(low + (high - low) * rng.random((200, low.size))).tolist()
