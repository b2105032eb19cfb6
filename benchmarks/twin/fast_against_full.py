"""
Compare the fast twin's healing with the heat history of real toolpaths, over a space of settings.

    python benchmarks/twin/fast_against_full.py [SETTINGS [PROCESSES]]

Three specimens (two upright bars, two flat bars, a plaque), each planned by the program at every setting of a Sobol
sequence, cut off at 4 mm height to save time. The heat history takes the same polymer, air and melt temperature as
the fast twin, so what is compared is the fast twin's picture of heat: one column, planar layers, closed forms.
Medians over the middle half of the layers: a fast twin knows one weld of each kind, while welds of contour and raster,
whose neighbour has had a whole contour's time to cool, heal far less than those between raster beads.
Printed: shares of cases whose difference of healing lies within the fast twin's stated standard deviation (of the
whole prediction, and of its own error alone), root mean square and mean difference on the scale of log odds.
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace
from multiprocessing import Pool

import numpy as np
from scipy.stats import qmc

from voidless.machines import load_machine
from voidless.materials import load_material
from voidless.settings import default_settings
from voidless.specimens.order import SpecimenOrder
from voidless.toolpath.build import plan_build
from voidless.toolpath.layer_time import layer_times
from voidless.twin.chain import run_chain
from voidless.twin.context import context_of
from voidless.twin.fast import predict
from voidless.twin.full.fields import weld_fields
from voidless.twin.ground import ground_of
from voidless.twin.links import LINKS

MACHINE, POLYMER = load_machine("bench-0.4"), load_material("petg")
SPECIMENS = {"bar_z": 2, "bar_xy": 2, "plaque": 1}
SPACE = {
    "layer_mm": (0.10, 0.24),
    "width_mm": (0.40, 0.60),
    "nozzle_c": (-15.0, 15.0),  # about the usual
    "fan_pct": (0.0, 100.0),
    "speed_mm_s": (10.0, 60.0),
    "bed_c": (-20.0, 0.0),  # about the usual
}
HEIGHT = 4.0e-3


def settings_of(count: int, usual: dict[str, float]) -> list[dict[str, float]]:
    """Return settings that fill the space."""
    unit = qmc.Sobol(len(SPACE), scramble=True, rng=np.random.default_rng(64)).random(count)
    found = []
    for row in unit:
        values = {
            name: low + u * (high - low) for (name, (low, high)), u in zip(SPACE.items(), row, strict=True)
        }
        for name in ("nozzle_c", "bed_c"):
            values[name] += usual[name]
        found.append(usual | {"flow_pct": 100.0, "contours": 1.0} | values)
    return found


def context_for(kind: str, path) -> dict[str, float]:
    """Return the fast twin's site for a specimen: both sites are the same here."""
    moves = path.moves
    first = moves.deposits & (moves.specimen == 0) & np.isin(moves.layer, judged_layers(path))
    x, y = (float(np.ptp(column[first])) + path.pitch_mm for column in (moves.x_mm, moves.y_mm))
    times = layer_times(path, MACHINE)
    judged = times[:, judged_layers(path)]
    area = SPECIMENS[kind] * x * y
    site = {
        "area_mm2": area,
        "slenderness_1_mm": 2.0 * (x + y) / (x * y),
        "height_mm": 1e3 * np.mean(judged_layers(path)) * 1e-3 * path.layer_mm,
        "line_mm": x,
        "layer_time_s": float(np.nanmean(judged)),
    }
    return {f"{side}_{name}": value for side in ("upright", "flat") for name, value in site.items()}


def judged_layers(path) -> np.ndarray:
    """Return the layers in the middle half of what is kept."""
    top = min(path.layers, int(HEIGHT / (1e-3 * path.layer_mm)))
    return np.arange(top // 4, max(top // 4 + 1, 3 * top // 4))


def full_healing(path, settings) -> tuple[float, float]:
    """Return the degree of healing through layers and between beads, medians over the judged layers."""
    moves = path.moves
    low = replace(moves, layer=np.where(moves.z_mm < 1e3 * HEIGHT, moves.layer, -1))
    found = weld_fields(low, POLYMER, MACHINE, settings)
    inside = np.isin(found.layer, judged_layers(path)) & (found.area_mm2 > 0.0)
    return weighed_median(found, found.through, inside), weighed_median(found, found.beside, inside)


def weighed_median(found, healing, inside) -> float:
    """Return the median over area."""
    known = inside & np.isfinite(healing)
    order = np.argsort(healing[known])
    area = np.cumsum(found.area_mm2[known][order])
    return float(healing[known][order][np.searchsorted(area, 0.5 * area[-1])])


def cases(settings: dict[str, float]) -> list[tuple[float, ...]]:
    """Return kind, healing by the fast and the full twin, and the stated standard deviation, for each specimen."""
    ground, rows = ground_of(POLYMER, MACHINE), []
    columns = {name: np.array([float(value)]) for name, value in settings.items()}
    for kind, number in SPECIMENS.items():
        path = plan_build((SpecimenOrder(kind=kind, count=number),), settings, MACHINE)
        context = context_for(kind, path)
        chain = run_chain(columns, ground, context_of(context), {})
        fast = (float(chain.upright.healing[0]), float(chain.flat.healing[0]))
        sd = float(predict(columns, POLYMER, MACHINE, context).responses["healing"].sd[0])
        rows.append((list(SPECIMENS).index(kind), *fast, *full_healing(path, settings), sd))
    return rows


def main(count: int, processes: int) -> None:
    """Print the comparison."""
    link, start = LINKS["healing"], time.perf_counter()
    asked = settings_of(count, default_settings(POLYMER, MACHINE))
    rows = cases(asked[0])  # compiles
    with Pool(processes) as pool:
        rows += [row for found in pool.imap_unordered(cases, asked[1:]) for row in found]
    table = np.array(rows)
    print(f"{len(table)} cases, {time.perf_counter() - start:.0f} s")
    for place, kind in enumerate([*SPECIMENS, "all"]):
        part = table if kind == "all" else table[table[:, 0] == place]
        for name, fast, full in (
            ("through layers", part[:, 1], part[:, 3]),
            ("between beads", part[:, 2], part[:, 4]),
        ):
            away = np.abs(fast - full)
            odds = link.forward(fast) - link.forward(full)
            own = link.discrepancy * link.slope(full)
            print(
                f"{kind:8s} {name:15s} within stated sd {np.mean(away <= part[:, 5]):.2f}"
                f"  within own error {np.mean(away <= own):.2f}  rms {np.sqrt(np.mean(away**2)):.3f}"
                f"  mean {np.mean(fast - full):+.3f}  log odds rms {np.sqrt(np.mean(odds**2)):.2f}"
            )
    np.savetxt(sys.stdout, table, fmt="%.3g") if count <= 4 else None


if __name__ == "__main__":
    given = [int(word) for word in sys.argv[1:]]
    main(given[0] if given else 64, given[1] if len(given) > 1 else 1)
