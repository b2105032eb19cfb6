"""What the uncertainty of a strength is made of."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voidless.measure.tensile.bench import Bench
from voidless.measure.tensile.events import Course
from voidless.measure.tensile.flags import zero_of

__all__ = ["combined", "strength_budget"]

Floats = NDArray[np.float64]

STEPS = 50


def strength_budget(
    force_n: Floats, course: Course, smooth: tuple[float, float], method: str, known: Bench
) -> dict[str, float]:
    """
    Return standard uncertainties of a strength as shares of it.

    Parameters
    ----------
    force_n : (n,) float array
        The record; stresses of it will do. [N]
    course : Course
        Places in it.
    smooth : (float, float)
        Top of the smoothed course, and its uncertainty by noise. [N]
    method : str
        `maximum` for the largest reading, which noise lifts; else the smoothed top is the strength.
    known : Bench
        What is known of force cell and section.

    Returns
    -------
    budget : dict of str to float
        By effect. [1]
    """
    value, spread = smooth
    lifted = abs(float(force_n[course.top]) - value) if method == "maximum" else 0.0
    before = max(course.first if method != "maximum" else course.top, 1)
    back = max(before // STEPS, 1)
    # A break falls between two readings: up to one step of the rise is missed.
    missed = float(force_n[before] - force_n[before - back]) / back / 3**0.5 if not course.yields else 0.0
    zero = zero_of(force_n, course)
    # A zero that wandered off evenly has done its part at the peak; one that leapt is rectangular, 1 / sqrt 3.
    passed = max(before / course.last, 3**-0.5) if course.last else 1.0
    found = {
        "noise": float(np.hypot(spread, lifted)) / value,
        "reading interval": max(missed, 0.0) / value,
        "force zero": passed * float(np.hypot(*zero)) / value if zero else 0.0,
    }
    if known.force_uncertainty_pct is not None:
        found["force cell"] = known.force_uncertainty_pct / 100.0
    if known.section_uncertainty_pct is not None:
        found["section"] = known.section_uncertainty_pct / 100.0
    return found


def combined(budget: dict[str, float]) -> float:
    """
    Return the standard uncertainty that effects make together.

    Parameters
    ----------
    budget : dict of str to float
        Independent effects. [1]
    """
    return float(np.sqrt(sum(share**2 for share in budget.values())))
