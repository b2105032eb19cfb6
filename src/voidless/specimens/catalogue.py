"""
The kinds of specimen that can be printed, and which of them serve which responses by default.

The default set is small on purpose: a build of it is to take minutes to an hour or two, since builds are
what a campaign spends. Raster angles count from the specimen's long axis (X on the bed); `bar_across` adds 90
degrees, so that at a raster angle of 0 its beads lie across the pull.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType

from voidless.errors import InputError
from voidless.quantities import suggest
from voidless.specimens.kind import SpecimenKind
from voidless.specimens.kinds import bending, optics, shape, tensile, tightness, upright
from voidless.specimens.order import SpecimenOrder

__all__ = ["CATALOGUE", "DEFAULT_SET", "STANDARD_COUNT", "section_mm2", "specimen", "specimens_for"]

_KINDS = (*tensile.KINDS, *upright.KINDS, *bending.KINDS, *optics.KINDS, *tightness.KINDS, *shape.KINDS)

CATALOGUE: Mapping[str, SpecimenKind] = MappingProxyType({kind.name: kind for kind in _KINDS})
"""Every kind that can be printed, by name."""

DEFAULT_SET: Mapping[str, int] = MappingProxyType(
    {"bar_xy": 2, "bar_across": 2, "bar_z": 2, "plaque": 1, "block": 1, "impact_bar": 1, "cup": 1}
)
"""Kinds that a run prints when a response asks for them, and how many of each."""

STANDARD_COUNT = 3
"""Least number of specimens per property and build that ISO/ASTM 52903-2:2020 asks for (public excerpt)."""


def specimen(kind: str) -> SpecimenKind:
    """
    Return a kind of specimen by name.

    Raises
    ------
    InputError
        The catalogue has no such kind.
    """
    found = CATALOGUE.get(kind)
    if found is None:
        known = tuple(CATALOGUE)
        expected = "one of " + ", ".join(known)
        raise InputError("specimens", f"{kind!r} is not a specimen", expected, suggest(kind, known))
    return found


def section_mm2(kind: str) -> float:
    """
    Return the nominal area of the section that carries the load.

    Raises
    ------
    InputError
        The catalogue has no such kind, or nothing loads it.
    """
    return specimen(kind).section_mm2


def specimens_for(responses: Iterable[str], count: int | None = None) -> tuple[SpecimenOrder, ...]:
    """
    Return the specimens of one run that serve a campaign's responses.

    Parameters
    ----------
    responses : iterable of str
        Names of responses; those that need no specimen (build time) ask for nothing.
    count : int or None
        How many of each kind, such as `STANDARD_COUNT` for a proof; None takes `DEFAULT_SET`.

    Returns
    -------
    orders : tuple of SpecimenOrder
        In the order of the default set: two of each tensile bar, one of the rest. Where no response asks
        for a specimen it is one block, since a run has to print something.
    """
    asked = set(responses)
    kinds = [name for name in DEFAULT_SET if asked & set(CATALOGUE[name].responses)]
    return tuple(SpecimenOrder(name, count or DEFAULT_SET[name]) for name in kinds or ["block"])
