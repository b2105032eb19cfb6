"""
The heat history on a graphics processor against the one on the CPU: one kernel, so the same to rounding.

Where there is no such processor, numba's simulator runs the kernel in Python, one thread a block: it shows that batch,
rows and closing step are right, not that settings go side by side or that threads wait where they must.
"""

import json
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
from heat_bench import raster

from voidless.errors import InputError
from voidless.physics.heat.history.gpu.run import graphics_processor
from voidless.physics.heat.history.grid import cells_of, retimed
from voidless.physics.heat.history.types import METHODS

CASE = Path(__file__).with_name("heat_gpu_case.py")


def run(simulated: bool) -> dict:
    """Return what a process of its own finds: the simulator is chosen when numba is imported."""
    paths = [str(CASE.parent), *sys.path]
    settings = os.environ | {
        "PYTHONPATH": os.pathsep.join(paths),
        "NUMBA_ENABLE_CUDASIM": "1" if simulated else "0",
    }
    done = subprocess.run(
        [sys.executable, "-W", "ignore", str(CASE)],
        env=settings,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout.splitlines()[-1])


def check(found: dict) -> None:
    for one, other in found["steps"]:
        assert one == other > 80
    # integrals are kept in single precision; sums are taken in another order
    assert found["apart"] < 1e-6
    assert found["energy"] < 1e-11


@pytest.mark.slow
def test_batch_by_simulator_is_that_of_cpu():
    check(run(simulated=True))


def test_batch_by_graphics_processor_is_that_of_cpu():
    try:
        graphics_processor()
    except InputError as error:
        pytest.skip(str(error))
    check(run(simulated=False))


def test_retimed_cells_are_those_of_the_beads_themselves():
    was = raster(3e-3, 4, 0.2e-3, 0.5e-3, 0.05, 500.0)
    now = replace(was, time_start=2.0 * was.time_start, time_end=2.0 * was.time_end, warm=was.warm + 7.0)
    method = METHODS["standard"]
    found, own = retimed(cells_of(was, method), was, now), cells_of(now, method)
    np.testing.assert_allclose(found.event_time, own.event_time, atol=1e-12)
    np.testing.assert_array_equal(found.event_warm, own.event_warm)
    np.testing.assert_array_equal(found.event_column, own.event_column)


def test_retimed_refuses_another_path_and_another_order():
    was = raster(3e-3, 2, 0.2e-3, 0.5e-3, 0.05, 500.0)
    cells = cells_of(was, METHODS["standard"])
    with pytest.raises(InputError, match="another width"):
        retimed(cells, was, replace(was, width=was.width * 1.1))
    with pytest.raises(InputError, match="another order"):
        retimed(cells, was, replace(was, time_start=was.time_start[::-1], time_end=was.time_end[::-1]))
