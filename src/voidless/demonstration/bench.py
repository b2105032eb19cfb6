"""The invented bench: prints a build in imagination and leaves raw files as real instruments would."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.demonstration.truth import SOLID_DENSITY_G_CM3, Truth, true_means
from voidless.measure.weighing.density import water_density

__all__ = ["MARK", "Bench"]

MARK = "INVENTED DEMO DATA"
"""Stands in every raw file of the demo."""

_WATER_C = 22.5
_SECTIONS_MM2 = {"xy": 10.0, "z": 25.0}
_SCATTER_BUILD = {"clarity": 0.012, "strength": 0.015, "size": 0.010}
_SCATTER_PIECE = {"clarity": 0.006, "strength": 0.020, "size": 0.006}
_SAMPLES_S = 0.05
_EXTENSION_MM_S = 0.25
_BREAK_STRAIN = {"xy": 0.045, "z": 0.026}
_GAUGE_MM = {"xy": 58.0, "z": 24.0}


@dataclass
class Bench:
    """
    An imaginary workshop with a printer, a tensile rig, a balance, callipers and a camera.

    Attributes
    ----------
    folder : Path
        Where raw files are left.
    rng : numpy.random.Generator
        Source of all scatter.
    """

    folder: Path
    rng: np.random.Generator
    exposure_h: float = 0.5
    radius_breaks: list[str] = field(default_factory=list)

    def print_and_measure(self, rows: Sequence[Mapping[str, Any]], fixed: Mapping[str, float]) -> list[Path]:
        """Return the raw files of a session: every build printed, measured and written down."""
        folder = self.folder / f"session-{1 + len(list(self.folder.glob('session-*')))}"
        folder.mkdir(parents=True)
        results = ["run,build,specimen,response,value,unit,feature,break_place,exposure_h,note"]
        weighings = ["run,build,specimen,mass_air_g,mass_water_g,water_c,note"]
        files: list[Path] = []
        for row in rows:
            settings = self._realised({**fixed, **row["settings"]})
            self.exposure_h += row["build_min"] / 60.0 + 0.3
            truth = self._build(true_means(settings, self.exposure_h))
            results += list(self._table_rows(row, truth))
            weighings.append(self._weighing(row, truth))
            files += [
                self._curve(folder, row, truth, axis, number) for axis in ("xy", "z") for number in (1, 2)
            ]
            files.append(self._photo(folder, row, truth))
        table, balance = folder / "clarity-and-size.csv", folder / "weighings.csv"
        table.write_text("\n".join(results) + "\n", encoding="utf-8")
        balance.write_text("\n".join(weighings) + "\n", encoding="utf-8")
        return [table, balance, *files]

    def dry(self) -> None:
        """Put the spool into the dryer until the next session."""
        self.exposure_h = 0.0

    # ---- printing

    def _realised(self, settings: Mapping[str, float]) -> dict[str, float]:
        """Return what the machine really did: thermometer and drive are never exact."""
        moved = dict(settings)
        moved["nozzle_c"] += self.rng.normal(0.0, 1.5)
        moved["flow_pct"] += self.rng.normal(0.0, 0.5)
        return moved

    def _build(self, truth: Truth) -> Truth:
        """Return the means of this build: builds differ by more than their settings."""
        scatter = {name: self.rng.normal(0.0, sd) for name, sd in _SCATTER_BUILD.items()}
        return Truth(
            truth.clarity + scatter["clarity"],
            truth.strength_xy_mpa * (1.0 + scatter["strength"]),
            truth.strength_z_mpa * (1.0 + 1.5 * scatter["strength"]),
            truth.size_error_mm + scatter["size"],
            truth.void_pct * float(np.exp(self.rng.normal(0.0, 0.1))),
        )

    # ---- instruments

    def _table_rows(self, row: Mapping[str, Any], truth: Truth) -> Iterator[str]:
        head = f"{row['run']},{row['build']}"
        tail = f",{self.exposure_h:.1f},{MARK}"
        clarity = truth.clarity + self.rng.normal(0.0, _SCATTER_PIECE["clarity"])
        yield f"{head},plaque_1,clarity,{float(np.clip(clarity, 0.0, 1.0)):.3f},,,{tail}"
        for number in (1, 2):
            size = truth.size_error_mm + self.rng.normal(0.0, _SCATTER_PIECE["size"])
            yield f"{head},block_{number},size_error_mm,{size:.3f},mm,x,{tail}"

    def _weighing(self, row: Mapping[str, Any], truth: Truth) -> str:
        density = SOLID_DENSITY_G_CM3 * (1.0 - truth.void_pct / 100.0)
        air = 1.25 + self.rng.normal(0.0, 0.005)
        lift = air / density * float(water_density(_WATER_C)) / 1000.0
        water = air - lift + self.rng.normal(0.0, 0.0003)
        return f"{row['run']},{row['build']},block_1,{air:.4f},{water:.4f},{_WATER_C},{MARK}"

    def _curve(self, folder: Path, row: Mapping[str, Any], truth: Truth, axis: str, number: int) -> Path:
        """Return a machine curve in the manner of a rig that writes decimal commas."""
        strength = truth.strength_xy_mpa if axis == "xy" else truth.strength_z_mpa
        strength *= 1.0 + self.rng.normal(0.0, _SCATTER_PIECE["strength"])
        time, travel, force = self._pull(strength, axis)
        lines = [
            f'"{MARK}"',
            f'"Cross-section";{_decimal(_SECTIONS_MM2[axis])};"mm2"',
            '"Speed";15,0;"mm/min"',
        ]
        lines += ["Time;Crosshead;Force", "s;mm;N"]
        lines += [
            f"{_decimal(t)};{_decimal(x)};{_decimal(f)}" for t, x, f in zip(time, travel, force, strict=True)
        ]
        path = folder / f"{row['run']}_{row['build']}_bar_{axis}_{number}.csv"
        path.write_text("\n".join(lines) + "\n", encoding="latin-1")
        return path

    def _pull(self, strength: float, axis: str) -> tuple[NDArray[np.float64], ...]:
        """Return time [s], travel [mm] and force [N] of one bar, with slack, curvature, break and noise."""
        slack, length, last = 0.05, _GAUGE_MM[axis], _BREAK_STRAIN[axis]
        time = np.arange(0.0, (slack + last * length) / _EXTENSION_MM_S + 1.0, _SAMPLES_S)
        travel = _EXTENSION_MM_S * time
        strain = np.clip(travel - slack, 0.0, None) / length
        rise = np.tanh(1.6 * strain / last) / np.tanh(1.6)
        force = _SECTIONS_MM2[axis] * strength * np.where(strain <= last, rise, 0.0)
        return time, travel, force + self.rng.normal(0.0, 0.25, len(time))

    def _photo(self, folder: Path, row: Mapping[str, Any], truth: Truth) -> Path:
        """Return a small picture of a bar target seen through the plaque; it is kept, not measured."""
        from PIL import Image, PngImagePlugin

        bars = np.where((np.arange(96) // 8) % 2, 1.0, -1.0) * np.ones((64, 1))
        grey = 128.0 + 90.0 * truth.clarity * bars + self.rng.normal(0.0, 4.0, bars.shape)
        about = PngImagePlugin.PngInfo()
        about.add_text("Description", MARK)
        path = folder / f"{row['run']}_{row['build']}_plaque.png"
        Image.fromarray(np.clip(grey, 0, 255).astype(np.uint8)).save(path, pnginfo=about)
        return path


def _decimal(value: float) -> str:
    return f"{value:.3f}".replace(".", ",")
