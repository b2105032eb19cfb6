"""Lines that prime the nozzle belong to no layer, and nothing else is taken for them."""

from dataclasses import replace

import numpy as np
import pytest

from voidless.toolpath.part import part_summary
from voidless.toolpath.priming import without_priming
from voidless.toolpath.reader import read_gcode_lines

PURGE = ["G1 Z0.3 X0 Y0 F6000", "G1 X80 E10 F900"]


def plate(height, x=40.0, y=40.0):
    return [f"G1 Z{height} X{x} Y{y} F6000", f"G1 X{x + 10} E1 F1800", f"G1 Y{y + 0.5}", f"G1 X{x} E1"]


def layers(*parts):
    moves = without_priming(
        read_gcode_lines(
            "\n".join(["M83", *(line for part in parts for line in part)]).split("\n"), "a"
        ).moves
    )
    return moves.layer[moves.deposits].tolist()


def test_a_line_beside_the_body_is_no_layer_and_the_others_close_up():
    assert layers(PURGE, plate(0.2), plate(0.4)) == [-1, 0, 0, 1, 1]


@pytest.mark.parametrize("lines", [1, 3])
def test_lines_at_the_height_of_the_first_layer(lines):
    """There and back beside the body, with a travel between: none of them is a bead of its first layer."""
    there = [f"G1 Z0.2 X0 Y{5 + k} F6000\nG1 X80 E9 F900" for k in range(lines)]
    assert layers(there, plate(0.2), plate(0.4)) == [-1] * lines + [0, 0, 1, 1]


def test_two_lines_at_two_heights():
    assert layers(["G1 Z0.5 Y2 F6000", "G1 X80 E9 F900"], PURGE, plate(0.2)) == [-1, -1, 0, 0]


@pytest.mark.parametrize(
    ("parts", "kept"),
    [
        (
            (["G1 Z0.3 X42 Y40.2", "G1 X48 E1 F900"], plate(0.2), plate(0.4)),
            [1, 0, 0, 2, 2],
        ),  # under the body
        (
            (["G1 Z0.2 Y5", "G1 X80 E9 F900"], plate(0.2)),
            [0, 0, 0],
        ),  # at the layer's height, and no layer above tells body from line
        (
            (
                ["G1 Z0.2 X30 Y30 F6000", "G1 X60 E3 F900", "G1 Y60 E3", "G1 X30 E3", "G1 Y30 E3"],
                plate(0.2),
                plate(0.4),
            ),
            [0, 0, 0, 0, 0, 0, 1, 1],
        ),  # round the body
        (
            ([f"G1 Z0.2 X0 Y{k}\nG1 X5 E1 F900" for k in range(5)], plate(0.2), plate(0.4)),
            [0, 0, 0, 0, 0, 0, 0, 1, 1],
        ),  # five of them: a body of one layer
        ((plate(0.2), plate(0.4), plate(0.2, y=80.0), plate(0.4, y=80.0)), [0, 0, 1, 1, 0, 0, 1, 1]),
        ((plate(0.2),), [0, 0]),
        (
            ([f"G1 Z{0.2 + k / 10:.1f} X0 Y{k}\nG1 X{5} E1 F900" for k in range(7)],),
            [*range(7)],
        ),  # goes on like that
    ],
)
def test_what_may_be_part_of_the_body_stays(parts, kept):
    """Below something, at a height that is used again, or alone: it stays in its layer."""
    assert layers(*parts) == kept


def test_times_of_layers_are_those_of_the_body():
    """The slow line counts in the whole time, not as a layer's."""
    program = read_gcode_lines(["M83", *PURGE, *plate(0.2), *plate(0.4)], "a")
    found = part_summary(program)
    assert len(found["layer_times_s"]) == 2
    assert found["layer_times_s"][1] == pytest.approx(found["layer_times_s"][0], abs=1.5)
    assert found["time_s"] > sum(found["layer_times_s"]) + 5.0
    assert found["layers"] == 3  # distinct heights, as the file has them


def test_nothing_else_changes():
    """Moves, volume and order are those of the file; without priming it is the same object."""
    moves = read_gcode_lines(["M83", *PURGE, *plate(0.2)], "a").moves
    cleaned = without_priming(moves)
    assert np.array_equal(replace(cleaned, layer=moves.layer).volume_mm3, moves.volume_mm3)
    alone = read_gcode_lines(["M83", *plate(0.2), *plate(0.4)], "a").moves
    assert without_priming(alone) is alone
