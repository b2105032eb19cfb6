"""How results were reduced: pictures kept with the results, and the most telling of them for people."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import zip_longest
from typing import Any

from voidless.measure.results import FileResult, RawFile
from voidless.records.facts import ObservationRow
from voidless.records.writer import Writer
from voidless.workflows.decoding import decoded_files
from voidless.workflows.opening import OpenCampaign
from voidless.workflows.plain import plain
from voidless.workflows.readings import batches_of, readings_of

__all__ = [
    "MOST",
    "keep_reductions",
    "kept_frames",
    "kept_numbers",
    "numbers_of",
    "pictures_of",
    "reductions_dict",
]

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
    places = [str(item[name]) for name in _PLACES if item.get(name)]
    return {
        "kind": str(item.get("kind", "")),
        "of": " ".join(dict.fromkeys(places + named)),
        "name": "".join(named),
        "flags": plain(item.get("flags") or []),
        "numbers": {name: plain(value) for name, value in item.items() if _is_number(name, value)},
        "picture": _sound(plain(item["picture"])),
    }


def numbers_of(result: FileResult) -> list[dict[str, float]]:
    """Return the plain numbers of a file's reductions, in order: what tells one record from another."""
    told = _telling([item for item in result.reduced if item.get("picture")])[:MOST]
    return [_floats(_entry(item)["numbers"]) for item in told]


def kept_numbers(opened: OpenCampaign) -> dict[str, list[dict[str, float]]]:
    """Return `numbers_of` each stored file, by its name."""
    found: dict[str, list[dict[str, float]]] = {}
    for record in opened.store.derived(KIND):
        payload: Any = record.payload
        found.setdefault(payload["file"], [_floats(item["numbers"]) for item in payload["pictures"]])
    return found


def _floats(numbers: Mapping[str, Any]) -> dict[str, float]:
    return {name: value for name, value in numbers.items() if isinstance(value, float)}


def _is_number(name: str, value: object) -> bool:
    """Return whether an entry is a fact worth keeping beside the picture: a number or words, not a series."""
    return (
        name not in ("kind", "picture", "flags")
        and isinstance(value, (str, int, float, bool))
        and value != ""
    )


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


def pictures_of(opened: OpenCampaign, row: ObservationRow) -> list[dict[str, Any]]:
    """
    Return how one result was reduced: the pictures of its file that speak of it.

    Parameters
    ----------
    opened : OpenCampaign
        The campaign.
    row : ObservationRow
        The result.

    Notes
    -----
    A file keeps the 40 pictures with most flags; one that was left out is drawn again from the raw file. Where a
    file has one picture of each kind, they speak of all its results.
    """
    newest = next((item for item in opened.store.derived(KIND) if item.inputs == (row.source_sha,)), None)
    payload: Any = newest.payload if newest else {"pictures": [], "count": 0}
    kept: Sequence[Mapping[str, Any]] = payload["pictures"]
    found = _of_result(kept, row)
    if not found and payload["count"] > len(kept):
        kept = [_entry(item) for item in _reduced_again(opened, row.source_sha)]
        found = _of_result(kept, row)
    alone = len(kept) == payload["count"] == len({item["kind"] for item in kept})
    return found or ([dict(item) for item in kept] if alone else [])


def _of_result(pictures: Sequence[Mapping[str, Any]], row: ObservationRow) -> list[dict[str, Any]]:
    """Return the pictures that carry a result's own names."""
    own = row.observation
    names = {own.specimen, own.key.feature} - {""}
    return [
        dict(item)
        for item in pictures
        if _speaks_of(item, names, own.run, own.build)
        and item.get("numbers", {}).get("feature", own.key.feature) == own.key.feature
    ]


def _speaks_of(item: Mapping[str, Any], names: set[str], run: str, build: str) -> bool:
    words = item["of"].split(" ")
    if item.get("name"):
        places = set(item["of"].removesuffix(item["name"]).split())
        return item["name"] in names and places <= {run, build}
    return bool(names & {" ".join(words[-k:]) for k in range(1, len(words) + 1)})


def _reduced_again(opened: OpenCampaign, sha: str) -> list[Mapping[str, object]]:
    """Return the reduced entries of a file, read again with its companions; empty where answers are not kept."""
    reading = readings_of(opened.store).get(sha)
    if reading is None:
        return []
    batch = batches_of(opened.store)[reading.batch]
    held = [(each, name) for each, name in batch.files if opened.store.has_file(each)]
    raw = [RawFile(name, opened.store.read_file(each)) for each, name in held]
    results = decoded_files(opened, raw, batch.answers)
    return [
        item
        for (each, _), result in zip(held, results, strict=True)
        if each == sha
        for item in result.reduced
        if item.get("picture")
    ]


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
