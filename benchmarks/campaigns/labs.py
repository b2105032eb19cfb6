"""
Two invented laboratories whose truth is unlike any physics model of this project.

Nothing here is a measurement. Each seed is another material: optimum, interactions and scatter differ. The
specifications of a seed are set so that about 0.7 % of the allowed space meets them all.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from voidless.campaign.space import Space
from voidless.campaign.types import Factor, Specification
from voidless.infer.search import even_points

FACTORS = (
    Factor("layer_mm", 0.10, 0.30, 0.02),
    Factor("width_mm", 0.40, 0.70, 0.02),
    Factor("flow_pct", 90.0, 112.0, 0.5),
    Factor("nozzle_c", 210.0, 265.0, 1.0),
    Factor("fan_pct", 0.0, 100.0, 5.0),
    Factor("speed_mm_s", 15.0, 100.0, 1.0),
)
SPACE = Space(FACTORS)
SHARE = 0.007
SETTING_SD = {"nozzle_c": 1.5, "flow_pct": 0.7}


def build_minutes(points):
    layer, width, speed = points[:, 0], points[:, 1], points[:, 5]
    return 6.0 + 18_000.0 / (60.0 * layer * width * speed) + 1.2 / layer


def feasible(points):
    rate = points[:, 0] * points[:, 1] * points[:, 5]
    return rate <= 5.0 + 6.0 * (points[:, 3] - 210.0) / 55.0


@dataclass(frozen=True)
class Lab:
    """One invented truth: `means(points)` are long-run means of clarity, strengths and size error."""

    name: str
    seed: int
    numbers: dict
    specifications: tuple
    scatter: dict
    """Between-build standard deviation per response."""
    best: float

    def means(self, points):
        return TRUTHS[self.name](SPACE.to_unit(points), self.numbers)

    def build(self, point, rng):
        """True means of one build, its settings and everything else scattered."""
        moved = point + np.array([SETTING_SD.get(f.name, 0.0) for f in FACTORS]) * rng.standard_normal(6)
        means = self.means(moved[None, :])
        return {name: float(v[0] + self.scatter[name] * rng.standard_normal()) for name, v in means.items()}

    def passes(self, values):
        held = True
        for spec in self.specifications:
            v = values[spec.response]
            held = held & (v >= (-np.inf if spec.minimum is None else spec.minimum))
            held = held & (v <= (np.inf if spec.maximum is None else spec.maximum))
        return held

    def true_probability(self, point, rng, count=4000):
        """Probability that the true means of the next build pass."""
        sd = np.array([SETTING_SD.get(f.name, 0.0) for f in FACTORS])
        means = self.means(point + sd * rng.standard_normal((count, 6)))
        values = {name: v + self.scatter[name] * rng.standard_normal(count) for name, v in means.items()}
        values["z_ratio"] = values["strength_z_mpa"] / values["strength_xy_mpa"]
        return float(np.mean(self.passes(values)))

    def mean_passes(self, points):
        values = self.means(points)
        values["z_ratio"] = values["strength_z_mpa"] / values["strength_xy_mpa"]
        return self.passes(values)


def _saddle(u, n):
    """Smooth ridges and bumps: rational and periodic forms."""
    layer, width, flow, heat, fan, speed = u.T
    fill = flow - n["f0"] - n["fl"] * (layer - 0.5) + n["fw"] * (width - 0.5)
    warm = heat - n["h0"] - n["hs"] * (speed - 0.4) - 0.25 * (fan - 0.3)
    clarity = 0.82 / (
        1.0 + (fill / 0.28) ** 2 + np.maximum(-warm, 0.0) ** 2 / 0.12 + np.maximum(warm, 0.0) ** 2 / 0.5
    )
    clarity = clarity - 0.05 * np.sin(5.0 * layer + n["ph"]) - 0.06 * speed**2
    weld = 1.0 - np.exp(-3.5 * np.clip(0.75 + warm - 0.35 * fan * layer, 0.02, None))
    xy = 42.0 + 7.0 * np.tanh(2.5 * (fill + 0.15)) - 2.0 * speed
    size = 0.16 * fill + 0.10 * np.maximum(warm, 0.0) * (1.0 - fan) - 0.03 + 0.04 * speed * layer
    return {"clarity": clarity, "strength_xy_mpa": xy, "strength_z_mpa": xy * weld, "size_error_mm": size}


def _cliff(u, n):
    """Plateaus and cliffs: thresholds with sharp sides."""
    layer, width, flow, heat, fan, speed = u.T

    def step(x, at, sharp=14.0):
        return 1.0 / (1.0 + np.exp(-sharp * (x - at)))

    demand = layer * (0.5 + width) * (0.3 + speed)
    melt = step(heat - 0.8 * demand, n["m0"], 12.0)
    closed = step(flow - 0.25 * layer + 0.15 * width, n["c0"], 10.0)
    over = step(flow + 0.3 * heat, n["o0"], 9.0)
    burnt = step(heat - 0.4 * speed, n["b0"], 16.0)
    clarity = 0.15 + 0.65 * melt * closed - 0.22 * over - 0.3 * burnt - 0.08 * np.abs(layer - n["l0"])
    z = 10.0 + 33.0 * step(heat - 0.35 * fan - 0.3 * speed, n["z0"], 8.0) * (0.6 + 0.4 * closed) - 6.0 * burnt
    xy = 36.0 + 10.0 * closed - 4.0 * burnt + 2.0 * melt
    size = -0.12 + 0.24 * over + 0.08 * heat * (1.0 - fan) - 0.05 * width
    return {"clarity": clarity, "strength_xy_mpa": xy, "strength_z_mpa": z, "size_error_mm": size}


TRUTHS = {"saddle": _saddle, "cliff": _cliff}


def _numbers(name, rng):
    u = rng.uniform
    if name == "saddle":
        return {
            "f0": u(0.4, 0.7),
            "fl": u(0.1, 0.4),
            "fw": u(-0.2, 0.2),
            "h0": u(0.4, 0.7),
            "hs": u(0.2, 0.5),
            "ph": u(0, 6),
        }
    return {
        "m0": u(0.1, 0.3), "c0": u(0.35, 0.6), "o0": u(0.75, 1.0), "b0": u(0.55, 0.8),
        "l0": u(0.2, 0.8), "z0": u(0.15, 0.4),
    }  # fmt: skip


def make_lab(name, seed, share=SHARE):
    """Return one invented laboratory with specifications that `share` of the allowed space meets."""
    rng = np.random.default_rng([seed, len(name)])
    numbers = _numbers(name, rng)
    points = SPACE.snap(SPACE.from_unit(even_points(120_000, 6, rng)))
    points = points[feasible(points)]
    values = TRUTHS[name](SPACE.to_unit(points), numbers)
    values["z_ratio"] = values["strength_z_mpa"] / values["strength_xy_mpa"]
    centre = float(np.quantile(values["size_error_mm"], 0.5))
    low, high = 0.5, 0.9999
    for _ in range(40):  # one level for all limits, found by halving
        level = 0.5 * (low + high)
        specs = _specifications(values, level, centre)
        lab = Lab(name, seed, numbers, specs, {}, 0.0)
        met = float(np.mean(lab.passes(values)))
        low, high = (level, high) if met > share else (low, level)
    spread = {k: float(np.std(v)) for k, v in values.items()}
    scatter = {k: 0.025 * spread[k] for k in spread if k != "z_ratio"}
    inside = points[lab.passes(values)]
    return Lab(name, seed, numbers, specs, scatter, float(np.min(build_minutes(inside))))


def _specifications(values, level, centre):
    band = float(np.quantile(np.abs(values["size_error_mm"] - centre), 1.0 - 0.6 * level))
    return (
        Specification("clarity", float(np.quantile(values["clarity"], level))),
        Specification("z_ratio", float(np.quantile(values["z_ratio"], level))),
        Specification("size_error_mm", centre - band, centre + band),
    )
