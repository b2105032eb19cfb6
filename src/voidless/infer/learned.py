"""What a campaign has learned: joint predictions of every response with their uncertainty."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.space import Space
from voidless.campaign.types import Probability
from voidless.infer.belief import with_fancied_build
from voidless.infer.evidence import left_out
from voidless.infer.failure import FailureModel
from voidless.infer.gp import Conditioned
from voidless.infer.nuisance import Nuisance
from voidless.infer.output import Output
from voidless.infer.prior import PriorField
from voidless.infer.sampling import build_scatter, draw_responses
from voidless.infer.swapped import swapped
from voidless.infer.transform import transform_for

__all__ = ["CampaignModel", "Noise", "Summary"]

Floats = NDArray[np.float64]

# Seed of the fixed draws behind `predict`, so that the same model always prints the same interval.
_PREDICT_SEED = 20_251


@dataclass(frozen=True)
class Summary:
    """Mean, 95 % interval of the next build's mean, and 95 % interval of the next part, each `(n,)`."""

    mean: Floats
    low: Floats
    high: Floats
    part_low: Floats
    part_high: Floats


@dataclass(frozen=True)
class Noise:
    """
    Scatter of one response at one of its values, standard deviations. [unit of the response]

    Attributes
    ----------
    between, session, within, reading : float
        Between builds, between sessions, between specimens of a build, between readings.
    within_known : bool
        Whether some build held several specimens or readings; without, `within` is 0 and a part cannot
        be told from its build's mean.
    value : float
        Value of the response at which it scatters so. [unit of the response]
    quantity : str
        Quantity of the response: it is on the scale of its learning that scatter is the same at every value.
    """

    between: float
    session: float
    within: float
    reading: float
    within_known: bool
    value: float
    quantity: str

    def at(self, value: float) -> Noise:
        """Return the scatter at another value of the response."""
        here, there = transform_for(self.quantity).slope(np.array([self.value, value]))
        turned = {name: getattr(self, name) * here / there for name in ("between", "session", "within")}
        return replace(self, **turned, value=value)


@dataclass(frozen=True)
class CampaignModel:
    """
    Joint model of a campaign's responses.

    Attributes
    ----------
    space : Space
        Factors.
    outputs : mapping of str to Output
        Modelled responses by output name.
    field : PriorField or None
        Physics prior about its calibrated parameters.
    known : mapping of str to callable
        Responses that are known functions of points.
    derived : mapping of str to (str, str)
        Responses that are a quotient of two outputs.
    failure : FailureModel or None
        Where builds fail.
    nuisance : Nuisance
        What varied without being chosen.
    builds : int
        Builds with data or a logged failure.
    setting_sd : mapping of str to float
        Scatter of the settings of those builds, as stated. [shop units]
    notes : tuple of str
        Plain sentences that belong to every answer.
    """

    space: Space
    outputs: Mapping[str, Output]
    field: PriorField | None
    known: Mapping[str, Callable[[Floats], Floats]]
    derived: Mapping[str, tuple[str, str]]
    failure: FailureModel | None
    nuisance: Nuisance
    builds: int
    setting_sd: Mapping[str, float] = dataclasses.field(default_factory=dict)
    notes: tuple[str, ...] = ()
    _cache: dict[Any, Any] = dataclasses.field(default_factory=dict, repr=False, compare=False)

    @property
    def responses(self) -> tuple[str, ...]:
        """Names of all responses that draws give, derived and known ones included."""
        return tuple(dict.fromkeys([*self.outputs, *self.derived, *self.known]))

    @property
    def measured(self) -> int:
        """Builds with a result of the response that most of them have."""
        tables = [item.table for item in self.outputs.values() if item.table is not None]
        return max((int(np.unique(table.rows).size) for table in tables), default=0)

    @property
    def basis(self) -> str:
        """`data` once one build has a result, otherwise `prior`."""
        return "data" if self.builds else "prior"

    @property
    def weights(self) -> dict[str, float]:
        """Weight of the rival with physics, per output; 0 where there is no physics. [1]"""
        return {
            name: sum(w for w, variant in zip(item.weights, item.variants, strict=True) if variant.physics)
            for name, item in self.outputs.items()
        }

    @property
    def noise(self) -> dict[str, Noise]:
        """Scatter per output at its mean value and the most probable hyper-parameters of the heavier rival."""
        return {name: self._noise(item) for name, item in self.outputs.items()}

    def _noise(self, item: Output) -> Noise:
        heavy = item.variants[int(np.argmax(item.weights))]
        scales = heavy.prior.scales(heavy.white[0])
        table = item.table
        reading = 0.0
        if table is not None and table.freedom_reading > 0:
            reading = float(np.sqrt(table.squares_reading / table.freedom_reading))
        value = item.transform.backward(np.array([item.shift])) if table is None else table.values
        middle = float(np.mean(value))
        unit = item.scale / float(item.transform.slope(np.array([middle]))[0])
        return Noise(
            scales.between * unit,
            scales.session * unit,
            scales.within * unit,
            reading,
            heavy.prior.within,
            middle,
            item.quantity,
        )

    def draws(
        self,
        points: Floats,
        count: int,
        kind: Probability,
        rng: np.random.Generator,
        setting_sd: Mapping[str, float] | None = None,
        marginal: bool = True,
        glance: bool = False,
    ) -> dict[str, Floats]:
        """Return joint draws `(count, n)` of every response; see `sampling.draw_responses`."""
        return draw_responses(self, points, count, kind, rng, setting_sd, marginal, glance)

    def predict(
        self, points: Floats, setting_sd: Mapping[str, float] | None = None, count: int = 400
    ) -> dict[str, Summary]:
        """
        Return mean and 95 % intervals of every response.

        Parameters
        ----------
        points : (n, k) float array
            Points. [shop units]
        setting_sd : mapping of str to float or None
            Realised scatter of settings, by factor name. [shop units]
        count : int
            Draws behind the intervals.

        Returns
        -------
        summaries : dict of str to Summary
            By output name, for dry filament in mid-campaign. [unit of the quantity]
        """
        kinds = (Probability.NEXT_BUILD, Probability.NEXT_PART)
        build, part = (
            self.draws(points, count, kind, np.random.default_rng(_PREDICT_SEED), setting_sd)
            for kind in kinds
        )
        found = {}
        for name in self.responses:
            low, high = np.quantile(build[name], (0.025, 0.975), axis=0)
            part_low, part_high = np.quantile(part[name], (0.025, 0.975), axis=0)
            # a part scatters at least as much as its build's mean: what says otherwise is the error of the draws
            part_low, part_high = np.minimum(part_low, low), np.maximum(part_high, high)
            found[name] = Summary(build[name].mean(axis=0), low, high, part_low, part_high)
        return found

    def check(self) -> dict[str, dict[str, Any]]:
        """
        Return how each output foretells builds it has not seen, per row of its table.

        Returns
        -------
        check : dict
            Per output: `builds` (positions), `residual` and `sd` [learning scale], `z` [1], `suspicious`
            (positions of builds more than 3.5 standard deviations away), `swapped` (positions of two builds that
            fit far better with their values exchanged, or empty), `rms_z`.
        """
        found: dict[str, dict[str, Any]] = {}
        for name, item in self.outputs.items():
            if item.table is None:
                continue
            heavy = item.variants[int(np.argmax(item.weights))]
            residual, spread, _ = left_out(heavy.rows, heavy.prior.scales(heavy.white[0]))
            z = residual / spread
            found[name] = {
                "builds": item.table.rows.tolist(),
                "residual": (residual * item.scale).tolist(),
                "sd": (spread * item.scale).tolist(),
                "z": z.tolist(),
                "suspicious": sorted({int(row) for row in item.table.rows[np.abs(z) > 3.5]}),
                "swapped": self._swapped(item),
                "rms_z": float(np.sqrt(np.mean(z**2))),
            }
        return found

    def _swapped(self, item: Output) -> list[int]:
        assert item.table is not None
        heavy, table = item.variants[int(np.argmax(item.weights))], item.table
        values = item.transform.forward(table.values) / item.scale
        found = swapped(heavy.rows, heavy.prior.scales(heavy.white[0]), values, table.sides)
        return [] if found is None else sorted(int(table.rows[row]) for row in (found.first, found.second))

    def summary(self) -> dict[str, Any]:
        """Return what was learned as plain data for JSON."""
        check, noise, weights = self.check(), self.noise, self.weights
        return {
            "basis": self.basis,
            "builds": self.builds,
            "responses": {
                name: {
                    "scale": item.transform.name,
                    "builds": 0 if item.table is None else int(np.unique(item.table.rows).size),
                    "between_build_sd": noise[name].between,
                    "session_sd": noise[name].session,
                    "within_build_sd": noise[name].within if noise[name].within_known else None,
                    "reading_sd": noise[name].reading or None,
                    "physics_weight": weights[name],
                    "left_out_rms_z": check[name]["rms_z"] if name in check else None,
                    "suspicious_builds": check[name]["suspicious"] if name in check else [],
                }
                for name, item in self.outputs.items()
            },
            "derived": {name: list(parts) for name, parts in self.derived.items()},
            "model_constants": self.constants(),
            "references": dict(self.nuisance.references),
            "notes": list(self.notes),
        }

    def constants(self) -> dict[str, dict[str, float]]:
        """Return the calibrated physics parameters: model constants, not measured material properties."""
        if self.field is None:
            return {}
        mean, covariance = self._theta(0)
        sd = np.sqrt(np.diag(covariance)) * self.field.sd
        centre = self.field.mean + self.field.sd * mean
        return {
            row[0]: {"mean": float(centre[i]), "sd": float(sd[i]), "prior_mean": row[1], "prior_sd": row[2]}
            for i, row in enumerate(self.field.prior.parameters)
        }

    def calibration(self) -> tuple[tuple[str, ...], Floats, Floats]:
        """Return names, means `(p,)` and covariance `(p, p)` of the physics parameters after the builds."""
        if self.field is None:
            return (), np.zeros(0), np.zeros((0, 0))
        mean, covariance = self._theta(0)
        names = tuple(row[0] for row in self.field.prior.parameters)
        sd = self.field.sd
        return names, self.field.mean + sd * mean, covariance * np.outer(sd, sd)

    # The rest is what sampling, window and proposals ask of the model.

    @property
    def samples(self) -> int:
        """Posterior samples of the hyper-parameters."""
        return min((len(v.white) - 1 for item in self.outputs.values() for v in item.variants), default=0)

    def allot(self, count: int, marginal: bool) -> list[tuple[int, int]]:
        """Return (row of the hyper-parameters, draws) so that draws add to `count`."""
        if not marginal or not self.samples:
            return [(0, count)]
        used = min(count, self.samples)
        share = np.full(used, count // used)
        share[: count % used] += 1
        rows = np.linspace(1, self.samples, used).round().astype(int)
        return [(int(row), int(draws)) for row, draws in zip(rows, share, strict=True)]

    def process(self, name: str, variant: int, index: int) -> Conditioned:
        """Return one rival's process at one row of the hyper-parameters."""
        key = ("process", name, variant, index)
        if key not in self._cache:
            self._cache[key] = self.outputs[name].variants[variant].conditioned(index)
        found: Conditioned = self._cache[key]
        return found

    def _theta(self, index: int) -> tuple[Floats, Floats]:
        """Return mean and covariance of the physics parameters, in prior standard deviations."""
        key = ("theta", index)
        if key not in self._cache:
            size = 0 if self.field is None else self.field.mean.size
            precision, product = np.eye(size), np.zeros(size)
            for name, item in self.outputs.items():
                for number, variant in enumerate(item.variants):
                    if variant.physics and variant.rows.size and size:
                        matrix, vector = self.process(name, number, index).information()
                        precision, product = precision + matrix, product + vector
            covariance = np.linalg.inv(precision) if size else precision
            self._cache[key] = (covariance @ product, covariance)
        found: tuple[Floats, Floats] = self._cache[key]
        return found

    def theta_mean(self) -> Floats:
        """Return the most probable physics parameters, in prior standard deviations from their means."""
        return self._theta(0)[0]

    def theta_draws(self, index: int, count: int, rng: np.random.Generator) -> Floats:
        """Return draws of the physics parameters, in prior standard deviations from their means, `(count, p)`. [1]"""
        if self.field is None or not self.field.mean.size:
            return np.zeros((count, 0))
        mean, covariance = self._theta(index)
        factor = np.linalg.cholesky(covariance)
        return np.asarray(mean + rng.standard_normal((count, mean.size)) @ factor.T)

    def scatter(self, name: str, variant: int, index: int, kind: Probability) -> float:
        """Return the standard deviation that a kind of probability adds to an output. [learning scale]"""
        item = self.outputs[name]
        rival = item.variants[variant]
        return item.scale * build_scatter(rival.prior.scales(rival.white[index]), kind)

    def believe(self, point: Floats) -> CampaignModel:
        """Return the model as if a build at `point` (k,) had given what is expected of it; fit kept."""
        return with_fancied_build(self, point)

    def with_outputs(self, outputs: Mapping[str, Output]) -> CampaignModel:
        """Return the same model with other outputs."""
        return replace(self, outputs=outputs, _cache={})
