"""A model that is told the result it expects, so that a batch does not ask the same thing twice."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from voidless.infer.gp import Rows
from voidless.infer.output import Output, Variant

if TYPE_CHECKING:
    from voidless.infer.learned import CampaignModel

__all__ = ["with_fancied_build"]

Floats = NDArray[np.float64]


def with_fancied_build(model: CampaignModel, point: Floats) -> CampaignModel:
    """
    Return the model with one more build at `point` that gave the mean of what is expected there.

    Only the most probable hyper-parameters are kept: the result serves choosing, not reporting.

    Parameters
    ----------
    model : CampaignModel
        Model.
    point : (k,) float array
        Point. [shop units]
    """
    unit = model.space.to_unit(point[None, :])
    fields = model.field.evaluate(point[None, :]) if model.field else {}
    theta = model.theta_mean()
    outputs: dict[str, Output] = {}
    for name, item in model.outputs.items():
        variants = []
        for number, variant in enumerate(item.variants):
            jacobian = np.zeros((1, variant.rows.jacobian.shape[1]))
            if variant.physics and item.quantity in fields:
                jacobian = fields[item.quantity].jacobian / item.scale
            mean, pull, _ = model.process(name, number, 0).latent(unit, variant.trend(unit))
            target = mean + (jacobian - pull) @ theta if variant.physics else mean
            rows = _appended(variant, unit, np.asarray(target), jacobian)
            variants.append(replace(variant, rows=rows, white=variant.white[:1]))
        outputs[name] = replace(item, variants=tuple(variants))
    return model.with_outputs(outputs)


def _appended(variant: Variant, unit: Floats, target: Floats, jacobian: Floats) -> Rows:
    rows = variant.rows
    build = int(rows.builds.max()) + 1 if rows.size else 0
    return replace(
        rows,
        points=np.vstack([rows.points, unit]),
        target=np.concatenate([rows.target, target]),
        trend=np.vstack([rows.trend, variant.trend(unit)]),
        nuisance=np.vstack([rows.nuisance, np.zeros((1, rows.nuisance.shape[1]))]),
        jacobian=np.vstack([rows.jacobian, jacobian]),
        builds=np.append(rows.builds, build),
        sessions=np.append(rows.sessions, -1 - build),
        counts=np.append(rows.counts, 1.0),
        variances=np.append(rows.variances, 0.0),
    )
