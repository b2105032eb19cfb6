"""What every prediction has to carry: what was never proved, and what its numbers leave out."""

from __future__ import annotations

import numpy as np
from scipy.optimize import brentq

from voidless.materials.types import Material
from voidless.physics.fill.closure import cusp_share
from voidless.physics.melt.shear import residence_share, residence_shortest
from voidless.physics.moisture.bubbles import enclosed_gas_share
from voidless.twin.chain import Chain
from voidless.twin.ranges import unproven
from voidless.twin.shape import COARSE

__all__ = ["notes_of"]

_LATE = 0.95  # share of the melt of which the note tells how long it stays


def notes_of(chain: Chain, material: Material) -> list[str]:
    """Return the sentences that go with a prediction; numbers in them are the first setting's."""
    return [unproven(material), COARSE, _residence(chain), _enclosed(chain)]


def _residence(chain: Chain) -> str:
    """Residence spreads: by laminar flow without diffusion, at the melt's own thinning."""
    index = chain.inputs.ground.thinning_index
    first = float(residence_shortest(index))
    late = brentq(lambda time: float(residence_share(time, index)) - _LATE, first, 1e3)
    mean = float(chain.melt.residence[0])
    return (
        f"residence_s is a mean: the first of the melt leaves after {first * mean:.2g} s, one part in twenty "
        f"stays longer than {late * mean:.2g} s and browns more."
    )


def _enclosed(chain: Chain) -> str:
    """Air of the cusps that close: it leaves along the open bead, and what would stay if it did not is the bound."""
    x = chain.inputs
    closed = cusp_share(x.layer, x.pitch) * (1.0 - chain.fill.open_cusps)
    bound = enclosed_gas_share(closed[:1], chain.melt.temperature[:1], np.array([x.ground.stop]))
    return (
        f"Air of gaps that close is taken to leave along the bead; if all of it were shut in, void_pct would be "
        f"{100.0 * float(bound[0]):.1f} higher."
    )
