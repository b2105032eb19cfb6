"""
Facts to charts: one question a file. Each function returns a plate, or None when there is nothing to draw.

    effects.py    what matters, and by how much
    profiles.py   how each response follows each setting
    window.py     where everything holds, how far settings may drift, what speed costs
    check.py      what was measured against what was predicted
    measured.py   how each result was reduced
"""

from voidless.reporting.figures.check import check
from voidless.reporting.figures.effects import effects, shares
from voidless.reporting.figures.measured import measured
from voidless.reporting.figures.profiles import probability_profiles, profiles
from voidless.reporting.figures.window import front, maps, tolerances, trade_off

__all__ = [
    "check",
    "effects",
    "front",
    "maps",
    "measured",
    "probability_profiles",
    "profiles",
    "shares",
    "tolerances",
    "trade_off",
]
