"""The invented bench: prints builds in imagination and leaves raw files as real instruments would."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.demonstration.target import MARK
from voidless.demonstration.truth import SOLID_DENSITY_G_CM3, Truth, imagine_builds
from voidless.measure.weighing.density import water_density

__all__ = ["Bench", "Printed", "Session"]

_WARM_UP_H, _BETWEEN_H = 0.5, 0.3
_WATER_C = 22.5
_SECTIONS_MM2 = {"xy": 10.0, "z": 25.0}
_CLARITY_SD, _STRENGTH_SD, _SIZE_SD = 0.006, 0.020, 0.006
"""Scatter between specimens of one build: absolute, relative, absolute [mm]."""

_SAMPLES_S = 0.05
_EXTENSION_MM_S = 0.25
_BREAK_STRAIN = {"xy": 0.045, "z": 0.026}
_GAUGE_MM = {"xy": 58.0, "z": 24.0}
_EARLY = 0.93
"""Share of its strength at which the bar fails that breaks at the radius."""


@dataclass(frozen=True)
class Printed:
    """One imagined build: when it was printed, how long the spool had been out, what came of it."""

    run: str
    build: str
    started: datetime
    ended: datetime
    exposure_h: float
    truth: Truth


@dataclass(frozen=True)
class Session:
    """One day at the bench: the builds, and the raw files that the instruments left."""

    builds: tuple[Printed, ...]
    files: tuple[Path, ...]


@dataclass
class Bench:
    """
    An imaginary workshop with a printer, a tensile rig, a balance, callipers and a camera.

    Attributes
    ----------
    folder : Path
        Where raw files are left, a folder a session.
    rng : numpy.random.Generator
        Source of all scatter.
    radius_breaks : frozenset of (str, str)
        Build and specimen of bars that break at the radius; a person writes their force into the table.
    """

    folder: Path
    rng: np.random.Generator
    radius_breaks: frozenset[tuple[str, str]] = field(default_factory=frozenset)

    def work(self, rows: Sequence[Mapping[str, Any]], fixed: Mapping[str, float], opens: datetime) -> Session:
        """
        Return a session: every build printed, measured and written down.

        Parameters
        ----------
        rows : sequence of mapping
            Builds as `plan` and `next` return them, in print order.
        fixed : mapping of str to float
            Settings that no factor varies. [unit in the name]
        opens : datetime
            When the spool leaves the dryer.
        """
        folder = self.folder / f"session-{opens:%Y-%m-%d}"
        folder.mkdir(parents=True)
        builds = list(self._print(rows, fixed, opens))
        table = ["run,build,specimen,response,value,unit,feature,method,break_place,note"]
        weighings = ["run,build,specimen,mass_air_g,mass_water_g,water_c,note"]
        files = []
        for item in builds:
            table += self._table_rows(item)
            weighings.append(self._weighing(item))
            files += self._bars(folder, item, table)
            files.append(self._photo(folder, item))
        for name, lines in (("clarity-and-size.csv", table), ("weighings.csv", weighings)):
            files.append(folder / name)
            files[-1].write_text("\n".join(lines) + "\n", encoding="utf-8")
        return Session(tuple(builds), tuple(files))

    def _print(
        self, rows: Sequence[Mapping[str, Any]], fixed: Mapping[str, float], opens: datetime
    ) -> Iterator[Printed]:
        start = opens + timedelta(hours=_WARM_UP_H)
        for row in rows:
            end = start + timedelta(minutes=round(row["build_min"]))
            exposure = (start - opens).total_seconds() / 3600.0
            truth = imagine_builds({**fixed, **row["settings"]}, exposure, self.rng)
            yield Printed(row["run"], row["build"], start, end, exposure, truth)
            start = end + timedelta(hours=_BETWEEN_H)

    # ---- instruments

    def _table_rows(self, item: Printed) -> Iterator[str]:
        head = f"{item.run},{item.build}"
        clarity = float(item.truth.clarity[0]) + self.rng.normal(0.0, _CLARITY_SD)
        yield f"{head},plaque_1,clarity,{min(max(clarity, 0.0), 1.0):.3f},,,,,{MARK}"
        for _ in range(2):
            size = float(item.truth.size_error_mm[0]) + self.rng.normal(0.0, _SIZE_SD)
            yield f"{head},block_1,size_error_mm,{size:.3f},mm,x,,,{MARK}"

    def _weighing(self, item: Printed) -> str:
        density = SOLID_DENSITY_G_CM3 * (1.0 - float(item.truth.void_pct[0]) / 100.0)
        air = 1.25 + self.rng.normal(0.0, 0.005)
        lift = air / density * float(water_density(_WATER_C)) / 1000.0
        water = air - lift + self.rng.normal(0.0, 0.0003)
        return f"{item.run},{item.build},block_1,{air:.4f},{water:.4f},{_WATER_C},{MARK}"

    def _bars(self, folder: Path, item: Printed, table: list[str]) -> list[Path]:
        """Return the curves of the bars; one that breaks at the radius gives a row of the table instead."""
        files = []
        for axis in ("xy", "z"):
            mean = float(item.truth.strength_xy_mpa[0] if axis == "xy" else item.truth.strength_z_mpa[0])
            for number in (1, 2):
                strength = mean * (1.0 + self.rng.normal(0.0, _STRENGTH_SD))
                name = f"bar_{axis}_{number}"
                if (item.build, name) in self.radius_breaks:
                    value = f"{_EARLY * strength:.1f},MPa,,maximum,radius"
                    table.append(f"{item.run},{item.build},{name},strength_{axis}_mpa,{value},{MARK}")
                else:
                    files.append(folder / f"{item.run}_{item.build}_{name}.csv")
                    files[-1].write_text(self._curve(strength, axis), encoding="latin-1")
        return files

    def _curve(self, strength: float, axis: str) -> str:
        """Return a machine curve in the manner of a rig that writes decimal commas."""
        time, travel, force = self._pull(strength, axis)
        lines = [
            f'"{MARK}"',
            '"Rig";"bench rig of an imaginary workshop"',
            f'"Cross-section";{_decimal(_SECTIONS_MM2[axis])};"mm2"',
            '"Speed";15,0;"mm/min"',
            "",
            "Time;Crosshead;Force",
            "s;mm;N",
        ]
        lines += [
            f"{_decimal(t)};{_decimal(x)};{_decimal(f)}" for t, x, f in zip(time, travel, force, strict=True)
        ]
        return "\n".join(lines) + "\n"

    def _pull(self, strength: float, axis: str) -> tuple[NDArray[np.float64], ...]:
        """Return time [s], travel [mm] and force [N] of one bar, with slack, curvature, break and noise."""
        slack, length, last = 0.05, _GAUGE_MM[axis], _BREAK_STRAIN[axis]
        time = np.arange(0.0, (slack + last * length) / _EXTENSION_MM_S + 1.0, _SAMPLES_S)
        travel = _EXTENSION_MM_S * time
        strain = np.clip(travel - slack, 0.0, None) / length
        rise = np.tanh(1.6 * strain / last) / np.tanh(1.6)
        force = _SECTIONS_MM2[axis] * strength * np.where(strain <= last, rise, 0.0)
        return time, travel, force + self.rng.normal(0.0, 0.25, len(time))

    def _photo(self, folder: Path, item: Printed) -> Path:
        """Return a small picture of a bar target seen through the plaque; it is kept, not measured."""
        from PIL import Image, PngImagePlugin

        bars = np.where((np.arange(96) // 8) % 2, 1.0, -1.0) * np.ones((64, 1))
        grey = 128.0 + 90.0 * float(item.truth.clarity[0]) * bars + self.rng.normal(0.0, 4.0, bars.shape)
        about = PngImagePlugin.PngInfo()
        about.add_text("Description", MARK)
        path = folder / f"{item.run}_{item.build}_plaque.png"
        Image.fromarray(np.clip(grey, 0, 255).astype(np.uint8)).save(path, pnginfo=about)
        return path


def _decimal(value: float) -> str:
    return f"{value:.3f}".replace(".", ",")
