"""Which parameters a campaign may learn over its space, and what error of the twin is then left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.space import Space
from voidless.machines.types import Machine
from voidless.materials.types import Material
from voidless.twin.chain import responses_of, run_chain
from voidless.twin.ground import Ground
from voidless.twin.links import LINKS
from voidless.twin.parameters import PARAMETERS, Parameter, prior_mean, prior_means, prior_sd
from voidless.twin.ranges import widening

__all__ = ["own_error", "probes", "reach", "worth_learning"]

Floats = NDArray[np.float64]

_PROBES = 64
_MOST_CALIBRATED = 9
_WORTH = 0.1  # of a response's own error: what moves less is not worth learning


def probes(space: Space, fixed: Mapping[str, float]) -> dict[str, Floats]:
    """Return settings spread over a space, (64,) each. [shop units]"""
    from scipy.stats import qmc  # imported late: slow to load, and only this function needs it

    unit = qmc.Sobol(len(space.factors), scramble=False).random(_PROBES)
    columns = {name: np.full(_PROBES, value) for name, value in fixed.items()}
    columns.update(space.columns(space.from_unit(0.02 + 0.96 * unit)))
    return columns


def reach(
    columns: Mapping[str, Floats],
    ground: Ground,
    context: Mapping[str, float],
    wanted: Sequence[str],
    material: Material,
    machine: Machine,
) -> tuple[dict[str, Floats], dict[str, dict[str, Floats]]]:
    """Return the twin's own error by response, and what one sd of each lasting parameter moves, at probes."""
    means = prior_means(machine)
    centre = run_chain(columns, ground, context, means)
    base, wide = responses_of(centre), widening(centre, material)
    own = {name: LINKS[name].discrepancy * LINKS[name].slope(base[name]) * wide[name] for name in wanted}
    moved: dict[str, dict[str, Floats]] = {}
    for item in PARAMETERS:
        if item.scatter or not set(item.moves) & set(wanted):
            continue
        theta = {**means, item.name: prior_mean(item, machine) + prior_sd(item, material, machine)}
        found = responses_of(run_chain(columns, ground, context, theta))
        moved[item.name] = {name: found[name] - base[name] for name in wanted}
    return own, moved


def worth_learning(
    own: Mapping[str, Floats], moved: Mapping[str, Mapping[str, Floats]]
) -> tuple[Parameter, ...]:
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


def own_error(
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
