"""
The heat history against temperatures of real welds between beads; nothing is fitted.

ABS bars of 15 beads of 0.7 by 0.8 mm and 35 mm in each layer, seen by an infrared camera of 10.5 frames a second:
Kapusuzoglu, Sato, Mahadevan, Witherell, J Manuf Sci Eng 143 (2021) 021007, doi:10.1115/1.4048073, from the file of its
experiments that is published with it (derived from it: log10 of the kelvins of the first interface of layers 4 to 6 as
a straight line in time). Not stated: air, bed, hot end, emissivity. Taken are the twin's usual ones: bed 100 C, still
air that takes a tenth of its excess, plug flow through 20 mm. A chamber of 70 C would begin 3 to 6 K warmer.
"""

from dataclasses import replace
from functools import cache

import numpy as np

from voidless.machines import load_machine
from voidless.materials import load_material
from voidless.physics.heat.history.grid import Beads
from voidless.physics.heat.history.run import heat_history
from voidless.physics.heat.history.types import METHODS, Polymer, Surroundings
from voidless.twin.chain import run_chain
from voidless.twin.context import context_of
from voidless.twin.ground import ground_of

BEADS, LENGTH, WIDTH, LAYER = 15, 35e-3, 0.8e-3, 0.7e-3
BED, AIR, STILL = 373.15, 305.65, 20.0
ABS = ground_of(load_material("abs"), load_machine("bench-0.6"))
# nozzle C, mm/s: lowest and highest of C at the beginning and of the slope, 1/s
MEASURED = {
    (210, 28): ((167, 170), (-0.0027, -0.0024)),
    (240, 42): ((182, 189), (-0.0041, -0.0034)),
    (260, 35): ((194, 198), (-0.0038, -0.0033)),
    (240, 15): ((176, 178), (-0.0013, -0.0011)),
}
LEVELS = np.arange(118.0, 232.0, 6.0) + 273.15


def strand(nozzle_c, speed_mm_s):
    """Return the mean temperature of the strand that leaves the nozzle, by the twin. [K]"""
    settings = {
        "nozzle_c": nozzle_c, "speed_mm_s": speed_mm_s, "layer_mm": 0.7, "width_mm": 0.8, "flow_pct": 100.0,
        "contours": 0.0, "raster_deg": 0.0, "raster_step_deg": 0.0, "overlap_pct": 20.0, "bed_c": 100.0,
        "chamber_c": 25.0, "fan_pct": 0.0,
    }  # fmt: skip
    columns = {name: np.array([float(value)]) for name, value in settings.items()}
    return float(run_chain(columns, ABS, context_of({}), {}).melt.temperature[0])


def bar(nozzle_c, speed_mm_s, layers):
    """Return the beads of a bar up to some layer."""
    line = np.tile((np.arange(BEADS) + 0.5) * WIDTH, layers)
    back = np.tile(np.arange(BEADS) % 2 == 1, layers)
    speed, count = 1e-3 * speed_mm_s, line.size
    start = np.arange(count) * (LENGTH + WIDTH) / speed
    return Beads(
        start=np.column_stack([np.where(back, LENGTH, 0.0), line]),
        end=np.column_stack([np.where(back, 0.0, LENGTH), line]),
        layer=np.repeat(np.arange(layers), BEADS),
        time_start=start,
        time_end=start + LENGTH / speed,
        width=np.full(count, WIDTH),
        warm=np.full(count, strand(nozzle_c, speed_mm_s)),
        air=np.full(count, STILL),
        joined=np.zeros(count, dtype=bool),
        thick=np.full(layers, LAYER),
    )


@cache
def seconds_above(nozzle_c, speed_mm_s, layers=5):
    """
    Return how long the first interface of the last layer is warmer than each of `LEVELS`, up to its layer's end. [s]

    A rate of healing of one above a level makes the integral a time.
    """
    found, beads, method = [], bar(nozzle_c, speed_mm_s, layers), replace(METHODS["standard"], after=0.0)
    for level in LEVELS:
        polymer = Polymer(ABS.conductivity, ABS.density * ABS.heat_capacity_melt, level, np.zeros_like)
        history = heat_history(beads, polymer, Surroundings(AIR, BED), method)
        cells = history.cells
        x, y = cells.event_xy.T
        second = (np.floor(y / WIDTH) == 1) & (np.abs(x - 0.5 * LENGTH) < 2e-3)
        here = second & (cells.event_layer == layers - 1)
        found.append(float(np.mean(np.nanmax(history.beside[here], axis=1))))
    return np.array(found)


def after(seconds, *setting):
    """Return the temperature some time after the bead was laid: the level that is exceeded for as long. [C]"""
    return np.interp(seconds, seconds_above(*setting)[::-1], LEVELS[::-1]) - 273.15


def line_of(*setting):
    """Return C at the beginning and slope of log10 of the kelvins, by a straight line through the camera's frames."""
    left = (BEADS - 2) * (LENGTH + WIDTH) / (1e-3 * setting[1])
    frames = np.arange(0.1, left, 1.0 / 10.5)
    slope, start = np.polyfit(frames, np.log10(after(frames, *setting) + 273.15), 1)
    return 10.0**start - 273.15, slope


def test_welds_begin_as_warm_as_measured():
    """Reached: 1.5, 0.7, 6.0, 3.1 K from the middle of what was measured; 8 K, since bed and air are not stated."""
    away = [line_of(*setting)[0] - np.mean(begin) for setting, (begin, _) in MEASURED.items()]
    assert np.max(np.abs(away)) < 8.0
    assert np.sqrt(np.mean(np.square(away))) < 4.5


def test_a_slow_bar_begins_colder_though_its_strand_is_hotter():
    """At 240 C welds begin 5 to 13 K colder at 15 mm/s than at 42: the neighbour had three times as long to cool."""
    assert strand(240, 15) > strand(240, 42) + 20.0
    colder = line_of(240, 42)[0] - line_of(240, 15)[0]
    assert 5.0 <= colder <= 13.0


def test_welds_cool_as_fast_as_measured():
    """Within what was measured or a tenth beside it (reached: a fifteenth); the slow bar cools too fast: next test."""
    for setting in ((210, 28), (240, 42), (260, 35)):
        fast, slow = MEASURED[setting][1]
        assert 1.1 * fast < line_of(*setting)[1] < 0.9 * slow


def test_the_slow_bar_stays_warm_for_too_short():
    """
    What the model lacks: at 15 mm/s the weld falls below 130 C 25 s into its layer, where 32 s were measured.

    At 28, 35 and 46 mm/s it stays above for nearly all of its layer, as measured (16 to 18, 13.5 to 14.5, 10 to 12 s).
    """
    assert 20.0 < np.interp(403.15, LEVELS, seconds_above(240, 15)) < 27.0
    for setting, measured in {(210, 28): 16.0, (260, 35): 13.5, (255, 46): 10.0}.items():
        assert np.interp(403.15, LEVELS, seconds_above(*setting)) > measured - LENGTH / (1e-3 * setting[1])


def test_the_first_layer_is_colder():
    """Measured at 242 C, 26 mm/s: 161 C against 181 to 183; here 142 against 188: the bed is taken as perfect."""
    first, later = line_of(242, 26, 1)[0], line_of(242, 26, 5)[0]
    assert first < later - 20.0
    assert abs(later - 182.0) < 8.0
