"""Beads that climb between layers: rings whose seam begins on a ramp, against the same rings without."""

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.toolpath.part import part_summary
from voidless.toolpath.priming import without_priming
from voidless.toolpath.ramps import climbing_share, ramps_in_layers
from voidless.toolpath.reader import read_gcode_lines
from voidless.twin.part_fill import part_fill


def rings(ramped, layers=5, pieces=8):
    """Return moves of square rings of 12 mm filled by lines; each ring climbs to its layer along its first side."""
    lines = ["M83", "G1 F1800"]
    area = 0.2 * 0.45 / 2.40528
    for layer in range(layers):
        z = 0.2 * (layer + 1)
        lines += [f"G0 X0 Y0 Z{z:.3f}"]
        for n in range(1, pieces + 1):
            low = 0.1 * (1 - n / pieces) if ramped else 0.0
            lines.append(f"G1 X{12 * n / pieces:.3f} Y0 Z{z - low:.4f} E{12 / pieces * area:.5f}")
        lines += [f"G1 X{x} Y{y} E{12 * area:.5f}" for x, y in ((12, 12), (0, 12), (0, 0))]
        for n in range(25):
            lines += [f"G0 X0.45 Y{0.45 * (n + 1):.3f}", f"G1 X11.55 E{11.1 * area:.5f}"]
    return read_gcode_lines(lines, "rings.gcode")


def test_ramps_belong_to_the_layer_they_lead_up_to():
    """Layers, heights and fill are those of flat rings; moves between beads stay with the bead that they lead to."""
    program, flat = rings(True), rings(False)
    assert len(np.unique(program.moves.layer)) == 5 * 8
    body = ramps_in_layers(program.moves)
    np.testing.assert_array_equal(body.layer, flat.moves.layer)
    np.testing.assert_allclose(body.z_mm, flat.moves.z_mm, atol=1e-9)
    assert climbing_share(program.moves) == pytest.approx(5 * 12 / (5 * (48 + 25 * 11.1)), rel=1e-3)
    found, wanted = (part_fill(without_priming(x.moves), 0.4) for x in (program, flat))
    assert found["void_pct"] == pytest.approx(
        wanted["void_pct"], abs=0.01
    )  # cells: a climbing bead is longer
    assert len(found["per_layer"]["height_mm"]) == 5


def test_the_summary_says_so():
    problems = part_summary(rings(True))["problems"]
    assert any(
        "climb between layers along 3.7 % of the path" in x and "5 layers of 40 heights" in x
        for x in problems
    )
    assert len(part_summary(rings(True))["layer_times_s"]) == 5
    assert not any("climb" in words for words in part_summary(rings(False))["problems"])


def test_flat_layers_are_the_same_object():
    flat = rings(False).moves
    assert ramps_in_layers(flat) is flat


def wave():
    """Return moves that rise and fall all along."""
    lines = ["M83", "G1 F1800"]
    for layer in range(4):
        for line in range(6):
            lines.append(f"G0 X0 Y{0.45 * line:.2f} Z{0.2 * layer + 0.5:.2f}")
            lines += [
                f"G1 X{0.3 * n:.2f} Z{0.2 * layer + 0.5 + 0.3 * np.sin(n / 6):.4f} E0.012"
                for n in range(1, 40)
            ]
    return read_gcode_lines(lines, "wave.gcode")


def test_a_path_that_is_not_flat_is_refused_for_what_it_is():
    """Most of it climbs: it keeps its heights, has no layers to fill, and is no row of parts."""
    program = wave()
    assert ramps_in_layers(program.moves) is program.moves
    with pytest.raises(InputError, match=r"heights of beads, most of them .* mm apart .*not flat"):
        part_fill(program.moves, 0.4)
    assert part_summary(program)["one_by_one"] is False
