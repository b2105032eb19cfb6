"""A table of judged sections in few lines."""

from __future__ import annotations

import csv
from collections import defaultdict
from itertools import pairwise
from pathlib import Path

import numpy as np

_KEY = ("layer_mm", "contours", "angle_deg", "way", "speed_mm_s", "lag_s", "ahead_s")
_NAMES = (
    "layer mm", "contours", "raster deg", "way", "mm/s", "lag s", "fed ahead s", "sections", "meet the target",
    "area within 1 %", "gaps in all", "largest gap mm2", "largest volume error", "widths in nozzles", "worst fill",
    "s per 100 mm2",
)  # fmt: skip
_BOUNDS = (0.0, 10.0, 26.0, 60.0, 160.0, 1e6)
"""Bounds of the classes of area. [mm2]"""
_HEAD = f"| {' | '.join(_NAMES)} |\n|{' --- |' * len(_NAMES)}\n"


def _line(key: tuple[str, ...], rows: list[dict[str, str]]) -> str:
    area = np.array([float(row["area_mm2"]) for row in rows])

    def column(name: str) -> np.ndarray:
        return np.array([float(row[name]) for row in rows])

    good, gaps = (np.average(column(name), weights=area) for name in ("good_share", "gap_share"))
    passes = sum(row["passes"] == "yes" for row in rows)
    return (
        f"| {' | '.join(key)} | {len(rows)} | {passes} | {100 * good:.2f} % | {100 * gaps:.4f} % "
        f"| {column('gap_largest_mm2').max():.4f} | {100 * np.abs(column('volume_error')).max():.3f} % "
        f"| {column('width_low_nozzles').min():.2f} to {column('width_high_nozzles').max():.2f} "
        f"| {column('fill_low').min():.2f} to {column('fill_high').max():.2f} "
        f"| {100 * column('layer_s').sum() / area.sum():.1f} |\n"
    )


def _class(area_mm2: float) -> str:
    """Return between which bounds an area lies. [mm2]"""
    low, high = next((a, b) for a, b in pairwise(_BOUNDS) if a < area_mm2 <= b)
    return f"{low:g} to {high:g}"


def _rank(item: tuple[tuple[str, ...], list[dict[str, str]]]) -> tuple[object, ...]:
    """Return where a line stands: plans first, thick layers and many contours first, small sections first."""
    key, rows = item
    layer, contours, angle, way, *rest = key
    return (
        way != "plan",
        -float(layer),
        -int(contours),
        float(angle),
        rest,
        min(float(row["area_mm2"]) for row in rows),
    )


def write_summary(table: Path) -> None:
    """Write one line per kind of case beside a table, then one per kind and class of area."""
    groups: dict[tuple[str, ...], list[dict[str, str]]] = defaultdict(list)
    classes: dict[tuple[str, ...], list[dict[str, str]]] = defaultdict(list)
    with table.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            if row["passes"] in ("yes", "no"):
                key = tuple(f"{float(row[name]):g}" if name != "way" else row[name] for name in _KEY)
                groups[key].append(row)
                classes[(*key, _class(float(row["area_mm2"])))].append(row)
    text = "".join(_line(key, rows) for key, rows in sorted(groups.items(), key=_rank))
    more = "".join(_line(key, rows) for key, rows in sorted(classes.items(), key=_rank))
    head = _HEAD.replace("| sections |", "| section mm2 | sections |", 1).replace(" --- |", " --- | --- |", 1)
    table.with_suffix(".md").write_text(f"{_HEAD}{text}\n{head}{more}", encoding="utf-8")
