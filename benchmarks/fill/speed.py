"""
Time of planning and writing a solid whose sections all differ, crossed raster, 0.12 mm layers, per 50 cm3.

    python -m benchmarks.fill.speed [LAYERS [PROCESSES]]

A block with a round end and two holes, some 1400 mm2 a layer, that turns and grows from layer to layer; 200 layers are
50 cm3. Processor time is that of all processes; times are scaled from the volume planned to 50 cm3.
"""

from __future__ import annotations

import os
import sys
import time

from benchmarks.fill.case import MACHINE, SETTINGS
from shapely import Point, box
from shapely.affinity import rotate

from voidless.toolpath.build import Solid, plan_solids
from voidless.toolpath.moves import Placement
from voidless.toolpath.sections import Crew
from voidless.toolpath.writer import write_gcode

LAYER_MM = 0.12


def _sections(layers: int) -> list[object]:
    found = []
    for number in range(layers):
        size = 1.0 + 0.002 * number
        body = box(-24.0 * size, -14.0, 14.0 * size, 14.0).union(Point(14.0, 0.0).buffer(17.0 * size, 32))
        holes = Point(-12.0, 3.0).buffer(3.0, 32).union(Point(15.0, 0.0).buffer(6.0, 32))
        found.append(rotate(body.difference(holes), 0.7 * number, origin=(0.0, 0.0)))
    return found


def _worked_s() -> float:
    """Return the processor time of this process and of those it started that have ended. [s]"""
    spent = os.times()
    return spent.user + spent.system + spent.children_user + spent.children_system


def main() -> None:
    """Print processor times."""
    layers = int(sys.argv[1]) if len(sys.argv) > 1 else 12
    crew = Crew(int(sys.argv[2]) if len(sys.argv) > 2 else 1)
    settings = {
        **SETTINGS,
        "layer_mm": LAYER_MM,
        "contours": 2.0,
        "raster_deg": 45.0,
        "raster_step_deg": 90.0,
    }
    sections = _sections(layers)
    volume = sum(region.area for region in sections) * LAYER_MM
    solid = Solid(Placement(1, "block", (200.0, 200.0), (80.0, 80.0, layers * LAYER_MM)), sections)
    plan_solids([Solid(solid.placement, sections[:1])], settings, MACHINE)  # compiles
    for even in (True, False):
        wall, begin = time.perf_counter(), _worked_s()
        path = plan_solids([solid], settings, MACHINE, even, crew)
        planned, waited = _worked_s() - begin, time.perf_counter() - wall
        begin = _worked_s()
        text = write_gcode(path, MACHINE, settings, ["speed"])
        written = _worked_s() - begin
        scale = 50_000.0 / volume
        print(
            f"even={even}: {volume / 1000.0:.2f} cm3, {len(path.moves)} moves, {len(text)} bytes; per 50 cm3: planning "
            f"{planned * scale:.0f} s of processor time in {waited * scale:.0f} s, writing {written * scale:.0f} s"
        )


if __name__ == "__main__":
    main()
