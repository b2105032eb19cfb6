"""Different sections of all specimens of the catalogue and of the meshes in tests/data."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from shapely.affinity import translate

from voidless.errors import InputError
from voidless.meshes.mesh import joined
from voidless.meshes.reading import read_mesh
from voidless.meshes.sections import mesh_sections
from voidless.specimens.catalogue import CATALOGUE, specimen

DATA = Path(__file__).parents[2] / "tests" / "data"
FOLDERS = ("part-meshes", "bar-meshes")
SHARES = (0.04, 0.27, 0.5, 0.73, 0.96)
"""Heights at which meshes and specimens are cut, in their own height."""
_SAME_MM = 1e-5


@dataclass(frozen=True, eq=False)
class Section:
    """A section about its own middle, where it comes from, and the width that raster beads along X have to divide."""

    source: str
    height_mm: float
    region: Any
    reference_mm: float | None = None


def _centred(region: Any) -> Any:
    x0, y0, x1, y1 = region.bounds
    return translate(region, -(x0 + x1) / 2.0, -(y0 + y1) / 2.0)


def _specimens(names: list[str], pitch_mm: float) -> Iterator[Section]:
    for name in names:
        kind = specimen(name).sized(pitch_mm)
        reference = kind.gauge_mm[0] if kind.gauge_mm else None
        for share in SHARES:
            height = share * kind.height_mm
            yield Section(name, height, kind.region(height), reference)


def _meshes(names: list[str]) -> Iterator[Section]:
    for path in sorted(p for folder in FOLDERS for p in (DATA / folder).iterdir()):
        if path.suffix not in (".stl", ".3mf") or path.stem not in names:
            continue
        mesh = joined(read_mesh(path.read_bytes(), path.name, "mm" if path.suffix == ".stl" else None).mesh)
        (_, _, low), (_, _, high) = mesh.box_mm
        heights = low + np.array(SHARES) * (high - low)
        try:
            found = list(mesh_sections(mesh, heights))
        except InputError as fault:
            print(f"{path.name} is left out: {fault}")
            continue
        for height, region in zip(heights, found, strict=True):
            yield Section(path.stem, float(height - low), region)


def names_of_all() -> list[str]:
    """Return the names of all specimens and meshes."""
    meshes = [p.stem for folder in FOLDERS for p in (DATA / folder).iterdir() if p.suffix in (".stl", ".3mf")]
    return [*CATALOGUE, *sorted(meshes)]


def sections(names: list[str], pitch_mm: float) -> Iterator[Section]:
    """Return the different sections of specimens and meshes: none that is equal to an earlier one to 10 nm."""
    seen: set[bytes] = set()
    for found in (*_specimens([name for name in names if name in CATALOGUE], pitch_mm), *_meshes(names)):
        if found.region.is_empty or not found.region.area > 0.0:
            continue
        region = _centred(found.region)
        key = shapely.set_precision(region, _SAME_MM).normalize().wkb + repr(found.reference_mm).encode()
        if key not in seen:
            seen.add(key)
            yield Section(found.source, found.height_mm, region, found.reference_mm)
