"""Two-level plans: full, fractional, Plackett-Burman."""

from __future__ import annotations

from itertools import combinations, product

import numpy as np

from voidless.design.aliases import estimable, resolution
from voidless.design.ground import Ground
from voidless.design.repeats import with_centres
from voidless.design.terms import model_terms
from voidless.design.types import Draft, Floats, Size
from voidless.errors import InputError

__all__ = ["fraction", "fractional_factorial", "full_factorial", "full_levels", "hadamard", "plackett_burman"]

CENTRES = 3
MOST_FULL = 512

# Generators of the added factors, by (factors, factors in full): Box, Hunter & Hunter, Statistics for
# Experimenters, table of two-level fractional factorials; the same list stands in the NIST/SEMATECH
# e-Handbook, section 5.3.3.4.7 (both from memory); those of 11 or 12 factors in 5 or 8 were put together for
# this project. Letters are the columns of the full plan, or of factors added before. Resolution and aliases
# are computed from the plan, never read from here.
GENERATORS: dict[tuple[int, int], str] = {
    (3, 2): "AB",
    (4, 3): "ABC",
    (5, 4): "ABCD",
    (5, 3): "AB AC",
    (6, 5): "ABCDE",
    (6, 4): "ABC BCD",
    (6, 3): "AB AC BC",
    (7, 6): "ABCDEF",
    (7, 5): "ABCD ABDE",
    (7, 4): "ABC BCD ACD",
    (7, 3): "AB AC BC ABC",
    (8, 7): "ABCDEFG",
    (8, 6): "ABCD ABEF",
    (8, 5): "ABC ABD BCDE",
    (8, 4): "BCD ACD ABC ABD",
    (9, 7): "ACDFG BCEFG",
    (9, 6): "ABCD ACEF CDEF",
    (9, 5): "BCDE ACDE ABDE ABCE",
    (9, 4): "ABC BCD ACD ABD ABCD",
    (10, 7): "ABCG BCDE ACDF",
    (10, 6): "BCDF ACDF ABDE ABCE",
    (10, 5): "ABCD ABCE ABDE ACDE BCDE",
    (10, 4): "ABC BCD ACD ABD ABCD AB",
    (11, 7): "ABCG BCDE ACDF ABCDEFG",
    (11, 5): "ABC BCD CDE ACD ADE BDE",
    (11, 4): "ABC BCD ACD ABD ABCD AB AC",
    (12, 8): "ABCDE ABCFG ABDFH ACEGH",
    (12, 5): "ABC BCD CDE ACD ADE BDE ABD",
    (12, 4): "ABC BCD ACD ABD ABCD AB AC AD",
}

# First rows of the cyclic plans: Plackett & Burman, "The design of optimum multifactorial experiments",
# Biometrika 33 (1946) 305-325 (12 as printed in the project's reference, the others from memory; all are
# checked for orthogonality by the tests).
CYCLES = {
    8: "+++-+--",
    12: "++-+++---+-",
    16: "++++-+-++--+---",
    20: "++--++++-+-+----++-",
    24: "+++++-+-++--++--+-+----",
}


def full_levels(count: int, levels: int = 2) -> Floats:
    """Return all combinations of evenly spaced levels of `count` factors, `(levels^count, count)`. [1]"""
    return np.array(list(product(np.linspace(-1.0, 1.0, levels), repeat=count)))


def fraction(count: int, full: int) -> Floats:
    """
    Return a regular fraction of a two-level plan.

    Parameters
    ----------
    count : int
        Factors. [1]
    full : int
        Factors that run through all combinations: 2^full rows. [1]

    Raises
    ------
    InputError
        No generators are known for this fraction.
    """
    if full >= count:
        return full_levels(count)
    if (count, full) not in GENERATORS:
        known = ", ".join(f"{2**few}" for many, few in GENERATORS if many == count) or "none"
        raise InputError(
            "fractional factorial",
            f"{2**full} rows of {count} factors",
            f"one of {known} rows",
            "Change the size.",
        )
    columns = list(full_levels(full).T)
    for word in GENERATORS[count, full].split():
        columns.append(np.prod([columns["ABCDEFGHJKLM".index(letter)] for letter in word], axis=0))
    return np.stack(columns, axis=1)


def hadamard(rows: int) -> Floats:
    """
    Return the Plackett-Burman plan of 8, 12, 16, 20 or 24 rows: rows minus one orthogonal columns. [1]

    Raises
    ------
    InputError
        There is no plan of that many rows here.
    """
    if rows not in CYCLES:
        raise InputError(
            "Plackett-Burman", f"{rows} rows", "one of " + ", ".join(map(str, CYCLES)), "Change the size."
        )
    first = np.array([1.0 if sign == "+" else -1.0 for sign in CYCLES[rows]])
    return np.concatenate([[np.roll(first, shift) for shift in range(rows - 1)], -np.ones((1, rows - 1))])


def _reachable_terms(base: Ground, coded: Floats) -> tuple[str, ...]:
    return estimable(coded, base.names, model_terms(base.names, "interactions"))


def full_factorial(base: Ground, size: Size, rng: np.random.Generator) -> Draft:
    """
    Return all combinations of two levels (three where the builds asked allow it), with centre builds.

    Raises
    ------
    InputError
        The combinations are more than anybody prints and no number of builds was given.
    """
    count = len(base.names)
    if size.room is not None and size.room < 2**count:
        draft = fractional_factorial(base, size, rng)
        return Draft(
            draft.rows,
            draft.terms,
            (
                f"All {2**count} combinations do not fit into {size.room} builds: a fraction stands in.",
                *draft.notes,
            ),
            draft.anchors,
        )
    if 2**count > MOST_FULL and size.asked is None:
        raise InputError(
            "full-factorial",
            f"{count} factors have {2**count} combinations of two levels",
            f"at most {MOST_FULL}",
            "Take fractional-factorial or start, or say the number of builds.",
        )
    if size.asked is not None and count > 1 and size.asked >= 3**count:
        coded = full_levels(count, 3)
        terms = estimable(coded, base.names, model_terms(base.names, "quadratic"))
        return with_centres(base, coded, terms, (), size, 1)
    coded = full_levels(count)
    return with_centres(base, coded, model_terms(base.names, "interactions"), (), size, CENTRES)


def _fractions(count: int) -> list[int]:
    return sorted([few for many, few in GENERATORS if many == count] + [count])


def fractional_factorial(base: Ground, size: Size, rng: np.random.Generator) -> Draft:  # noqa: ARG001
    """
    Return a regular fraction of the two-level combinations, with centre builds.

    Without a size the smallest fraction is taken that keeps main effects clear of interactions of two
    (resolution IV); with one, the largest that fits.
    """
    count = len(base.names)
    choices = _fractions(count)
    if size.asked is not None:
        fit = [full for full in choices if 2**full <= size.asked] or choices[:1]
        full = fit[-1]
    else:
        clear = [few for few in choices if (resolution(fraction(count, few)) or 99) >= 4]
        fit = [few for few in clear if size.most is None or 2**few <= size.most]
        full = fit[0] if fit else max([few for few in choices if 2**few <= (size.most or 0)] or choices[:1])
    coded = fraction(count, full)
    shortest = resolution(coded)
    said = f"{len(coded)} of {2**count} combinations of two levels" + (
        f", resolution {shortest}." if shortest else ": all of them, nothing is mixed."
    )
    notes: tuple[str, ...] = (said,)
    if shortest == 3:
        notes += ("Main effects are mixed with interactions of two factors: an effect seen may be either.",)
    return with_centres(base, coded, _reachable_terms(base, coded), notes, size, CENTRES)


def plackett_burman(base: Ground, size: Size, rng: np.random.Generator) -> Draft:  # noqa: ARG001
    """
    Return a plan for main effects alone in a multiple of four rows, with centre builds.

    Raises
    ------
    InputError
        There are more factors than the largest plan has columns.
    """
    count = len(base.names)
    choices = [rows for rows in CYCLES if rows > count]
    if not choices:
        raise InputError("plackett-burman", f"{count} factors", "at most 23", "Fix some settings.")
    # Eight rows are a regular fraction that hides whole interactions in main effects; twelve spread them.
    rows = next((few for few in choices if few >= 12), choices[-1])
    if size.room is not None:
        fit = [few for few in choices if few <= size.room]
        rows = (max(fit) if size.asked is not None else min(rows, max(fit))) if fit else choices[0]
    coded = hadamard(rows)[:, :count]
    shares = _partial(coded)
    said = (
        f"{rows} builds for {count} main effects. Each main effect carries up to {shares:.2g} of every "
        "interaction of two other factors: trust it only where interactions are small."
    )
    return with_centres(base, coded, model_terms(base.names, "linear"), (said,), size, CENTRES)


def _partial(coded: Floats) -> float:
    pairs = [coded[:, one] * coded[:, other] for one, other in combinations(range(coded.shape[1]), 2)]
    if not pairs:
        return 0.0
    return float(np.abs(coded.T @ np.stack(pairs, axis=1)).max() / len(coded))
