"""
Compare the heat history of a batch on a graphics processor, or on its simulator, with the one on the CPU.

    python heat_gpu_case.py

Prints a line of JSON: steps of both, largest difference of integrals over the larger, energy missing; of three settings
of different speed in one gang, on the simulator in gangs of their own.
"""

import json
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
from heat_bench import AIR, exponential, raster

from voidless.physics.heat.history.gpu import run as gpu
from voidless.physics.heat.history.gpu.gang import gangs_of
from voidless.physics.heat.history.gpu.kernel import WIDTH
from voidless.physics.heat.history.grid import cells_of
from voidless.physics.heat.history.kernel.compiled import FIELDS, LANES
from voidless.physics.heat.history.kernel.cpu import compiled_advance
from voidless.physics.heat.history.run import History, collect
from voidless.physics.heat.history.state import work_of
from voidless.physics.heat.history.types import METHODS, Method, Surroundings


def on_cpu(cases: list[gpu.Case], method: Method) -> dict[int, History]:
    """Return histories by the CPU, at the ticks that gangs share: each of a length of its own, since speeds are."""
    found = {}
    with ThreadPoolExecutor(1) as pool:
        gangs = next(gangs_of(cases, cells_of(cases[0].beads, method), method, WIDTH, pool))
    for gang in gangs:
        last = gang.state.tick_first.size - 2
        for k, member in enumerate(gang.members):
            stop, bed, contact = gang.lanes[:, k]
            tick = gang.state.clock[last, k] / last
            facts = gang.facts._replace(tick=tick, stop=stop, bed=bed, bed_contact=contact)
            state = gang.state._replace(
                **{name: part.copy() for name, part in gang.state._asdict().items()}
                | {
                    "event_warm": gang.state.event_warm[:, k].copy(),
                    "event_air": gang.state.event_air[:, k].copy(),
                }
                | {"clock": np.zeros(1)}
            )
            advance, work = compiled_advance(), work_of(state, LANES, FIELDS)
            advance(0, last, facts, state, work)
            state.due[:] = np.minimum(state.due, last)
            state.soon[:] = 0
            advance(last, last + 1, facts, state, work)
            found[member] = collect(gang.cells[k], state, cases[member].polymer, tick)
    return found


def compare(teams: gpu.Teams, side: float, layers: int) -> dict:
    """Return how far settings of a path lie apart on both processors."""
    method = replace(
        METHODS["standard"], after=0.4, sleep_after=0.1, depth=0.5e-3, depth_layers=4, fine_layers=1, fine_depth=0.1e-3,
        block_step=0.32, body_step=0.32,
    )  # fmt: skip
    slow = raster(side, layers, 0.2e-3, 0.5e-3, 0.05, 500.0, gap=0.06)
    polymer = exponential(480.0, 12.0)
    cases = [
        gpu.Case(
            replace(
                slow,
                time_start=share * slow.time_start,
                time_end=share * slow.time_end,
                warm=slow.warm + warmer,
            ),
            polymer,
            Surroundings(AIR, bed),
        )
        for share, warmer, bed in ((1.0, 0.0, 340.0), (0.7, 15.0, 360.0), (0.83, -8.0, 350.0))
    ]
    found = gpu.heat_histories(cases, method, teams=teams)
    cpu = on_cpu(cases, method)
    apart = [
        float(np.nanmax(np.abs(a - b)) / np.nanmax(b))
        for k, one in enumerate(found)
        for a, b in ((one.through, cpu[k].through), (one.beside, cpu[k].beside))
    ]
    return {
        "on": gpu.graphics_processor(),
        "steps": [[one.steps, cpu[k].steps] for k, one in enumerate(found)],
        "apart": max(apart),
        "energy": max(abs(one.energy_residual) for one in found),
    }


if __name__ == "__main__":
    if gpu.graphics_processor() == "simulated":
        print(json.dumps(compare(gpu.Teams(1), 1e-3, 13)))
    else:
        print(json.dumps(compare(gpu.Teams(), 4e-3, 13)))
