"""
Speed of the heat history, healing included, and how it grows with length and size.

    python benchmarks/heat/run.py [bar] [block] [real] [length] [large]

Each path is named by a hash of its beads. Given are microseconds per millimetre of bead and simulated print time over
processor time of one core (the solver uses one), error beside it: energy missing. Compiling comes before and is told.
"""

from __future__ import annotations

import hashlib
import resource
import sys
import time
from pathlib import Path

import numpy as np
from blocks import raster

from voidless.machines import load_machine
from voidless.materials import load_material
from voidless.physics.heat.history.grid import Beads
from voidless.physics.heat.history.run import heat_history
from voidless.physics.heat.history.types import METHODS, Surroundings
from voidless.settings import default_settings
from voidless.specimens.order import SpecimenOrder
from voidless.toolpath.build import plan_build
from voidless.toolpath.motion import MotionLimits, profile_moves
from voidless.toolpath.moves import Moves
from voidless.toolpath.part import part_moves
from voidless.toolpath.reader import read_gcode
from voidless.twin.full.fields import polymer_of
from voidless.twin.full.laying import lay_moves
from voidless.twin.ground import ground_of

MACHINE, PETG = load_machine("bench-0.4"), load_material("petg")
GROUND, SETTINGS = ground_of(PETG, MACHINE), default_settings(PETG, MACHINE)
ROOM = Surroundings(298.15, 348.15)
PART = Path(__file__).parents[2] / "tests/data/toolpaths-parts-relative-e/rug_corner-v2 PET 0.2mm_0.4.gcode"


def of_moves(moves: Moves) -> Beads:
    """Return the beads of a toolpath as the full twin sees them."""
    return lay_moves(moves, profile_moves(moves, MotionLimits.of(MACHINE)), GROUND, SETTINGS).beads


def measure(name: str, beads: Beads, repeats: int = 3) -> None:
    """Run a path and print a line of the table; the best of a few runs counts."""
    parts = (beads.start, beads.end, beads.layer, beads.time_start, beads.width)
    digest = hashlib.sha256(b"".join(np.ascontiguousarray(part).tobytes() for part in parts)).hexdigest()[:8]
    best = np.inf
    for _ in range(repeats):
        begun = time.process_time()
        found = heat_history(beads, polymer_of(GROUND), ROOM, METHODS["standard"])
        best = min(best, time.process_time() - begun)
    printed = float(beads.time_end[-1] - beads.time_start[0])
    length_mm = 1e3 * float(beads.length.sum())
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{name:22s} {digest}  bead {length_mm / 1e3:9.2f} m  print {printed:8.0f} s  "
        f"steps a cell {found.steps / found.cells.cells:5.1f}  "
        f"{1e6 * best / length_mm:7.1f} us/mm  {printed / best:6.0f} x  energy {found.energy_residual:+.1e}  "
        f"peak {peak:5.0f} MB",
        flush=True,
    )


def bar() -> None:
    """The test bar of 80 x 10 x 4 mm, layers of 0.12 mm."""
    measure("bar 80x10x4", raster((80.0, 10.08), 33, 0.12, 0.48))


def block() -> None:
    """A part of 50 cm³."""
    measure("block 50 cm3", raster((50.0, 50.0), 100, 0.2, 0.5))


def real() -> None:
    """Planned specimens and a published part file: contours, curves, crossed raster, travel."""
    for kind in ("bar_xy", "bar_z", "plaque"):
        measure(
            f"planned {kind}",
            of_moves(plan_build((SpecimenOrder(kind=kind, count=2),), SETTINGS, MACHINE).moves),
        )
    crossed = SETTINGS | {"raster_deg": 45.0, "raster_step_deg": 90.0}
    measure(
        "planned plaque, +-45", of_moves(plan_build((SpecimenOrder("plaque", 2),), crossed, MACHINE).moves)
    )
    measure("part file rug_corner", of_moves(part_moves(read_gcode(PART), MACHINE)))


def length() -> None:
    """Three decades of bead length: parts that grow all round, and one cross-section that grows by layers."""
    for side, layers, repeats in ((5.0, 5, 9), (10.0, 12, 5), (20.0, 30, 3), (40.0, 75, 2)):
        measure(f"{side:g} mm x {layers} layers", raster((side, side), layers, 0.2, 0.5), repeats)
    for layers, repeats in ((120, 3), (1200, 1)):
        measure(f"10 mm x {layers} layers", raster((10.0, 10.0), layers, 0.2, 0.5), repeats)


def large() -> None:
    """200 cm³: memory."""
    measure("block 200 cm3", raster((100.0, 100.0), 100, 0.2, 0.5), 1)


if __name__ == "__main__":
    begun = time.perf_counter()
    heat_history(raster((4.0, 4.0), 2, 0.2, 0.5), polymer_of(GROUND), ROOM, METHODS["standard"])
    print(f"compiled or loaded in {time.perf_counter() - begun:.0f} s")
    for name in sys.argv[1:] or ("bar", "block", "real", "length", "large"):
        {"bar": bar, "block": block, "real": real, "length": length, "large": large}[name]()
