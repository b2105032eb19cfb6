"""`predict`: every response for settings, with bands, ranges, and where the loss comes from."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri

from voidless.machines.types import Machine
from voidless.materials.types import Material
from voidless.physics.melt.limit import RateLimits
from voidless.physics.optics.fresnel import plate_transmittance
from voidless.twin.advice import advice_of
from voidless.twin.chain import Chain, responses_of, run_chain, supported
from voidless.twin.context import context_of
from voidless.twin.explain import Picture, chain_picture
from voidless.twin.ground import Ground, ground_of
from voidless.twin.limits import rate_limits
from voidless.twin.links import LINKS
from voidless.twin.notes import notes_of
from voidless.twin.parameters import PARAMETERS, prior_mean, prior_means, prior_sd
from voidless.twin.ranges import outside_range, widening
from voidless.twin.shape import shape_of
from voidless.twin.state import SETTINGS

__all__ = ["Prediction", "Response", "predict"]

Floats = NDArray[np.float64]

_DRAWS = 256  # of a scrambled Sobol sequence with a fixed seed: the same question gets the same answer
_SEED = 20_260_101
_ROWS_AT_ONCE = 8192
_TAIL = 0.025
_BOUNDS = {"fan_pct": (0.0, 100.0), "speed_mm_s": (1.0, np.inf)}


@dataclass(frozen=True)
class Response:
    """
    One response for `n` settings. [shop unit of the response]

    Attributes
    ----------
    mean, sd : (n,) float array
        Of the prediction before any data: priors of the parameters and the twin's own error.
    low, high : (n,) float array
        95 % band.
    """

    mean: Floats
    sd: Floats
    low: Floats
    high: Floats


@dataclass(frozen=True)
class Prediction:
    """
    What the twin says of settings.

    Attributes
    ----------
    responses : mapping of str to Response
    outside_range : list of str
        Sentences about ranges that were left.
    chain : dict
        For the first setting: response to stage to share of the whole that is lost there.
    advice : list of str
        For the first setting: what to change first.
    notes : list of str
        What every prediction has to carry.
    shape : mapping of str to (n,) float array
        Coarse: sag of a bridge and steepest overhang. [mm], [deg]
    limits : RateLimits
        For the first setting: rates at which core, heater and drive end. [m³/s]
    """

    responses: Mapping[str, Response]
    outside_range: list[str]
    chain: Picture
    advice: list[str]
    notes: list[str]
    shape: Mapping[str, Floats]
    limits: RateLimits


def predict(
    columns: Mapping[str, ArrayLike],
    material: Material,
    machine: Machine,
    context: Mapping[str, float] | None = None,
) -> Prediction:
    """
    Return every response with its uncertainty before any data.

    Parameters
    ----------
    columns : mapping of str to (n,) float array or float
        Every setting, in shop units.
    material, machine
        Ground facts.
    context : mapping of str to float
        What `context.DEFAULT_CONTEXT` names: plate, exposure, sites; defaults where absent.

    Returns
    -------
    prediction : Prediction
        Means and 95 % bands by name.

    Raises
    ------
    InputError
        A setting is missing or impossible, a context is unknown, or the material lacks a property.

    Notes
    -----
    256 quasi-random draws from the priors of `parameters`, plus the twin's own error on the scale of `links`,
    widened outside the ranges of `ranges`. About 10 ms per setting.
    """
    rows = _rows(columns)
    ground, filled = ground_of(material, machine), context_of(context or {})
    names = supported(ground)
    theta, noise = _draws(material, machine, len(names))
    means = prior_means(machine)
    centre = run_chain(rows, ground, filled, means)
    wide = widening(centre, material)
    samples = _sample(rows, ground, filled, theta)
    most = _most(samples, theta, ground)
    responses = {
        name: _summary(name, samples[name], noise[:, place], wide[name], most.get(name, np.inf))
        for place, name in enumerate(names)
    }
    return Prediction(
        responses=responses,
        outside_range=outside_range(centre, material),
        chain=chain_picture(centre),
        advice=advice_of(centre, _mover(rows, ground, filled, means)),
        notes=notes_of(centre, material),
        shape=shape_of(centre),
        limits=rate_limits(centre, machine),
    )


def _rows(columns: Mapping[str, ArrayLike]) -> dict[str, Floats]:
    given = {
        name: np.atleast_1d(np.asarray(columns[name], dtype=float)) for name in SETTINGS if name in columns
    }
    size = max((value.size for value in given.values()), default=1)
    return {name: np.array(np.broadcast_to(value, (size,))) for name, value in given.items()}


def _draws(material: Material, machine: Machine, responses: int) -> tuple[dict[str, Floats], Floats]:
    """Return parameter draws by name and standard normal draws of the twin's own error."""
    from scipy.stats import qmc  # imported late: slow to load, and only this function needs it

    count = len(PARAMETERS)
    sequence = qmc.Sobol(count + responses, scramble=True, rng=np.random.default_rng(_SEED))
    normal = ndtri(np.clip(sequence.random(_DRAWS), 1e-6, 1.0 - 1e-6))
    theta = {
        item.name: prior_mean(item, machine) + normal[:, place] * prior_sd(item, material, machine)
        for place, item in enumerate(PARAMETERS)
    }
    return theta, np.asarray(normal[:, count:])


def _sample(
    rows: Mapping[str, Floats], ground: Ground, context: Mapping[str, float], theta: Mapping[str, Floats]
) -> dict[str, Floats]:
    """Return every response for every draw and setting, `(draws, n)`."""
    size = next(iter(rows.values())).size
    at_once = max(1, _ROWS_AT_ONCE // _DRAWS)
    parts: list[dict[str, Floats]] = []
    for start in range(0, size, at_once):
        part = {name: value[start : start + at_once] for name, value in rows.items()}
        width = next(iter(part.values())).size
        tiled = {name: np.tile(value, _DRAWS) for name, value in part.items()}
        repeated = {name: np.repeat(value, width) for name, value in theta.items()}
        found = responses_of(run_chain(tiled, ground, context, repeated))
        parts.append({name: value.reshape(_DRAWS, width) for name, value in found.items()})
    return {name: np.concatenate([part[name] for part in parts], axis=1) for name in parts[0]}


def _most(
    samples: Mapping[str, Floats], theta: Mapping[str, Floats], ground: Ground
) -> dict[str, Floats | float]:
    """Return how large responses can be: no weld carries more than its polymer, no plate passes more than its faces."""
    bulk = 1e-6 * ground.strength * np.exp(theta["strength_log"])[:, None]
    most: dict[str, Floats | float] = {
        "strength_across_mpa": bulk,
        "strength_z_mpa": bulk,
        "z_ratio": bulk / np.minimum(samples["strength_xy_mpa"], bulk),
    }
    if "transmittance_pct" in samples:
        most["transmittance_pct"] = 100.0 * float(plate_transmittance(ground.index))
    return most


def _summary(name: str, samples: Floats, noise: Floats, wide: Floats, most: Floats | float) -> Response:
    """Return the spread of a response: of the draws, and of the twin's own error up to what is possible."""
    link = LINKS[name]
    own = link.discrepancy * noise[:, None]
    spread = np.minimum(link.back(link.forward(samples) + own * wide[None, :]), most)
    low, high = np.quantile(spread, [_TAIL, 1.0 - _TAIL], axis=0)
    # knowing less moves no mean: on a scale bent by a logarithm a wider error alone would raise it
    mean = np.minimum(link.back(link.forward(samples) + own), most).mean(axis=0)
    # a band that leaves out its own mean (one long thin tail) would confuse: it is opened up to it
    return Response(mean, spread.std(axis=0, ddof=1), np.minimum(low, mean), np.maximum(high, mean))


def _mover(
    rows: Mapping[str, Floats], ground: Ground, context: Mapping[str, float], means: Mapping[str, float]
) -> Callable[[str, float], Chain | None]:
    """Return a function that runs the first setting again with one change, where that can be set."""
    first = {name: value[:1] for name, value in rows.items()}
    known: dict[tuple[str, float], Chain | None] = {}

    def moved(setting: str, change: float) -> Chain | None:
        key = (setting, change)
        if key not in known:
            value = first[setting] + change
            low, high = _BOUNDS.get(setting, (-np.inf, np.inf))
            possible = low <= float(value[0]) <= high
            known[key] = run_chain({**first, setting: value}, ground, context, means) if possible else None
        return known[key]

    return moved
