"""How results go with the readings of the instruments that they rest on."""

from __future__ import annotations

import re

__all__ = ["RATIOS", "power_of"]

_STRESSES = (
    "strength_xy_mpa",
    "strength_across_mpa",
    "strength_z_mpa",
    "yield_mpa",
    "modulus_gpa",
    "flexural_strength_mpa",
    "flexural_modulus_gpa",
)
_POWERS: dict[str, dict[str, float]] = {
    "force": {**dict.fromkeys(_STRESSES, 1.0), "max_force_n": 1.0, "strain_break_pct": 0.0, "z_ratio": 0.0},
    "mass": {"mass_g": 1.0, "density_g_cm3": 0.0},
    "energy": dict.fromkeys(("charpy_kj_m2", "izod_kj_m2", "izod_j_m"), 1.0),
    "pressure": {"leak_rate_pa_m3_s": 1.0},
}
"""Power of the reading by what an instrument reads and by quantity, for a gain: a density by weighing in air and in a
liquid is a ratio of readings of one balance, and its gain cancels. By dimension."""
RATIOS = frozenset({"density_g_cm3", "z_ratio"})
"""Ratios of readings: a gain cancels in them, an offset does not."""
_READS = (
    ("force", r"force|load"),
    ("mass", r"mass|balance|scales?\b"),
    ("energy", r"energy|pendulum|impact"),
    ("pressure", r"pressure|manometer"),
)


def power_of(kind: str, quantity: str) -> float | None:
    """
    Return the power of an instrument's reading with which a result goes.

    Parameters
    ----------
    kind : str
        What the instrument is, in a person's words: `force cell`, `balance`.
    quantity : str
        The result.

    Returns
    -------
    power : float or None
        None where it does not follow from both: a person says it. [1]

    Examples
    --------
    >>> power_of("force cell, 5 kN", "strength_z_mpa")
    1.0
    """
    reads = [name for name, pattern in _READS if re.search(pattern, kind, re.IGNORECASE)]
    return _POWERS[reads[0]].get(quantity) if len(reads) == 1 else None
