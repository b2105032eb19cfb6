"""
Print what the twin says of every line of common practice: at expected constants, and its mean and 95 % band.

    python benchmarks/twin/common_practice.py

Clear copolyester, 0.12 mm layers, 0.5 mm beads, one contour, raster one way; figures are what practitioners report (no
source). Section, speed and rig behind the strengths are not known: small bars of 5.7 mm and a round one of 12 mm
stand for them, at two speeds.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path

import numpy as np

from voidless.machines import load_machine
from voidless.materials import load_material
from voidless.twin.chain import responses_of, run_chain
from voidless.twin.context import context_of
from voidless.twin.fast import predict
from voidless.twin.ground import ground_of

MACHINE, PETG = load_machine("bench-0.4"), load_material("petg")
PRACTICE = tomllib.loads(
    (Path(__file__).parents[2] / "tests/data/common-practice/settings.toml").read_text(encoding="utf-8")
)
SMALL = {"upright_area_mm2": 40.0, "upright_slenderness_1_mm": 0.7, "upright_height_mm": 30.0}
ROUND = {"upright_area_mm2": 110.0, "upright_slenderness_1_mm": 0.33, "upright_height_mm": 30.0}
RATIOS = (
    ("ordinary fill, 0.65", {"flow_pct": 94.0}, SMALL),
    ("void-free, no fan, 0.75", {}, SMALL),
    ("small bars, 30 % fan, over 0.80", {"fan_pct": 30.0}, SMALL),
    ("thick round bar, 0.92", {}, ROUND),
)
SWEEPS: tuple[tuple[str, tuple[float, ...]], ...] = (
    ("flow_pct", (96.0, 98.0, 100.0, 102.0, 104.0, 106.0, 110.0)),
    ("nozzle_c", (215.0, 230.0, 240.0, 250.0)),
    ("fan_pct", (0.0, 20.0, 50.0, 100.0)),
    ("speed_mm_s", (5.0, 10.0, 15.0, 30.0, 60.0)),
)


def line(name: str, settings: Mapping[str, float], context: Mapping[str, float]) -> str:
    """Return one response at expected constants, its mean and its band."""
    given = PRACTICE | dict(settings)
    columns = {key: np.array([value]) for key, value in given.items()}
    expected = responses_of(run_chain(columns, ground_of(PETG, MACHINE), context_of(context), {}))[name][0]
    found = predict(columns, PETG, MACHINE, context).responses[name]
    return f"{expected:8.3f} | {found.mean[0]:8.3f} | {found.low[0]:.3f} to {found.high[0]:.3f}"


def main() -> None:
    """Print the tables."""
    for words, settings, context in RATIOS:
        for speed in (15.0, 40.0):
            print(
                f"| {words} | {speed:g} mm/s | {line('z_ratio', settings | {'speed_mm_s': speed}, context)} |"
            )
    for setting, values in SWEEPS:
        for value in values:
            print(f"| clarity, {setting} = {value:g} | {line('clarity', {setting: value}, {})} |")
    for hours in (0.0, 2.0, 10.0, 50.0):
        print(f"| clarity, {hours:g} h out of the dryer | {line('clarity', {}, {'exposure_h': hours})} |")
    for upright in (0.0, 1.0):
        healed = {"nozzle_c": 250.0, "flow_pct": 104.0}
        print(
            f"| charpy, upright = {upright:g} | {line('charpy_kj_m2', healed, {'charpy_upright': upright})} |"
        )


if __name__ == "__main__":
    main()
