"""Haze of plaques that were read dry and wetted: what is inside, and what is on their faces."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, replace

from voidless.campaign.types import Observation
from voidless.measure.optics.clarity import separate_surface
from voidless.measure.picture import picture_of, points_of
from voidless.measure.results import FileResult

__all__ = ["with_matched"]

_WET = "wet_"
_Plaque = tuple[str, str, str]


def with_matched(results: Sequence[FileResult]) -> list[FileResult]:
    """
    Return results of files with what wetting told of plaques that were read both dry and wet.

    Parameters
    ----------
    results : sequence of FileResult
        Files that were read together; `surface` among the conditions of a haze says how its faces were.

    Returns
    -------
    results : list of FileResult
        The file of the wetted plaque says what is inside.
    """
    dry = {_plaque(seen): seen for found in results for seen in _hazes(found) if not _wet(seen)}
    return [_told(found, dry) for found in results]


def _told(found: FileResult, dry: dict[_Plaque, Observation]) -> FileResult:
    more = []
    for seen in _hazes(found):
        other = dry.get(_plaque(seen)) if _wet(seen) else None
        if other is None or seen.uncertainty is None or other.uncertainty is None:
            continue
        matched = separate_surface(other.value, other.uncertainty, seen.value, seen.uncertainty)
        picture = picture_of(
            "Haze dry and wetted", ("surface", "haze [%]"), [],
            says=matched.verdict,
            points=[
                points_of(
                    "haze", [other.value, seen.value], [other.uncertainty, seen.uncertainty], ["dry", _surface(seen)]
                )
            ],
        )  # fmt: skip
        of = {"run": seen.run, "build": seen.build, "specimen": seen.specimen}
        more.append({"kind": "matched", **of, **asdict(matched), "picture": picture})
    return replace(found, reduced=(*found.reduced, *more)) if more else found


def _hazes(found: FileResult) -> list[Observation]:
    return [seen for seen in found.observations if seen.key.quantity == "haze_pct"]


def _plaque(seen: Observation) -> _Plaque:
    return seen.run, seen.build, seen.specimen


def _surface(seen: Observation) -> str:
    return dict(seen.key.conditions).get("surface", "")


def _wet(seen: Observation) -> bool:
    return _surface(seen).startswith(_WET)
