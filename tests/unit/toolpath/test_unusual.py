"""What sets a layer apart: each cause made on purpose in a layer of its own, and none told elsewhere."""

import pytest

from voidless.machines import load_machine
from voidless.toolpath.motion import MotionLimits, profile_moves
from voidless.toolpath.reader import read_gcode_lines
from voidless.toolpath.unusual import unusual_layers

LAYERS = 12


def tower(changes, count=LAYERS):
    """Return moves of squares of 30 mm, one a layer; `changes` puts lines before a layer, or scales its feed."""
    lines = ["M83", "M109 S230", "M106 S51", "G0 X100 Y100 F9000"]
    for layer in range(count):
        change = changes.get(layer, ())
        share = change if isinstance(change, float) else 1.0
        lines += [f"G0 Z{0.2 * (layer + 1):.1f} F600", "G1 F1800"]
        lines += list(change) if not isinstance(change, float) else []
        for x, y in ((130, 100), (130, 130), (100, 130), (100, 100)):
            lines.append(f"G1 X{x} Y{y} E{1.2 * share:.3f}")
    return read_gcode_lines(lines, "tower.gcode").moves


def told(moves):
    return unusual_layers(moves, profile_moves(moves, MotionLimits.of(load_machine("bench-0.4"))))


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({5: 0.7}, {5: ("beads 30 % narrower than in the median layer",)}),
        ({5: ("G1 F6000",)}, {5: ("beads at 84 mm/s, in the median layer 30",)}),
        ({5: ("M104 S210",), 6: ("M104 S230",)}, {5: ("nozzle 20 K colder than in the median layer",)}),
        ({5: ("M106",), 6: ("M106 S51",)}, {5: ("fan at 100 %, in the median layer 20 %",)}),
        (
            {5: ("G4 S60",)},
            {
                5: ("took 64.1 s, the median layer 4.09 s",),
                6: ("the layer below took 64.1 s, the median layer 4.09 s",),
            },
        ),
        ({}, {}),
        ({5: 1.4}, {}),
        ({5: ("M104 S250",), 6: ("M104 S230",)}, {}),
    ],
)
def test_each_cause_is_named_where_it_is(changes, said):
    """In the layer that was changed, and for a long one also in the next; what strengthens a weld is not told."""
    words = told(tower(changes))
    assert len(words) == LAYERS
    found = {layer: causes for layer, causes in enumerate(words) if causes}
    assert found == said


def test_half_and_half_has_a_median_that_occurs():
    """With the fan on from the middle on, the median is one of the two."""
    words = told(tower({0: ("M107",), 6: ("M106",)}))
    assert words[7] == ("fan at 100 %, in the median layer 0 %",)
    assert words[3] == ()


def test_a_file_that_states_nothing_has_nothing_unusual():
    assert told(
        read_gcode_lines(["M83", "G1 Z0.2 F600", "G1 X10 E1", "G1 Z0.4", "G1 X0 E1"], "a.gcode").moves
    ) == ((), ())
    assert told(read_gcode_lines(["G0 X1 F600"], "a.gcode").moves) == ()
