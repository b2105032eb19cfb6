"""Centre builds and repeats of the classical plans."""

from __future__ import annotations

import numpy as np

from voidless.design.aliases import listed
from voidless.design.ground import Ground
from voidless.design.types import Draft, Floats, Size

__all__ = ["MOST_CENTRES", "with_centres"]

MOST_CENTRES = 5
"""Centre builds that a plan gets at most from spare builds; 3 to 5 are usual (NIST/SEMATECH e-Handbook
of Statistical Methods, section 5.3.3.7, from memory)."""


def with_centres(
    base: Ground, coded: Floats, terms: tuple[str, ...], notes: tuple[str, ...], size: Size, centres: int
) -> Draft:
    """
    Return a draft of a classical plan with its centre builds and, where builds are spare, repeats.

    Parameters
    ----------
    base : Ground
        Factors.
    coded : (n, k) float array
        The plan without centre builds. [1]
    terms, notes : tuple of str
        As in `Draft`.
    size : Size
        Builds asked or allowed.
    centres : int
        Centre builds of the plan when nobody says otherwise; at least one per session comes. [1]
    """
    many = (
        size.repeats + 1
        if size.repeats is not None
        else max(centres, size.sessions if size.sessions > 1 else 0)
    )
    copies = 1
    extra = np.zeros((0, coded.shape[1]))
    if size.room is not None:
        room = size.room - len(coded)
        many = min(many, max(room, 0))
        if size.asked is not None and room > many:
            copies = size.asked // len(coded)
            room = size.asked - copies * len(coded)
            many = min(
                room, max(size.repeats + 1 if size.repeats is not None else MOST_CENTRES, size.sessions)
            )
            extra = coded[: room - many]
            if copies > 1 or len(extra):
                said = (
                    f"{size.asked} builds are more than the plan's {len(coded)} combinations: it is printed "
                    f"{copies} times, and {len(extra)} of its rows once more."
                )
                notes += (said,)
    rows = np.concatenate([*[coded] * copies, extra, np.zeros((many, coded.shape[1]))])
    anchors = np.arange(len(rows)) >= len(rows) - many
    return Draft(base.uncoded(rows), terms, notes + _rounded(base, rows) + _words(many), anchors)


def _rounded(base: Ground, coded: Floats) -> tuple[str, ...]:
    """Say which levels are not on the steps of their factor, and whether that mixes effects."""
    wanted = base.space.from_unit((coded + 1.0) / 2.0)
    rows = base.space.snap(wanted)
    moved = []
    for name, olds, news in zip(base.names, wanted.T, rows.T, strict=True):
        pairs = [
            f"{old:.4g} to {new:.4g}" for old, new in zip(olds, news, strict=True) if abs(old - new) > 1e-9
        ]
        if pairs:
            moved.append(f"{name} {listed(sorted(set(pairs)))}")
    if not moved:
        return ()
    before, after = _largest_correlation(coded), _largest_correlation(base.coded(rows))
    broken = f"; main effects are then correlated up to {after:.2f}" if after > before + 1e-6 else ""
    return (f"Levels rounded to the steps of the factors: {'; '.join(moved)}{broken}.",)


def _largest_correlation(coded: Floats) -> float:
    centred = coded - coded.mean(axis=0)
    size = np.linalg.norm(centred, axis=0)
    size[size == 0] = 1.0
    alike = np.abs((centred / size).T @ (centred / size))
    np.fill_diagonal(alike, 0.0)
    return float(alike.max(initial=0.0))


def _words(many: int) -> tuple[str, ...]:
    if many >= 2:
        return (f"{many} builds at the centre show the scatter between builds and whether responses bend.",)
    return ("Without at least two equal builds the scatter between builds cannot be seen.",)
