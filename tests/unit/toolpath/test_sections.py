import os
import signal
import subprocess
import sys
import time
from collections import deque

import numpy as np
import pytest
from shapely import Point, Polygon, box

from voidless.errors import ComputationError, InputError
from voidless.toolpath import sections as module
from voidless.toolpath.fill.types import Fill
from voidless.toolpath.sections import Crew, Section, plan_sections, usable_cores

FILL = Fill(0.4, 0.45, 2, 20.0, 0.4)
BLOCK, ROUND = box(-3.0, -2.0, 3.0, 2.0), Point(0.0, 0.0).buffer(2.5)


def _all_by_processes(monkeypatch):
    monkeypatch.setattr(module, "_WORTH_PITCHES2", 0.0)


def test_each_different_section_is_planned_once_and_comes_in_order(monkeypatch):
    asked = []
    monkeypatch.setattr(module, "plan_region", lambda *task: asked.append(task) or len(asked))
    same = box(-3.0, -2.0, 3.0, 2.0)
    wanted = [
        Section(BLOCK, 0.0, 5.0),
        Section(ROUND, 0.0, None),
        Section(same, 180.0, 5.0),  # the same again
        Section(BLOCK, 90.0, 5.0),  # across the gauge its width says nothing
        Section(BLOCK, 90.0, None),
        Section(BLOCK, 0.0, None),
    ]
    assert list(plan_sections(wanted, FILL)) == [1, 2, 1, 3, 3, 4]
    assert [(task[2], task[3]) for task in asked] == [(0.0, 5.0), (0.0, None), (90.0, None), (0.0, None)]


def test_how_far_planning_is_is_told(monkeypatch):
    monkeypatch.setattr(module, "plan_region", lambda *task: None)
    said = []
    list(plan_sections([Section(BLOCK, 45.0 * k, None) for k in range(4)], FILL, Crew(1, said.append)))
    assert said == [f"filling sections: {share}%" for share in (25, 50, 75, 100)]


@pytest.mark.slow
def test_two_processes_plan_what_one_plans(monkeypatch):
    wanted = [Section(region, angle, None) for angle in (0.0, 30.0) for region in (BLOCK, ROUND, BLOCK)]
    alone = list(plan_sections(wanted, FILL))
    _all_by_processes(monkeypatch)
    together = list(plan_sections(wanted, FILL, Crew(2)))
    for one, two in zip(alone, together, strict=True):
        assert np.array_equal(one.kind, two.kind)
        assert np.array_equal(one.points, two.points)
        assert np.array_equal(one.area_mm2, two.area_mm2)
    assert together[0].kind.size > 10


def test_small_parts_start_no_process(monkeypatch):
    monkeypatch.setattr(module, "_by_processes", None)
    assert (
        len(list(plan_sections([Section(BLOCK, 0.0, None), Section(ROUND, 0.0, None)], FILL, Crew(2)))) == 2
    )


def test_what_a_process_finds_wrong_is_said_as_it_stands(monkeypatch):
    _all_by_processes(monkeypatch)
    with pytest.raises(InputError, match=r"a section of 0\.0 mm2"):
        list(plan_sections([Section(BLOCK, 0.0, None), Section(Polygon(), 0.0, None)], FILL, Crew(2)))


class _Deadly:
    """A region that ends the process that looks at it."""

    area, wkb = 1.0, b"deadly"

    def __reduce__(self):
        return os._exit, (3,)


def test_a_process_that_is_ended_is_told(monkeypatch):
    _all_by_processes(monkeypatch)
    with pytest.raises(ComputationError, match="a process that plans sections has ended"):
        list(plan_sections([Section(BLOCK, 0.0, None), Section(_Deadly(), 0.0, None)], FILL, Crew(2)))


class _Pool:
    """A pool that notes how many tasks are with it."""

    def __init__(self):
        self.open, self.most = deque(), 0

    def submit(self, _, number):
        self.open.append(number)
        self.most = max(self.most, len(self.open))
        return self

    def result(self):
        return self.open.popleft()


def test_few_sections_wait_at_a_time():
    pool = _Pool()
    assert list(module._in_order(pool, [(k,) for k in range(20)], 6)) == list(range(20))
    assert pool.most == 6


def test_at_most_eight_processes_are_proposed(monkeypatch):
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: set(range(64)), raising=False)
    assert usable_cores() == 8
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: {5}, raising=False)
    assert usable_cores() == 1


_PARENT = """
import os, time
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from voidless.toolpath.sections import _begin
if __name__ == "__main__":
    pool = ProcessPoolExecutor(1, get_context("spawn"), initializer=_begin)
    print(pool.submit(os.getpid).result(), flush=True)
    time.sleep(60)
"""


def _alive(number):
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    state = subprocess.run(["ps", "-o", "stat=", "-p", str(number)], capture_output=True, text=True).stdout
    return not state.strip().startswith("Z") and state.strip() != ""  # one that nobody fetched has ended too


@pytest.mark.skipif(sys.platform == "win32", reason="asks for a process by signal 0")
def test_no_process_outlives_its_parent(tmp_path):
    (tmp_path / "parent.py").write_text(_PARENT, encoding="utf-8")
    parent = subprocess.Popen([sys.executable, tmp_path / "parent.py"], stdout=subprocess.PIPE, text=True)
    try:
        child = int(parent.stdout.readline())
        assert _alive(child)
    finally:
        parent.kill()
        parent.wait()
        parent.stdout.close()
    end = time.monotonic() + 10.0
    while _alive(child) and time.monotonic() < end:
        time.sleep(0.05)
    outlived = _alive(child)
    if outlived:
        os.kill(child, signal.SIGKILL)
    assert not outlived
