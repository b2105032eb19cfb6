"""Where light and strength are lost, stage by stage."""

from __future__ import annotations

import numpy as np

from voidless.twin.chain import Chain
from voidless.twin.ground import ASSUMED

__all__ = ["Picture", "chain_picture", "stage_factors"]

Picture = dict[str, dict[str, float]]


def stage_factors(chain: Chain, row: int = 0) -> Picture:
    """
    Return what each stage leaves, 0 to 1; the product over the stages is what is left of the whole.

    For `clarity` (straight light), `strength_z_mpa`, `strength_across_mpa` (raster alone, without contours)
    and `strength_xy_mpa` (along the beads). [1]
    """
    fill, body, melt = chain.fill, chain.body, chain.melt
    found: Picture = {}
    if chain.light is not None:
        depths = {
            "gaps": chain.light.depth_gaps,
            "bubbles": chain.light.depth_bubbles,
            "roughness": chain.light.depth_surface,
            "colour": chain.light.depth_bulk,
        }
        found["clarity"] = {stage: float(np.exp(-depth[row])) for stage, depth in depths.items()}
    found["strength_z_mpa"] = {
        "gaps": float(fill.contact_layers[row]),
        "bubbles": 1.0 - float(melt.bubbles[row]),
        "unhealed": float(body.knit_layers[row]),
        "notches": float(np.broadcast_to(body.ceiling, body.voids.shape)[row]),
        "softness": 1.0 - ASSUMED.soft_loss * float(body.soft[row]),
    }
    found["strength_across_mpa"] = {
        "gaps": float(fill.contact_beads[row]),
        "unhealed": float(body.knit_beads[row]),
        "notches": ASSUMED.side_ceiling,
    }
    shares = {"gaps": fill.gaps, "seams": fill.seams, "bubbles": melt.bubbles}
    found["strength_xy_mpa"] = {
        stage: (1.0 - float(share[row])) ** ASSUMED.void_power for stage, share in shares.items()
    }
    return found


def _parts(factors: dict[str, float]) -> dict[str, float]:
    losses = {stage: -float(np.log(max(factor, 1e-12))) for stage, factor in factors.items()}
    total = sum(losses.values())
    if total <= 0.0:
        return dict.fromkeys(losses, 0.0)
    lost = -float(np.expm1(-total))
    return {stage: loss / total * lost for stage, loss in losses.items()}


def chain_picture(chain: Chain, row: int = 0) -> Picture:
    """
    Return where light and strength are lost, as shares of the whole.

    Returns
    -------
    picture : dict
        Response to stage to the share of the whole that is lost there; 1 minus their sum remains. [1]

    Notes
    -----
    Losses multiply; each stage gets the part of the whole loss that its logarithm has.
    """
    return {response: _parts(factors) for response, factors in stage_factors(chain, row).items()}
