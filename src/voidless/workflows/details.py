"""What confirmation builds tell beyond the verdict: scatter, agreement, capability, further bounds, equality."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from voidless.errors import InputError
from voidless.proof.details import Detail, details, equal_to
from voidless.proof.equivalence import Sample
from voidless.proof.requirement import Requirement

__all__ = ["Reference", "detail_rows", "reference_of"]

_PARTS = ("sd", "n", "margin")


@dataclass(frozen=True)
class Reference:
    """What a response shall equal: independent values of a reference, and the largest harmless difference."""

    response: str
    sample: Sample
    margin: float


def reference_of(text: str) -> Reference:
    """
    Return a reference from `RESPONSE=MEAN,sd=SD,n=N,margin=MARGIN`.

    Raises
    ------
    InputError
        A part is missing, twice there or no number, or out of range.
    """
    head, *rest = text.split(",")
    name, _, mean = head.partition("=")
    given = dict(part.partition("=")[::2] for part in rest)
    try:
        sd, count, margin = (float(given[key]) for key in _PARTS)
        found = Reference(name.strip(), Sample(float(mean), sd, int(count)), margin)
    except (KeyError, ValueError, OverflowError):
        found = None
    ok = found is not None and set(given) == set(_PARTS) and len(rest) == len(_PARTS) and count == int(count)
    if found is None or not (ok and found.response and np.all(np.isfinite([found.sample.mean, sd, margin]))):
        raise InputError(
            "voidless prove --equal", text, "RESPONSE=MEAN,sd=SD,n=N,margin=MARGIN in the response's unit",
            "For example strength_z_mpa=48,sd=1.5,n=10,margin=3",
        )  # fmt: skip
    equal_to(
        found.sample, found.margin, ()
    )  # refuses a reference without scatter and a margin that is not above 0
    return found


def detail_rows(
    requirements: Sequence[Requirement],
    values: Mapping[str, Mapping[str, Sequence[float]]],
    references: Sequence[Reference],
    rng: np.random.Generator,
) -> list[dict[str, Any]]:
    """
    Return further statements as plain data, by response.

    Parameters
    ----------
    requirements : sequence of Requirement
        What is specified.
    values : mapping of str to mapping
        Values of the parts by response and build. [unit of the response]
    references : sequence of Reference
        What shall be equal to what.
    rng : numpy.random.Generator
        For the Weibull bounds.

    Raises
    ------
    InputError
        A reference names a response that no build has.
    """
    rows = []
    for item in requirements:
        groups = list(values.get(item.response, {}).values())
        rows += [_row(item.response, found) for found in details(item, groups, rng)]
    for reference in references:
        if not values.get(reference.response):
            known = ", ".join(sorted(name for name in values if values[name])) or "no response yet"
            raise InputError(
                "voidless prove --equal", reference.response, f"one of {known}",
                "Measure it on the confirmation builds, or name another.",
            )  # fmt: skip
        groups = list(values[reference.response].values())
        rows.append(_row(reference.response, equal_to(reference.sample, reference.margin, groups)))
    return rows


def _row(response: str, found: Detail) -> dict[str, Any]:
    numbers = {name: value for name, value in asdict(found).items() if not isinstance(value, float)}
    return {
        "response": response,
        **numbers,
        **{
            name: (value if np.isfinite(value) else None)
            for name, value in (("value", found.value), ("low", found.low), ("high", found.high))
        },
    }
