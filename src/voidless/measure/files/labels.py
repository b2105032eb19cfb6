"""Labels of run, build, specimen and direction that stand in a file's name."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import PurePosixPath

__all__ = ["Labels", "direction_of", "folder_of", "labels", "stem_of"]

_SPLIT = re.compile(r"[^0-9A-Za-z]+")
_DIRECTIONS = {
    "xy": "xy",
    "flat": "xy",
    "along": "xy",
    "across": "across",
    "z": "z",
    "zx": "z",
    "zxy": "z",
    "upright": "z",
}
"""Orientation words by ISO 17295 (XY flat, ZX upright) and of the trade, to the directions of responses."""


@dataclass(frozen=True)
class Labels:
    """
    What a file's name says; empty where it says nothing.

    Attributes
    ----------
    run, build : str
        `R03`, `B05`.
    direction : str
        `xy`, `across` or `z`.
    trial : int or None
        Number after the word trial, or the last number of the name.
    specimen : str
        The name without run and build.
    """

    run: str = ""
    build: str = ""
    direction: str = ""
    trial: int | None = None
    specimen: str = ""


def direction_of(word: str) -> str:
    """
    Return the direction that a word names.

    Parameters
    ----------
    word : str
        For example `XY`, `ZX` or `upright`.

    Returns
    -------
    direction : str
        `xy`, `across`, `z`, or empty.
    """
    return _DIRECTIONS.get(word.strip().lower(), "")


def folder_of(name: str) -> str:
    """
    Return the folder part of a name.

    Parameters
    ----------
    name : str
        Name with forward or backward slashes.

    Returns
    -------
    folder : str
        Empty where the name has none.
    """
    folder = str(PurePosixPath(name.replace("\\", "/")).parent)
    return "" if folder == "." else folder


def stem_of(name: str) -> str:
    """
    Return a file's own name without folders and endings such as `.csv.zip`.

    Parameters
    ----------
    name : str
        Name with forward or backward slashes.

    Returns
    -------
    stem : str
        For example `z-trial-1`.
    """
    last = PurePosixPath(name.replace("\\", "/")).name
    return re.sub(r"(\.(csv|txt|tsv|dat|tra|mtr|xlsx|zip|asc))+$", "", last, flags=re.IGNORECASE)


def labels(name: str) -> Labels:
    """
    Return what the name of a file says of run, build, direction and trial.

    Parameters
    ----------
    name : str
        Name, folders included; the file's own name comes before its folders'.

    Returns
    -------
    labels : Labels
        Only tokens set apart by other characters count: `R03_B05_bar_z_2.csv`.
    """
    parts = [stem_of(part) for part in reversed(name.replace("\\", "/").split("/"))]
    tokens = [token for part in parts for token in _SPLIT.split(part) if token]
    own = [token for token in _SPLIT.split(parts[0]) if token]
    run = next((token.upper() for token in tokens if re.fullmatch(r"[Rr]\d+", token)), "")
    build = next((token.upper() for token in tokens if re.fullmatch(r"[Bb]\d+", token)), "")
    directions = {direction_of(token) for token in own} - {""}
    rest = [token for token in own if token.upper() not in {run, build}]
    return Labels(run, build, directions.pop() if len(directions) == 1 else "", _trial(own), "_".join(rest))


def _trial(tokens: list[str]) -> int | None:
    lowered = [token.lower() for token in tokens]
    if "trial" in lowered[:-1] and lowered[lowered.index("trial") + 1].isdecimal():
        return int(lowered[lowered.index("trial") + 1])
    numbers = [token for token in tokens if token.isdecimal() and len(token) < 6]
    return int(numbers[-1]) if numbers else None
