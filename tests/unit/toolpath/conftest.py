"""A frozen machine, complete settings and hand-made moves for the tests of this folder."""

from dataclasses import replace

import numpy as np
import pytest

from voidless.machines import load_machine
from voidless.toolpath.moves import Kind, Moves


@pytest.fixture(scope="session")
def bench():
    """A machine whose numbers do not change with the library's."""
    return replace(
        load_machine("bench-0.4"),
        name="test bench",
        speed_max_mm_s=(300.0, 300.0, 15.0, 60.0),
        acceleration_max_mm_s2=(3000.0, 3000.0, 200.0, 3000.0),
        print_acceleration_mm_s2=1000.0,
        travel_acceleration_mm_s2=1500.0,
        travel_speed_mm_s=150.0,
        junction_deviation_mm=0.02,
        max_rate_mm3_s=12.0,
        retract_mm=0.8,
        retract_speed_mm_s=35.0,
        bed_x_mm=200.0,
        bed_y_mm=200.0,
        bed_z_mm=180.0,
    )


@pytest.fixture(scope="session")
def settings():
    """Complete settings of a usual build."""
    return {
        "layer_mm": 0.2,
        "width_mm": 0.45,
        "flow_pct": 100.0,
        "contours": 2.0,
        "raster_deg": 45.0,
        "raster_step_deg": 90.0,
        "overlap_pct": 15.0,
        "nozzle_c": 240.0,
        "bed_c": 80.0,
        "chamber_c": 25.0,
        "fan_pct": 20.0,
        "speed_mm_s": 50.0,
    }


@pytest.fixture(scope="session")
def straight_moves():
    """A function that makes beads along points `(n, 3)` at given speeds, from the origin."""

    def make(points, speed_mm_s, volume_mm3=1e-6, **columns):
        ends = np.asarray(points, dtype=float)
        number = len(ends)
        given = {
            "kind": np.full(number, int(Kind.BEAD)),
            "x_mm": ends[:, 0],
            "y_mm": ends[:, 1],
            "z_mm": ends[:, 2],
            "length_mm": np.linalg.norm(np.diff(np.vstack([np.zeros(3), ends]), axis=0), axis=1),
            "volume_mm3": np.broadcast_to(np.asarray(volume_mm3, dtype=float), number).copy(),
            "speed_mm_s": np.broadcast_to(np.asarray(speed_mm_s, dtype=float), number).copy(),
            "layer": np.zeros(number, dtype=np.int64),
            "specimen": np.zeros(number, dtype=np.int64),
            "fan_pct": np.zeros(number),
            "nozzle_c": np.full(number, 240.0),
            "dwell_s": np.zeros(number),
            "radius_mm": np.full(number, np.inf),
            "acceleration_mm_s2": np.full(number, np.nan),
            "speed_factor": np.ones(number),
            "flow_factor": np.ones(number),
        }
        return Moves(**{**given, **columns})

    return make
