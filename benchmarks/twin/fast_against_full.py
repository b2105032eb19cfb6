"""
Compare the fast twin's healing with the heat history of real toolpaths, over a space of settings.

    python benchmarks/twin/fast_against_full.py [SETTINGS] [MATERIAL]

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

import numpy as np
from scipy.stats import qmc

from voidless.machines import load_machine
from voidless.materials import load_material
from voidless.physics.heat.history.grid import Beads
from voidless.physics.heat.history.run import heat_history
from voidless.physics.heat.history.types import METHODS, Polymer, Surroundings
from voidless.physics.weld.healing import rounded_healing
from voidless.physics.weld.shift import log10_shift_wlf, weld_rate_wlf
from voidless.settings import default_settings
from voidless.specimens.order import SpecimenOrder
from voidless.toolpath.build import plan_build
from voidless.toolpath.layer_time import layer_times
from voidless.toolpath.motion import MotionLimits, profile_moves
from voidless.twin.chain import run_chain
from voidless.twin.context import context_of
from voidless.twin.fast import predict
from voidless.twin.ground import ground_of
from voidless.twin.heat import air_temperature, heat_transfer
from voidless.twin.links import LINKS

MACHINE = load_machine("bench-0.4")
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


def beads_of(path, chain) -> tuple[Beads, np.ndarray]:
    """Return the beads of a toolpath below HEIGHT, and their layers' heights."""
    moves = path.moves
    ends = np.cumsum(profile_moves(moves, MotionLimits.of(MACHINE)).time_s)
    layer = 1e-3 * path.layer_mm
    keep = np.flatnonzero(moves.deposits & (moves.layer >= 0) & (moves.layer * layer < HEIGHT))
    starts = np.concatenate([[0.0], ends[:-1]])
    ends_mm = np.column_stack([moves.x_mm, moves.y_mm])
    starts_mm = np.vstack([moves.start_mm[:2], ends_mm[:-1]])
    start, end = 1e-3 * starts_mm[keep], 1e-3 * ends_mm[keep]
    length = np.hypot(*(end - start).T)
    keep, start, end, length = (item[length > 1e-6] for item in (keep, start, end, length))
    size = keep.size
    return Beads(
        start=start,
        end=end,
        layer=moves.layer[keep],
        time_start=starts[keep],
        time_end=ends[keep],
        width=1e-9 * moves.volume_mm3[keep] / length / layer,
        warm=np.full(size, float(chain.melt.temperature[0])),
        air=np.full(size, float(heat_transfer(chain.inputs)[0])),
        joined=np.concatenate([[False], (keep[1:] == keep[:-1] + 1)]),
        thick=np.full(int(moves.layer[keep].max()) + 1, layer),
    ), layer


def polymer_of(ground) -> Polymer:
    """Return the polymer with the fast twin's own healing law."""
    at = 10.0 ** float(-log10_shift_wlf(ground.weld_time_at, ground.wlf_at, ground.wlf_c1, ground.wlf_c2))

    def log_rate(temperature):
        warm = np.maximum(temperature, ground.stop + 1e-9)
        law = (ground.weld_time * at, ground.wlf_at, ground.wlf_c1, ground.wlf_c2, ground.stop)
        return np.log(weld_rate_wlf(warm, *law))

    return Polymer(ground.conductivity, ground.density * ground.heat_capacity, ground.stop, log_rate)


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


def full_healing(path, chain) -> tuple[float, float]:
    """Return the degree of healing through layers and between beads in the judged layers."""
    beads, _ = beads_of(path, chain)
    around = Surroundings(air=float(air_temperature(chain.inputs)[0]), bed=float(chain.inputs.bed[0]))
    found = heat_history(beads, polymer_of(chain.inputs.ground), around, METHODS["standard"])
    inside = np.isin(found.cells.event_layer, judged_layers(path))
    through, beside = found.through[inside], found.beside[inside]
    return (
        float(rounded_healing(np.nanmedian(through))),
        float(rounded_healing(np.nanmedian(beside))),
    )


def main(count: int, material: str) -> None:
    """Print the comparison."""
    polymer = load_material(material)
    ground, link = ground_of(polymer, MACHINE), LINKS["healing"]
    rows, start = [], time.perf_counter()
    for settings in settings_of(count, default_settings(polymer, MACHINE)):
        for kind, number in SPECIMENS.items():
            path = plan_build((SpecimenOrder(kind=kind, count=number),), settings, MACHINE)
            context = context_for(kind, path)
            columns = {name: np.array([float(value)]) for name, value in settings.items()}
            chain = run_chain(columns, ground, context_of(context), {})
            full = full_healing(path, chain)
            fast = (float(chain.upright.healing[0]), float(chain.flat.healing[0]))
            sd = float(predict(columns, polymer, MACHINE, context).responses["healing"].sd[0])
            rows.append((list(SPECIMENS).index(kind), *fast, *full, sd, chain.upright.layer_time[0]))
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
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 64, sys.argv[2] if len(sys.argv) > 2 else "petg")
