"""Weights of TR-BDF2, a second-order step that damps what is stiff; Bank et al. 1985, doi:10.1109/T-ED.1985.22232."""

from __future__ import annotations

import math

__all__ = ["FIRST", "OLD", "SECOND", "STAGE"]

_GAMMA = 2.0 - math.sqrt(2.0)

STAGE = _GAMMA / 2.0
"""Share of the step on the diagonal, the same in both stages."""

OLD = math.sqrt(2.0) / 4.0
"""Weight of the flux at the start and after the first stage."""

FIRST = 1.0 / (_GAMMA * (2.0 - _GAMMA))
SECOND = (1.0 - _GAMMA) ** 2 / (_GAMMA * (2.0 - _GAMMA))
