"""Plans for a full quadratic: central composite and Box-Behnken."""

from __future__ import annotations

from itertools import combinations, product

import numpy as np

from voidless.design.aliases import resolution
from voidless.design.factorial import GENERATORS, fraction
from voidless.design.ground import Ground
from voidless.design.repeats import with_centres
from voidless.design.terms import model_terms
from voidless.design.types import Draft, Floats, Size
from voidless.errors import InputError

__all__ = ["axial_rows", "box_behnken", "box_behnken_rows", "central_composite", "composite_rows"]

CENTRES = 3

# Factors that move together, per number of factors: Box & Behnken, "Some new three level designs for the
# study of quantitative variables", Technometrics 2 (1960) 455-475 (from memory; checked by the tests for
# balance and for the published numbers of runs).
BLOCKS: dict[int, tuple[tuple[int, ...], ...]] = {
    3: tuple(combinations(range(3), 2)),
    4: tuple(combinations(range(4), 2)),
    5: tuple(combinations(range(5), 2)),
    6: ((0, 1, 3), (1, 2, 4), (2, 3, 5), (0, 3, 4), (1, 4, 5), (0, 2, 5)),
    7: ((3, 4, 5), (0, 5, 6), (1, 4, 6), (0, 1, 3), (2, 3, 6), (0, 2, 4), (1, 2, 5)),
}
LOCAL = (
    "A quadratic over wide bounds is a rough picture: lack of fit, not scatter, then limits what it can "
    "find. Use it close to settings that already work."
)


def axial_rows(count: int, distance: float = 1.0) -> Floats:
    """Return pairs of rows on each axis at `distance` from the centre, `(2 count, count)`. [1]"""
    eye = np.eye(count)
    return np.stack([-distance * eye, distance * eye], axis=1).reshape(-1, count)


def composite_rows(count: int, full: int, distance: float = 1.0) -> Floats:
    """
    Return a central composite plan without its centre builds.

    Parameters
    ----------
    count, full : int
        Factors, and how many of them run through all combinations (see `factorial.fraction`). [1]
    distance : float
        Distance of the axial rows; the fourth root of the factorial rows makes it rotatable. [1]
    """
    return np.concatenate([fraction(count, full), axial_rows(count, distance)])


def box_behnken_rows(count: int) -> Floats:
    """
    Return a Box-Behnken plan without its centre builds.

    Raises
    ------
    InputError
        There is no such plan here for that many factors.
    """
    if count not in BLOCKS:
        raise InputError(
            "box-behnken", f"{count} factors", "3 to 7 factors", "Take central-composite, i-optimal or start."
        )
    rows = []
    for block in BLOCKS[count]:
        for signs in product((-1.0, 1.0), repeat=len(block)):
            row = np.zeros(count)
            row[list(block)] = signs
            rows.append(row)
    return np.array(rows)


def central_composite(base: Ground, size: Size, rng: np.random.Generator) -> Draft:  # noqa: ARG001
    """
    Return corners, centres of the faces and centre builds: three levels of every factor.

    Axial rows lie on the bounds because bounds are limits: nothing outside them may be printed.
    """
    count = len(base.names)
    choices = sorted([few for many, few in GENERATORS if many == count] + [count])
    clear = [few for few in choices if (resolution(fraction(count, few)) or 99) >= 5]
    room = size.room
    fit = [few for few in choices if few <= clear[0] and (room is None or 2**few + 2 * count < room)]
    full = max(fit) if fit else choices[0]
    notes: tuple[str, ...] = (LOCAL,)
    if full < clear[0]:
        corners = 2 ** clear[0]
        notes += (
            f"{room} builds hold only {2**full} of the {corners} corners that keep interactions apart.",
        )
    coded = composite_rows(count, full)
    return with_centres(base, coded, model_terms(base.names, "quadratic"), notes, size, CENTRES)


def box_behnken(base: Ground, size: Size, rng: np.random.Generator) -> Draft:  # noqa: ARG001
    """Return a Box-Behnken plan: three levels, never all factors at a bound together."""
    coded = box_behnken_rows(len(base.names))
    notes = (LOCAL, "No corner of the box is printed: good where corners fail, blind to what happens there.")
    return with_centres(base, coded, model_terms(base.names, "quadratic"), notes, size, CENTRES)
