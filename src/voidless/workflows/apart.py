"""How many builds of each of two settings, spools or machines tell a difference apart."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from voidless.errors import InputError
from voidless.infer.learned import Noise
from voidless.proof.size import MOST_VALUES, chance_to_tell, values_to_tell
from voidless.quantities import QUANTITIES

__all__ = ["Difference", "apart_rows", "difference_of"]

_WHERE = "voidless prove --tell"
_SAMPLE = "strength_z_mpa=3, or with scatter and builds of each strength_z_mpa=3,sd=1.5,each=4"
_SIGNIFICANCE = 0.05


@dataclass(frozen=True)
class Difference:
    """A difference of two means, the scatter of builds, and builds of each, where known. [unit of the response]"""

    response: str
    size: float
    sd: float | None = None
    each: int | None = None


def difference_of(text: str) -> Difference:
    """
    Return a difference from `RESPONSE=DIFFERENCE[,sd=SD][,each=N]`.

    Raises
    ------
    InputError
        A part is unknown, twice there or no number, or out of range.
    """
    head, *rest = text.split(",")
    name, _, size = head.partition("=")
    given = dict(part.partition("=")[::2] for part in rest)
    try:
        sd = float(given["sd"]) if "sd" in given else None
        each = int(given["each"]) if "each" in given else None
        found = Difference(name.strip(), float(size), sd, each)
    except ValueError:
        found = None
    known = set(given) <= {"sd", "each"} and len(given) == len(rest)
    if found is None or not (known and found.response in QUANTITIES and 0.0 < abs(found.size) < np.inf):
        raise InputError(
            _WHERE, text, "RESPONSE=DIFFERENCE[,sd=SD][,each=N] in the response's unit, not 0",
            f"For example {_SAMPLE}",
        )  # fmt: skip
    if not ((sd is None or 0.0 < sd < np.inf) and (each is None or 2 <= each <= MOST_VALUES)):
        raise InputError(_WHERE, text, f"sd above 0, each from 2 to {MOST_VALUES}", "Correct the number.")
    return found


def apart_rows(
    asked: Sequence[Difference], noise: Callable[[], Mapping[str, Noise]], parts: int, power: float
) -> list[dict[str, Any]]:
    """
    Return, per difference, the builds of each of two groups that tell it, as plain data.

    Parameters
    ----------
    asked : sequence of Difference
        Differences that matter.
    noise : callable
        Returns the learned scatter by response; called only where a difference states none.
    parts : int
        Parts of each build. [1]
    power : float
        Probability with which the difference is to be told. [1]

    Raises
    ------
    InputError
        No scatter is stated, and none was learned.
    """
    learned = noise() if any(item.sd is None for item in asked) else {}
    return [_row(item, learned.get(item.response), parts, power) for item in asked]


def _row(item: Difference, noise: Noise | None, parts: int, power: float) -> dict[str, Any]:
    sd = item.sd
    if sd is None and noise is not None:
        sd = float(np.hypot(noise.between, noise.within / np.sqrt(parts)))
    if sd is None or not sd > 0.0:
        raise InputError(
            _WHERE, f"the scatter of {item.response} between builds is not known", "sd=SD in its unit",
            f"Write {item.response}={item.size:g},sd=SD, or read results of builds first.",
        )  # fmt: skip
    needed = values_to_tell(item.size, sd, power, _SIGNIFICANCE)
    chance = None if item.each is None else chance_to_tell(item.size, sd, item.each, _SIGNIFICANCE)
    return {
        "response": item.response,
        "unit": QUANTITIES[item.response].unit,
        "difference": item.size,
        "sd": sd,
        "sd_stated": item.sd is not None,
        "each": item.each,
        "chance": chance,
        "needed": needed,
        "words": _words(item, sd, needed, chance, power),
    }


def _words(item: Difference, sd: float, needed: int | None, chance: float | None, power: float) -> str:
    unit = QUANTITIES[item.response].unit
    source = "stated" if item.sd is not None else "learned"
    head = f"{item.response}: a difference of {abs(item.size):g} {unit} at a scatter of builds of {sd:.3g} ({source})"
    said = (
        f"{head} takes {needed} builds of each of the two to be told with probability {power:g}"
        if needed is not None
        else f"{head} is too small to tell: more than {MOST_VALUES} builds of each"
    )
    if chance is not None:
        said += f"; {item.each} of each tell it with {chance:.2f}"
    return f"{said} (two-sided t test at 5 %; parts of one build are one value)."
