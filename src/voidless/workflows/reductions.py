"""How results were reduced: pictures kept with the results, and the most telling of them for people."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import zip_longest
from typing import Any

from voidless.measure.results import FileResult
from voidless.records.writer import Writer
from voidless.workflows.opening import OpenCampaign
from voidless.workflows.plain import plain

__all__ = ["MOST", "keep_reductions", "kept_frames", "reductions_dict"]

KIND = "reduction"
MOST = 40
"""Most pictures kept of one file, and most shown of a campaign; a page of hundreds helps nobody."""
_DIGITS = 6
_PLACES, _NAMES = ("run", "build"), ("specimen", "piece", "name", "feature", "setting")


def keep_reductions(writer: Writer, result: FileResult, sha: str) -> None:
    """Keep how a file's results were reduced: its pictures, and one hash of the frames that it came from."""
    found = [item for item in result.reduced if item.get("picture")]
    frames = result.extra.get("frames_sha256", "")
    if not found and not frames:
        return
    kept = [_entry(item) for item in _telling(found)[:MOST]]
    payload: dict[str, Any] = {
        "file": result.file,
        "count": len(found),
        "frames_sha256": frames,
        "pictures": kept,
    }
    writer.add_derived(KIND, payload, [sha])


def _entry(item: Mapping[str, object]) -> dict[str, Any]:
    named = [str(item[name]) for name in _NAMES if item.get(name)][:1]
    words = [str(item[name]) for name in _PLACES if item.get(name)] + named
    return {
        "kind": str(item.get("kind", "")),
        "of": " ".join(dict.fromkeys(words)),
        "flags": plain(item.get("flags") or []),
        "picture": _sound(plain(item["picture"])),
    }


def _sound(picture: dict[str, Any]) -> dict[str, Any]:
    """Return a picture to six digits, without marks that stand nowhere."""
    curves = [
        {**item, "x": [_short(x) for x in item["x"]], "y": [_short(y) for y in item["y"]]}
        for item in picture["curves"]
    ]
    marks = [item for item in picture.get("marks") or () if None not in (item["x"], item["y"])]
    rules = [item for item in picture.get("rules") or () if item["value"] is not None]
    return {**picture, "curves": curves, "marks": marks, "rules": rules}


def _short(value: float) -> float:
    return float(f"{value:.{_DIGITS}g}")


def _telling(items: Sequence[Any]) -> list[Any]:
    """Return the pictures with most flags first, those alike as they came."""
    return sorted(items, key=lambda item: -len(item.get("flags") or ()))


def kept_frames(opened: OpenCampaign, sha: str) -> str:
    """Return the hash of the frames that a stored sheet of pictures was read with; empty for other files."""
    for record in opened.store.derived(KIND):
        if record.inputs == (sha,) and isinstance(record.payload, dict):
            return str(record.payload.get("frames_sha256", ""))
    return ""


def reductions_dict(opened: OpenCampaign) -> dict[str, Any]:
    """
    Return the most telling pictures of how the results that stand were reduced.

    Parameters
    ----------
    opened : OpenCampaign
        The campaign.

    Returns
    -------
    reductions : dict
        `pictures`: at most 40, each with `kind`, `file`, `of`, `flags` and `picture`, grouped by kind; every kind
        gets its turn, what has most flags first. `count`: how many there are.
    """
    stands, ever = (
        {row.source_sha for row in opened.store.rows(current=current)} for current in (True, False)
    )
    kinds: dict[str, list[dict[str, Any]]] = {}
    count = 0
    newest = {record.inputs[0]: record for record in reversed(opened.store.derived(KIND))}
    for sha, record in newest.items():
        payload = record.payload
        if not isinstance(payload, dict) or (sha in ever and sha not in stands):
            continue  # corrected or withdrawn since
        count += payload["count"]
        for item in payload["pictures"]:
            kinds.setdefault(item["kind"], []).append({"file": payload["file"], **item})
    turns = zip_longest(*(_telling(items) for items in kinds.values()))
    chosen = [item for turn in turns for item in turn if item is not None][:MOST]
    return {"count": count, "pictures": [item for kind in kinds for item in chosen if item["kind"] == kind]}
