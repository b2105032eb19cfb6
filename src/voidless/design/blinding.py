"""Random test order of specimens under codes that tell nothing about the run."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np

from voidless.errors import InputError
from voidless.specimens.codes import ALPHABET, WIDTH

__all__ = ["specimen_test_order"]


def specimen_test_order(specimens: Sequence[str], rng: np.random.Generator) -> list[tuple[str, str]]:
    """
    Return blind code and specimen in the order in which to test.

    Parameters
    ----------
    specimens : sequence of str
        Labels, each once.
    rng : numpy.random.Generator
        Source of randomness; the same seed gives the same codes, so keep it with the plan.

    Returns
    -------
    order : list of (str, str)
        Random code of four signs, and the specimen. Codes are drawn apart from the order: neither says
        anything about the other, nor about the run.

    Raises
    ------
    InputError
        A specimen is named twice.

    Examples
    --------
    >>> order = specimen_test_order(["B01-Z1", "B01-Z2"], np.random.default_rng(1))
    >>> sorted(specimen for _, specimen in order)
    ['B01-Z1', 'B01-Z2']
    """
    twice = sorted(label for label, times in Counter(specimens).items() if times > 1)
    if twice:
        raise InputError(
            "test order", f"{', '.join(twice)} named twice", "each specimen once", "Number the specimens."
        )
    codes = rng.choice(len(ALPHABET) ** WIDTH, size=len(specimens), replace=False)
    order = rng.permutation(len(specimens))
    return [(_code(int(codes[place])), specimens[which]) for place, which in enumerate(order)]


def _code(number: int) -> str:
    signs = []
    for _ in range(WIDTH):
        number, rest = divmod(number, len(ALPHABET))
        signs.append(ALPHABET[rest])
    return "".join(signs)
