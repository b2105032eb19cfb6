"""Bed layouts: distances, the room that head and gantry need, refusals."""

from dataclasses import replace

import pytest

from voidless.errors import InputError
from voidless.machines import load_machine
from voidless.specimens.order import SpecimenOrder
from voidless.toolpath.layout import EDGE_MM, SPACING_MM, arrange, check_layout, lay_out, nearest_mm
from voidless.toolpath.moves import Placement

ORDERS = (SpecimenOrder("bar_z", 2), SpecimenOrder("plaque", 2), SpecimenOrder("block"))


@pytest.fixture
def clear(bench):
    """A machine that states the room its head and gantry need."""
    return replace(bench, head_radius_mm=30.0, gantry_height_mm=40.0)


def test_sequential_layout_keeps_the_head_clear(clear):
    """Specimens stand apart by the head's radius, the lowest is printed first."""
    placed = lay_out(ORDERS, clear, sequential=True)
    assert nearest_mm(placed) >= 30.0
    assert [p.kind for p in placed] == ["plaque", "plaque", "block", "bar_z", "bar_z"]
    assert check_layout(placed, clear, sequential=True) == []
    assert nearest_mm(lay_out(ORDERS, clear)) == SPACING_MM


@pytest.mark.parametrize("missing", ["head_radius_mm", "gantry_height_mm"])
def test_without_clearances_together_only(clear, missing):
    """A machine that does not state them prints together only, and the error says which to measure."""
    with pytest.raises(
        InputError, match=f"one after the other: {missing} not stated.*print the specimens together"
    ):
        lay_out(ORDERS, replace(clear, **{missing: None}), sequential=True)


def test_gantry_passes_over_what_is_finished(clear):
    """Two bars of 38 mm are too high under a gantry of 30 mm, one alone is not: nothing is begun after it."""
    low = replace(clear, gantry_height_mm=30.0)
    with pytest.raises(InputError, match=r"4 \(bar_z\) is finished at 38 mm, the gantry passes at 30 mm"):
        lay_out(ORDERS, low, sequential=True)
    assert lay_out([SpecimenOrder("bar_z"), SpecimenOrder("block")], low, sequential=True)[-1].kind == "bar_z"


def test_faults_of_given_layouts(bench):
    """Specimens off the free bed and too near to one another are named."""
    size = (10.0, 10.0, 5.0)
    near = [Placement(1, "block", (50.0, 50.0), size), Placement(2, "block", (63.0, 64.0), size)]
    assert check_layout(near, bench) == ["1 and 2 stand 5.0 mm apart, 8 mm are needed"]  # 3-4-5 triangle
    edge = [Placement(1, "block", (EDGE_MM + 4.9, 50.0), size), Placement(2, "block", (50.0, 15.9), size)]
    assert check_layout(edge, bench) == [
        "1 (block) does not stand on the free bed",
        "2 (block) does not stand on the free bed",
    ]
    lost = [Placement(1, "block", (float("nan"), 50.0), size)]
    assert len(check_layout(lost, bench)) == 1


def test_things_that_are_no_specimens(bench):
    """Parts are arranged by name and size."""
    (placed,) = arrange([("lid", (60.0, 40.0, 12.0))], bench)
    assert (placed.kind, placed.size_mm) == ("lid", (60.0, 40.0, 12.0))
    with pytest.raises(InputError, match=r"^lid: it needs 260 x 40 x 12 mm .*Turn it"):
        arrange([("lid", (260.0, 40.0, 12.0))], bench)
    with pytest.raises(InputError, match="nothing to print"):
        arrange([], bench)


def test_clearances_of_a_machine_file():
    """Both are optional; they are read and bounded like the rest."""
    assert load_machine("bench-0.4").head_radius_mm is None
    own = load_machine("own", {"base": "bench-0.4", "head_radius_mm": 32.0, "gantry_height_mm": 28.0})
    assert (own.head_radius_mm, own.gantry_height_mm) == (32.0, 28.0)
    with pytest.raises(InputError, match="head_radius_mm = 0"):
        load_machine("own", {"base": "bench-0.4", "head_radius_mm": 0.0})
