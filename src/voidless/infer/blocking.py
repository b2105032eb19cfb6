"""Which specifications nothing in the space can meet."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

__all__ = ["blocking"]

Floats = NDArray[np.float64]

# Below this probability, everywhere, a specification counts as one that cannot be met.
_HOPELESS = 0.1


def blocking(
    even: Mapping[str, Floats], judged: Mapping[str, Floats], best_together: float
) -> tuple[tuple[str, ...], str]:
    """
    Return the specifications that block every point, and a sentence why.

    Parameters
    ----------
    even, judged : mapping of str to (n,) float array
        Probability of each specification alone, over the space and at the points judged with care. [1]
    best_together : float
        Highest probability that all hold. [1]
    """
    best = {name: max(float(np.max(even[name])), float(np.max(judged[name]))) for name in even}
    hopeless = tuple(name for name, value in best.items() if value < _HOPELESS)
    if hopeless:
        worst = min(hopeless, key=lambda name: best[name])
        return hopeless, f"{worst} holds with a probability of at most {best[worst]:.2g} anywhere"
    if best_together >= _HOPELESS or len(best) < 2:
        return (), ""
    together = "each specification can hold alone, but not all at one point"
    return tuple(sorted(best, key=lambda name: best[name])), together
