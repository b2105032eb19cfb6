"""Strengths of the directions against each other, of a build or of results whose builds nobody recorded."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from typing import Any

from voidless.campaign.types import Bound, Observation

__all__ = ["built_rows", "compared_rows", "strength_rows", "with_breaks"]

NAMES = {"xy": "strength_xy_mpa", "across": "strength_across_mpa", "z": "strength_z_mpa"}
_ONE_BUILD = "specimens of one build; builds differ by more"
WORDS = {"xy": "in plane", "across": "in plane across the beads", "z": "through the layers"}


def strength_rows(grouped: Iterable[tuple[str, Observation]]) -> list[dict[str, Any]]:
    """
    Return mean strengths and the Z/XY ratio of each group that recorded no build.

    Parameters
    ----------
    grouped : iterable of (str, Observation)
        Group (the folder that the files came from) and observation. Bounds are left out: a bar that
        broke at the radius is only a lower limit, and is counted apart.

    Returns
    -------
    rows : list of dict
        Per group: `n_xy`, `xy_mean` [MPa], `n_across`, `across_mean` [MPa], `n_z`, `z_mean` [MPa], `weakest` (of the
        directions that were tested), `ratio` (Z over XY), `low`, `high` [1], `note`, `text`, the weakest first.
    """
    values, bounds = _values(one for one in grouped if not one[1].build)
    return [_row(group, found, bounds.get(group, 0)) for group, found in values.items()]


def built_rows(observations: Iterable[Observation]) -> list[dict[str, Any]]:
    """
    Return mean strengths of each build of which several directions were tested.

    Parameters
    ----------
    observations : iterable of Observation
        Results; those of no build are left out.

    Returns
    -------
    rows : list of dict
        As of `strength_rows`; `group` is run and build.
    """
    values, bounds = _values((f"{one.run} {one.build}", one) for one in observations if one.build)
    return [
        _row(group, found, bounds.get(group, 0), _ONE_BUILD)
        for group, found in values.items()
        if len(found) > 1
    ]


def with_breaks(
    rows: Sequence[dict[str, Any]], curves: Iterable[tuple[str, str, str]]
) -> list[dict[str, Any]]:
    """
    Return rows of strengths with how the bars of each direction broke: a weld that fails before yield is the weaker.

    Parameters
    ----------
    rows : sequence of dict
        From `strength_rows` or `built_rows`.
    curves : iterable of (str, str, str)
        Group, direction, and how a curve ended (`before yield`, `after yield`, `no break`).

    Returns
    -------
    rows : list of dict
        With `broke`: how many of a direction, by how they ended; said in `text` for the welds.
    """
    ends: dict[str, dict[str, dict[str, int]]] = {}
    for group, direction, end in curves:
        of = ends.setdefault(group, {}).setdefault(direction, {})
        of[end] = of.get(end, 0) + 1
    return [
        row | {"broke": ends.get(row["group"], {})} | _broken(row, ends.get(row["group"], {})) for row in rows
    ]


def _broken(row: Mapping[str, Any], ends: Mapping[str, Mapping[str, int]]) -> dict[str, str]:
    said = [
        f"{WORDS[key]} {ends[key].get('before yield', 0)} of {sum(ends[key].values())} broke before yield"
        for key in ("across", "z")
        if key in ends
    ]
    return {"text": f"{row['text']} {'; '.join(said).capitalize()}."} if said else {}


def compared_rows(grouped: Iterable[tuple[str, Observation]]) -> dict[str, Any]:
    """
    Return the Z/XY ratios of such groups against each other, with the number of pairs paid for.

    Parameters
    ----------
    grouped : iterable of (str, Observation)
        As in `strength_rows`.

    Returns
    -------
    compared : dict
        `pairs` (each with `first`, `second`, `quotient`, `low`, `high` [1], `p`, `p_adjusted`, `false_share`,
        `differ`), the surest difference first, and `text`, empty where fewer than two groups have a ratio.
    """
    from voidless.infer.compare import compare_ratios

    upright, flat = NAMES["z"], NAMES["xy"]
    groups = {
        group: (found[upright], found[flat])
        for group, found in _values(one for one in grouped if not one[1].build)[0].items()
        if all(len(set(found.get(name, []))) > 1 for name in (upright, flat))
    }
    pairs = [
        {**asdict(pair), "differ": pair.p_adjusted < 0.05}
        for pair in sorted(compare_ratios(groups), key=lambda pair: pair.p)
    ]
    return {"pairs": pairs, "text": _compared(len(groups), pairs)}


def _values(
    grouped: Iterable[tuple[str, Observation]],
) -> tuple[dict[str, dict[str, list[float]]], dict[str, int]]:
    """Return exact strengths by group and name, and how many were only limits."""
    values: dict[str, dict[str, list[float]]] = {}
    bounds: dict[str, int] = {}
    for group, observation in grouped:
        name = observation.key.quantity
        if name not in NAMES.values():
            continue
        if observation.bound is not Bound.EXACT:
            bounds[group] = bounds.get(group, 0) + 1
            continue
        values.setdefault(group, {}).setdefault(name, []).append(observation.value)
    return values, bounds


def _compared(groups: int, pairs: list[dict[str, Any]]) -> str:
    if not pairs:
        return ""
    apart = [pair for pair in pairs if pair["differ"]]
    likely = sum(pair["false_share"] < 0.05 for pair in pairs)
    said = (
        f"Z/XY ratios of {groups} groups compared: {len(apart)} of {len(pairs)} pairs differ at 5 % for all pairs "
        f"together (Holm); {likely} if one in twenty of those may be wrong (Benjamini-Hochberg)"
    )
    if not apart:
        return f"{said}; none is told apart by these specimens."
    first = apart[0]
    return (
        f"{said}; surest: {first['first']} over {first['second']}, {first['quotient']:.2f} times "
        f"({first['low']:.2f} to {first['high']:.2f}). Builds not recorded: a group may be one build, and a "
        f"difference that of builds."
    )


def _row(group: str, found: Mapping[str, list[float]], bounded: int, note: str = "") -> dict[str, Any]:
    from voidless.infer.ratio import BUILDS_UNKNOWN, strength_ratio

    xy, across, z = (found.get(name, []) for name in NAMES.values())
    row: dict[str, Any] = {
        "group": group,
        "n_xy": len(xy),
        "xy_mean": sum(xy) / len(xy) if xy else None,
        "n_across": len(across),
        "across_mean": sum(across) / len(across) if across else None,
        "n_z": len(z),
        "z_mean": sum(z) / len(z) if z else None,
        "ratio": None,
        "low": None,
        "high": None,
        "note": note or BUILDS_UNKNOWN,
    }
    means = {key: row[f"{key}_mean"] for key in NAMES if row[f"{key}_mean"] is not None}
    row["weakest"] = min(means, key=lambda key: means[key]) if len(means) > 1 else None
    if len(xy) > 1 and len(z) > 1:
        ratio = strength_ratio(z, xy)
        bounds = ratio.to_dict()
        row |= {"ratio": ratio.value, "low": bounds["low"], "high": bounds["high"]}
    return {**row, "text": _sentence(row, bounded)}


def _sentence(row: Mapping[str, Any], bounded: int) -> str:
    tested = [key for key in NAMES if row[f"{key}_mean"] is not None]
    parts = [
        f"{WORDS[key]} {row[f'{key}_mean']:.2f} MPa of {row[f'n_{key}']}"
        for key in sorted(tested, key=lambda key: row[f"{key}_mean"])
    ]
    if row["ratio"] is not None:
        interval = "unbounded" if row["low"] is None else f"{row['low']:.3f} to {row['high']:.3f}"
        parts.append(f"Z/XY {row['ratio']:.3f} (95 % {interval}; {row['note']})")
    if bounded:
        parts.append(f"{bounded} bars were only limits and were left out")
    name = f"{row['group']}: " if row["group"] else ""
    return name + ", ".join(parts) + "."
