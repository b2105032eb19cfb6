"""Settings of one path that share ticks: how they are put together, and their place in memory."""

import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
from heat_bench import AIR, exponential, raster

from voidless.errors import InputError
from voidless.physics.heat.history.gpu.gang import Case, gangs_of
from voidless.physics.heat.history.gpu.memory import COMMON, GIVEN, KEPT, NAMES, filled, layout_of, read
from voidless.physics.heat.history.grid import cells_of
from voidless.physics.heat.history.state import facts_of
from voidless.physics.heat.history.types import METHODS, Surroundings

METHOD = METHODS["standard"]
POLYMER, ROOM = exponential(480.0, 12.0), Surroundings(AIR, 340.0)
BEADS = raster(4e-3, 3, 0.2e-3, 0.5e-3, 0.05, 500.0)


def at(beads, pace):
    """Return beads laid at another pace: a time for every time."""
    return replace(beads, time_start=pace(beads.time_start), time_end=pace(beads.time_end))


def gangs(cases, width=4, method=METHOD):
    with ThreadPoolExecutor(1) as pool:
        return list(gangs_of(cases, cells_of(cases[0].beads, method), method, width, pool))


def paces():
    """Return settings of which each is the slowest somewhere."""
    end = BEADS.time_end[-1]
    early = at(BEADS, lambda t: np.where(t < 0.5 * end, 1.5 * t, t + 0.25 * end))
    late = at(BEADS, lambda t: np.where(t < 0.5 * end, t, 1.8 * t - 0.4 * end))
    return [Case(beads, POLYMER, ROOM) for beads in (BEADS, early, late)]


def test_no_shared_tick_lasts_longer_than_the_method_allows():
    ((gang,),) = gangs(paces())
    steps = np.diff(gang.state.clock[:, :3], axis=0)
    assert steps.min() > 0.3 * METHOD.tick
    assert steps.max() < METHOD.tick * (1 + 1e-9)
    # each of the two slow ones goes at its full pace where it is the slowest
    assert np.all(steps.max(axis=0)[1:] > METHOD.tick * (1 - 1e-9))


def test_beads_are_laid_at_the_shared_tick_nearest_to_their_time():
    ((gang,),) = gangs(paces())
    first = gang.state.tick_first
    for k, cells in enumerate(gang.cells):
        own = cells.event_time - cells.event_time[0]
        tick = np.searchsorted(first, np.arange(own.size), side="right") - 1
        assert np.abs(gang.state.clock[tick, k] - own).max() <= 0.5 * METHOD.tick * (1 + 1e-9)


def test_the_slowest_of_evenly_slowed_settings_keeps_its_own_ticks_and_the_fastest_cools_as_long():
    cases = [Case(at(BEADS, lambda t, s=s: s * t), POLYMER, ROOM) for s in (0.8, 1.3, 1.0)]
    ((gang,),) = gangs(cases)
    assert gang.members == (0, 2, 1)
    clock, ticks = gang.state.clock, gang.state.clock.shape[0]
    np.testing.assert_allclose(clock[:, 2], METHOD.tick * np.arange(ticks), rtol=1e-12)
    np.testing.assert_allclose(clock[:, 0], 0.8 / 1.3 * clock[:, 2], rtol=1e-9)
    np.testing.assert_array_equal(clock[:, 3], clock[:, 2])  # an empty place repeats the last
    own = gang.cells[0].event_time
    assert clock[-1, 0] >= own[-1] - own[0] + METHOD.after - METHOD.tick


def test_one_setting_keeps_its_state():
    ((gang,),) = gangs([Case(BEADS, POLYMER, ROOM)], width=1)
    cells = cells_of(BEADS, METHOD)
    np.testing.assert_array_equal(gang.cells[0].event_time, cells.event_time)
    np.testing.assert_array_equal(gang.state.event_warm[:, 0], cells.event_warm - AIR)
    facts = facts_of(cells, POLYMER, ROOM, METHOD)
    assert tuple(gang.lanes[:, 0]) == (facts.stop, facts.bed, facts.bed_contact)
    assert gang.facts == facts


def test_settings_of_a_gang_take_about_as_long_and_polymers_stay_apart():
    other = replace(POLYMER, conductivity=0.3)
    cases = [
        Case(at(BEADS, lambda t, s=s: s * t), other if k % 3 == 0 else POLYMER, Surroundings(AIR + k, 340.0))
        for k, s in enumerate((1.2, 0.8, 1.0, 0.9, 1.1, 0.7, 1.3))
    ]
    (one, *more), (last,) = (mine for mine in reversed(gangs(cases, width=3)))
    assert (one.members, [gang.members for gang in more], last.members) == ((5, 1, 2), [(4,)], (3, 0, 6))
    assert last.facts.diffusivity == other.diffusivity
    assert one.facts.diffusivity == POLYMER.diffusivity
    # healing begins at the same temperature, counted from the air of each
    np.testing.assert_allclose(one.lanes[0] + [AIR + k for k in one.members], one.lanes[0, 0] + AIR + 5)


def test_entries_of_settings_lie_side_by_side_and_are_read_back():
    ((gang,),) = gangs(paces())
    state = gang.state._replace(rates=np.zeros((3, 2)))
    one = state._replace(**{name: getattr(state, name)[:, 0] for name in NAMES[GIVEN]})
    layout = layout_of(one, 4)
    memories = filled([state, state], layout, 4)
    assert [len(memory) for memory in memories] == [1, 2, 2]
    given = read(layout, 4, {GIVEN: memories[GIVEN][1]})
    for k in range(4):
        np.testing.assert_array_equal(given["clock"][:, k], state.clock[:, k])
        np.testing.assert_array_equal(given["event_warm"][:, k], state.event_warm[:, k])
    common = read(layout, 4, {COMMON: memories[COMMON][0]})
    np.testing.assert_array_equal(common["base"], state.base)
    start = 0
    for name in NAMES[KEPT]:  # where each part begins is a whole number of lines
        start += -(-getattr(state, name).nbytes // 256) * 256
    assert layout.bytes[KEPT] == start


def test_beads_of_another_path_are_refused_by_the_gang():
    moved = replace(BEADS, start=BEADS.start + 1e-3)
    with pytest.raises(InputError, match="another start"):
        gangs([Case(BEADS, POLYMER, ROOM), Case(moved, POLYMER, ROOM)])
