"""
The heat history of beads against closed forms, brute-force cross-sections and itself.

Closed forms: Carslaw and Jaeger, Conduction of Heat in Solids (slab with convection; half-space under a layer), from
memory. Where a healing rate of exp(T / scale) stands in for a polymer's, `kelvin` turns an integral's error into one of
temperature.
"""

import sys
from dataclasses import replace
from functools import cache
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import erf

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1] / "nightly"))
import heat_bench as bench
import heat_cross_sections as sections

from voidless.errors import InputError
from voidless.machines import load_machine
from voidless.materials import load_material
from voidless.physics.heat.history import state
from voidless.physics.heat.history.kernel.schedule import next_due
from voidless.physics.heat.history.run import heat_history
from voidless.physics.heat.history.types import METHODS, Polymer, Surroundings, method_named
from voidless.twin.full.fields import polymer_of
from voidless.twin.ground import ground_of

DATA = Path(__file__).parents[1] / "data" / "heat-cross-sections" / "weld_integrals.csv"
INSULATED = Surroundings(300.0, 300.0, 0.0)
PLA = Polymer(0.17, 1.8e6, sections.STOP["arrhenius"], lambda kelvin: sections.log_rate("arrhenius", kelvin))
ROOM = Surroundings(298.0, 323.0)
SMALL = {"side": 8e-3, "layers": 8, "thickness": 0.2e-3, "width": 0.5e-3, "speed": 0.04, "warm": 503.0}


def kelvin(integral, exact, scale):
    return scale * np.log(integral / exact)


def degrees(history, layers=range(2, 8)):
    """Return healing (fourth root of the integral, not capped) through and beside, layer by layer, mid-body."""
    places = [bench.middle(history, k, 0.3) for k in layers]
    return np.array(
        [np.nanmean(values[at] ** 0.25) for values in (history.through, history.beside) for at in places]
    )


@cache
def straight():
    return degrees(heat_history(bench.raster(**SMALL), PLA, ROOM, METHODS["standard"]))


def slab_errors(coefficient, layers):
    """Return how many kelvin each weld of a slab of 4 mm is off, insulated below; 32 mm wide, so sides matter less."""
    polymer, depth = bench.exponential(400.0, 10.0), 4e-3
    plate = bench.plate(
        [0.0] * layers, [400.0] * layers, side=32e-3, thickness=depth / layers, air=coefficient
    )
    history = heat_history(plate, polymer, INSULATED, METHODS["standard"])
    biot = coefficient * depth / polymer.conductivity
    roots = np.array(
        [
            brentq(lambda z: z * np.tan(z) - biot, n * np.pi + 1e-9, (n + 0.5) * np.pi - 1e-9)
            for n in range(60)
        ]
    )
    weights = 4.0 * np.sin(roots) / (2.0 * roots + np.sin(2.0 * roots))
    time = np.concatenate([[0.0], np.geomspace(1e-4, history.until, 4000)])
    decay = np.exp(-np.outer(time, roots**2) * polymer.diffusivity / depth**2)
    off = []
    for layer in range(1, layers):
        warm = 300.0 + 100.0 * decay @ (weights * np.cos(roots * layer / layers))
        exact = np.trapezoid(np.exp((warm - 400.0) / 10.0), time)
        off.append(kelvin(bench.through(history, layer, 0.1), exact, 10.0))
    return np.array(off)


@pytest.mark.slow
@pytest.mark.parametrize("coefficient", [10.0, 30.0, 100.0])
def test_a_slab_cools_as_the_series_says(coefficient):
    """Every weld within 0.1 K, in rows of their own, of two layers and of four."""
    assert np.abs(slab_errors(coefficient, 20)).max() < 0.1


@pytest.mark.slow
def test_a_slab_of_thin_layers_cools_as_the_series_says():
    """0.1 mm: the body steps in two and a half times what its rows take to level out; 0.15 K."""
    assert np.abs(slab_errors(100.0, 40)).max() < 0.15


def test_a_layer_on_a_half_space():
    """0.12 mm laid 160 K hotter: the interface within 0.3 K at the standard, over 1.5 to 32 s."""
    polymer = bench.exponential(450.0, 20.0)
    beads = bench.plate([0.0] * 25 + [1.0], [380.0] * 25 + [540.0], thickness=0.12e-3)
    for after in (1.0, 30.0):
        history = heat_history(beads, polymer, INSULATED, replace(METHODS["standard"], after=after))
        time = np.linspace(0.0, history.until - 1.0, 200_001)[1:]
        warm = 380.0 + 80.0 * erf(0.12e-3 / np.sqrt(polymer.diffusivity * time))
        exact = np.trapezoid(np.exp((warm - 450.0) / 20.0), time)
        assert abs(kelvin(bench.through(history, 25, 0.2), exact, 20.0)) < 0.3


def test_one_temperature_stays_one_temperature():
    """Laid as warm as the insulating bed, no loss: every weld heals for as long as it is there, in whole ticks."""
    history = heat_history(
        bench.raster(6e-3, 8, 0.2e-3, 0.5e-3, 0.03, 400.0, air=0.0),
        bench.exponential(400.0, 10.0),
        Surroundings(300.0, 400.0, 0.0),
        METHODS["standard"],
    )
    tick = METHODS["standard"].tick
    ticks = np.floor((history.cells.event_time - history.cells.event_time[0]) / tick + 0.5)
    there = history.until - history.cells.event_time[0] - tick * ticks
    off = np.abs(kelvin(history.through, there, 10.0))
    assert np.nanmax(off) < 1e-4
    assert np.count_nonzero(np.isfinite(off)) > 500


def test_no_energy_is_lost():
    """Crossed raster on a bed in moving air: asked 0.3 %; what is missing is rounding."""
    history = heat_history(
        bench.raster(8e-3, 14, 0.2e-3, 0.5e-3, 0.04, 503.0, crossed=True, air=60.0),
        PLA,
        ROOM,
        METHODS["standard"],
    )
    assert abs(history.energy_residual) < 1e-9
    laid, air, bed = history.energy
    assert air > 0.05 * laid
    assert bed > 0.05 * laid


@cache
def references():
    table = np.genfromtxt(DATA, delimiter=",", names=True, dtype=None, encoding="utf-8")
    found = {}
    for row in table:
        values = found.setdefault(str(row["scenario"]), np.full((2, sections.LAYERS, sections.BEADS), np.nan))
        if row["layer"] > 0:
            values[0, row["layer"], row["bead"]] = row["through"]
        if row["bead"] > 0:
            values[1, row["layer"], row["bead"]] = row["beside"]
    return found


def section_errors(mode):
    """Return relative errors of the integrals of all scenarios, and the true healing."""
    off = [bench.section_integrals(name, mode) / true - 1.0 for name, true in references().items()]
    return np.array(off), np.array(list(references().values())) ** 0.25


def test_cross_sections_by_the_standard():
    """Five scenarios, healing 0.32 to 0.83: integral to the power 1/4 within 2.6 % rms, 5.5 % at worst."""
    off, healing = section_errors("standard")
    root = np.abs((1.0 + off) ** 0.25 - 1.0)
    known = np.isfinite(root) & (healing > 0.3) & (healing < 0.9)
    assert known.sum() == 200
    assert np.sqrt(np.mean(root[known] ** 2)) < 0.026
    assert root[known].max() < 0.055


def test_cross_sections_to_verify():
    """Integrals themselves within 5 % rms."""
    off, _ = section_errors("verify")
    assert np.sqrt(np.nanmean(off**2)) < 0.05


def test_finer_cells_come_nearer():
    """1, 2 and 4 cells a bead with short steps: integrals through layers within 6.5, 4.2 and 2.1 %."""
    true = references()["quick-turn"][0, 1:]
    errors = []
    for cells in (1, 2, 4):
        method = replace(METHODS["verify"], cells_per_bead=cells, rows_per_layer=cells, tick=0.002, grade=0.1)
        found = bench.section_integrals("quick-turn", method)[0, 1:]
        errors.append(np.sqrt(np.mean((found / true - 1.0) ** 2)))
    assert np.all(
        np.array(errors) < (0.065, 0.042, 0.021)
    )  # 8.5, 4.2 and 2.0 % where half a cell is half the error
    assert errors[2] < 0.6 * errors[1] < 0.6 * 0.7 * errors[0]


@pytest.mark.parametrize("angle", [90.0, 180.0])
def test_turning_and_mirroring_changes_nothing(angle):
    """Healing within 0.5 %."""
    found = degrees(heat_history(bench.raster(angle_deg=angle, **SMALL), PLA, ROOM, METHODS["standard"]))
    assert found == pytest.approx(straight(), rel=0.005)


@pytest.mark.parametrize("angle", [20.0, 45.0])
def test_a_slanting_raster_heals_as_a_straight_one(angle):
    """Healing within 3 % was asked; 1.5 %, since the grid turns with the raster."""
    found = degrees(heat_history(bench.raster(angle_deg=angle, **SMALL), PLA, ROOM, METHODS["standard"]))
    assert found == pytest.approx(straight(), rel=0.015)
    crossed = [
        degrees(
            heat_history(bench.raster(angle_deg=a, crossed=True, **SMALL), PLA, ROOM, METHODS["standard"])
        )
        for a in (0.0, angle)
    ]
    assert crossed[1] == pytest.approx(crossed[0], rel=0.015)


def test_short_steps_and_short_cells_tell_the_same():
    """Steps a tenth as long, no sleep, no coarse body: integrals within 3 %. Cells of 0.25 mm: 2 %."""
    base = straight() ** 4
    fine = replace(METHODS["standard"], tick=0.005, grade=0.1, sleep_after=1e6, fine_layers=8, depth_layers=8)
    short = replace(METHODS["standard"], along=0.5)
    for method, allowed in ((fine, 0.03), (short, 0.02)):
        found = degrees(heat_history(bench.raster(**SMALL), PLA, ROOM, method)) ** 4
        assert found == pytest.approx(base, rel=allowed)


@pytest.mark.slow
def test_a_bar_by_steps_a_third_as_long():
    """40 x 10 mm of PETG, 0.12 mm layers: beads away from turns, by integrals, within rms 2.5 % and mean 2 %."""
    polymer = polymer_of(ground_of(load_material("petg"), load_machine("bench-0.4")))
    lines, length, time, passes = (np.arange(21) + 0.5) * 0.48e-3, 40e-3, 0.0, []
    for layer in range(20):
        for n, y in enumerate(lines):
            ends = (0.0, length)[:: 1 if n % 2 == 0 else -1]
            passes.append((ends[0], y, ends[1], y, layer, time, time + length / 0.05, 503.0))
            time += (length + 0.48e-3) / 0.05
    beads, base = bench.laid(passes, 20, 0.12e-3, 0.48e-3, 20.0), METHODS["standard"]
    short = replace(
        base,
        tick=base.tick / 3.0,
        grade=base.grade / 3.0,
        sideways=base.sideways / 3.0,
        sleep_after=1e9,
        depth=1.0,
        fine_depth=1.0,
    )
    around = Surroundings(298.15, 348.15)
    one, other = (heat_history(beads, polymer, around, method) for method in (base, short))
    middle = np.abs(one.cells.event_xy[:, 0] - 0.5 * length) < 0.4 * length
    layer, bead = one.cells.event_layer[middle], one.cells.event_bead[middle]
    for values, truth in ((one.through, other.through), (one.beside, other.beside)):
        cells = [np.nansum(v[middle].reshape(bead.size, -1), axis=1) for v in (values, truth)]
        sums = [np.bincount(bead, weights=each) for each in cells]
        healed = (sums[1] / np.bincount(bead)) ** 0.25 > 0.3
        kept = np.isin(np.arange(healed.size), bead[layer > 1]) & healed
        assert kept.sum() > 300
        off = sums[0][kept] / sums[1][kept] - 1.0
        assert np.sqrt(np.mean(off**2)) < 0.025
        assert abs(off.mean()) < 0.02


@pytest.mark.parametrize("age", [1, 7, 40, 63, 64, 100, 4000])
def test_every_other_quiet_column_steps_half_a_step_later(age):
    """Steps up to twice the limit, as long as the quiet before; a face still exchanges as often as it must."""
    facts = SimpleNamespace(grade=1.0, side_ticks=38)
    columns = SimpleNamespace(odd=(0, 1))
    ticks = [1000, 1000]
    faces = [1000]
    for _ in range(40):
        column = ticks.index(min(ticks))
        at = ticks[column]
        ticks[column] = next_due.py_func(column, at, age + at - 1000, facts, columns)
        assert 0 < ticks[column] - at <= min(64, age + at - 1000)
        faces.append(min(ticks))
    assert max(np.diff(faces)) <= 32
    if age >= 64:
        assert max(np.diff(sorted({at % 64 for at in ticks}))) == 32


def test_cost_of_a_cell_does_not_grow_with_the_part():
    """Steps of a cell: lines of 10 to 40 mm, in which the nozzle comes back every 0.2 to 0.8 s."""
    polymer = polymer_of(ground_of(load_material("petg"), load_machine("bench-0.4")))
    steps = {}
    for side, layers in ((10e-3, 12), (10e-3, 24), (40e-3, 12)):
        beads = bench.raster(side, layers, 0.2e-3, 0.5e-3, 0.05, 503.0, gap=0.0)
        history = heat_history(beads, polymer, Surroundings(298.15, 348.15), METHODS["standard"])
        steps[side, layers] = history.steps / history.cells.cells
    assert steps[10e-3, 24] < 1.02 * steps[10e-3, 12]
    assert steps[40e-3, 12] < 1.56 * steps[10e-3, 12]


def test_what_no_print_heals_is_not_counted(monkeypatch):
    """Integrals move by less than the least that counts, over the whole print; something is left out."""
    beads = bench.raster(**SMALL)
    polymer = polymer_of(ground_of(load_material("petg"), load_machine("bench-0.4")))
    around = Surroundings(298.15, 348.15)
    counted = heat_history(beads, polymer, around, METHODS["standard"])
    monkeypatch.setattr(state, "LEAST", 1e-30)
    everything = heat_history(beads, polymer, around, METHODS["standard"])
    for one, other in ((counted.through, everything.through), (counted.beside, everything.beside)):
        missing = (other - one)[np.isfinite(one)]
        rounding = 1e-6 * np.nanmax(other)
        assert missing.max() < 1e-5 + rounding
        assert missing[np.nan_to_num(other[np.isfinite(one)]) < 1.0].max() > 1e-9


def test_a_tall_column_stays_calm():
    """60 layers of 5 x 5 mm: healing rises smoothly to a plateau, no growth, nothing undefined."""
    history = heat_history(
        bench.raster(5e-3, 60, 0.2e-3, 0.5e-3, 0.04, 503.0), PLA, ROOM, METHODS["standard"]
    )
    healing = np.array([bench.through(history, k, 0.3) for k in range(1, 60)]) ** 0.25
    assert np.all(np.isfinite(healing))
    assert np.all(np.diff(healing)[:35] > -0.02)
    assert np.ptp(healing[38:48]) < 0.05 * healing[38]
    assert abs(history.energy_residual) < 1e-9


def test_what_it_refuses():
    with pytest.raises(InputError, match="mode 'quick'"):
        method_named("quick")
    with pytest.raises(InputError, match="ends before it starts"):
        bench.laid([(0, 0, 1e-2, 0, 0, 1.0, 0.5, 500.0)], 1, 2e-4, 5e-4)


def test_an_overhang_above_lone_cells_stays_calm():
    """Pins of one cell under a plate that overhangs: blocks whose rows are nearly empty keep energy and bounds."""
    passes, time, width, speed = [], 0.0, 0.4e-3, 0.03

    def bead(x0, y0, x1, y1, layer):
        nonlocal time
        until = time + np.hypot(x1 - x0, y1 - y0) / speed
        passes.append((x0, y0, x1, y1, layer, time, until, 503.0))
        time = until + 0.01

    for layer in range(48):
        reach = 4e-3 if layer < 22 else 10e-3
        for at in (np.arange(round(reach / width)) + 0.5) * width:
            if layer % 2:
                bead(at, 0.0, at, 4e-3, layer)
            elif at < 4e-3:
                bead(0.0, at, reach, at, layer)
        if layer < 22:
            for x in (5.4e-3, 7.4e-3, 9.0e-3):
                if layer % 6 < 4:
                    bead(x, 1.8e-3, x + width, 1.8e-3, layer)
        time += 1.0
    history = heat_history(bench.laid(passes, 48, 0.2e-3, width, 40.0), PLA, ROOM, METHODS["standard"])
    assert abs(history.energy_residual) < 1e-9
    assert 0.0 < history.kept < history.energy[0]
    assert np.nanmax(history.through) < 1e4


def test_a_stair_loses_no_energy():
    """Steps of 11 and 12 layers: where thick rows hold a layer more than those beside, both sides still agree."""
    passes, time = [], 0.0
    for layer in range(40):
        for at in (np.arange(24 if layer < 11 else 16 if layer < 23 else 8) + 0.5) * 0.5e-3:
            passes.append((0.0, at, 8e-3, at, layer, time, time + 0.2, 503.0))
            time += 0.21
    history = heat_history(bench.laid(passes, 40, 0.2e-3, 0.5e-3, 40.0), PLA, ROOM, METHODS["standard"])
    assert abs(history.energy_residual) < 1e-9
