"""
Solid fill of every specimen and part, judged from written G-code, against a plain equal-spaced raster.

    python -m benchmarks.fill.run [--only NAME,NAME] [--contours 2,1,0] [--angles 0,45] [--layers 0.2,0.12]
                                  [--ways plan,plain] [--speeds 40] [--lags 0] [--aheads 0] [--smallest MM2]
                                  [--largest MM2] [--processes N] [--seconds S] [--out FILE]

Each different section is planned, written with the writer, read with the reader and judged. Raster along X stands for
a unidirectional one; a crossed one has beads at 45 and 135 degrees, of which the first is judged. `--lags` judges what
really leaves the nozzle, `--aheads` feeds ahead of a lag. One line per case goes to `results.csv` as soon as it is
found, small sections first; cases that the file holds are not judged again, so a run that was stopped goes on where it
was. One line per kind of case goes to a table of the same name. With `--seconds` no case begins after that time.
"""

from __future__ import annotations

import argparse
import csv
import multiprocessing
import time
from collections.abc import Iterator
from itertools import product
from pathlib import Path
from typing import Any

from benchmarks.fill.case import JUDGED, KEY, WIDTH, Case
from benchmarks.fill.sections import names_of_all, sections
from benchmarks.fill.summary import write_summary

from voidless.beads.stadium import full_fill_pitch


def _numbers(text: str) -> list[float]:
    return [float(part) for part in text.split(",")]


def cases(options: argparse.Namespace) -> list[Case]:
    """Return all cases that are asked for, small sections first."""
    names = options.only.split(",") if options.only else names_of_all()
    kinds = list(
        product(
            map(int, options.contours.split(",")), _numbers(options.angles), options.ways.split(","),
            _numbers(options.speeds), _numbers(options.lags), _numbers(options.aheads),
        )
    )  # fmt: skip
    found = [
        Case(section, layer_mm, *kind)
        for layer_mm in _numbers(options.layers)
        for section in sections(names, float(full_fill_pitch(layer_mm, WIDTH)))
        if options.smallest <= section.region.area <= options.largest
        for kind in kinds
    ]
    return sorted(found, key=lambda case: case.section.region.envelope.area)


def _done(table: Path) -> set[tuple[str, ...]]:
    """Return the keys of the cases that a table holds; begin it if there is none."""
    if not table.exists():
        table.parent.mkdir(parents=True, exist_ok=True)
        with table.open("w", encoding="utf-8", newline="") as file:
            csv.DictWriter(file, (*KEY, *JUDGED), lineterminator="\n").writeheader()
    with table.open(encoding="utf-8", newline="") as file:
        return {tuple(row[name] for name in KEY) for row in csv.DictReader(file)}


def _row(task: tuple[Case, float]) -> dict[str, Any] | None:
    """Return a case's line, None where it is too late for it."""
    case, end = task
    return case.row() if time.time() < end else None


def _rows(todo: list[Case], processes: int, end: float) -> Iterator[dict[str, Any] | None]:
    tasks = [(case, end) for case in todo]
    if processes == 1:
        yield from map(_row, tasks)
        return
    with multiprocessing.get_context("spawn").Pool(processes) as pool:
        yield from pool.imap_unordered(_row, tasks)


def main() -> None:
    """Judge, and write the table."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    for name, default in (
        ("only", ""), ("contours", "2,1,0"), ("angles", "0,45"), ("layers", "0.2,0.12"), ("ways", "plan,plain"),
        ("speeds", "40"), ("lags", "0"), ("aheads", "0"),
    ):  # fmt: skip
        parser.add_argument(f"--{name}", default=default)
    parser.add_argument("--smallest", type=float, default=0.0)
    parser.add_argument("--largest", type=float, default=1e9)
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=1e9)
    parser.add_argument("--out", type=Path, default=Path(__file__).parent / "results.csv")
    options = parser.parse_args()
    done = _done(options.out)
    todo = [case for case in cases(options) if case.key not in done]
    with options.out.open("a", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, (*KEY, *JUDGED), lineterminator="\n")
        for row in _rows(todo, options.processes, time.time() + options.seconds):
            if row is not None:
                writer.writerow(row)
                file.flush()
    write_summary(options.out)


if __name__ == "__main__":
    main()
