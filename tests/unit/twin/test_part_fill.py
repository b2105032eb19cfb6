"""Fill of a whole part: what is laid exactly, starved, over-fed, hollow."""

import math

import pytest

from voidless.errors import InputError
from voidless.toolpath.reader import read_gcode_lines
from voidless.twin.part_fill import part_fill

WIDTH, THICK, SIDE = 0.5, 0.25, 8.0
FILAMENT_MM2 = math.pi / 4.0 * 1.75**2


def plate(fed=lambda layer: 1.0, layers=5, beads=range(16)):
    """Return moves of a square plate of parallel beads that fill it exactly where fed 1."""
    lines = ["M83", "G1 F1800"]
    for layer in range(layers):
        lines.append(f"G1 Z{THICK * (layer + 1):.2f}")
        amount = fed(layer) * WIDTH * THICK * SIDE / FILAMENT_MM2
        for bead in beads:
            lines += [f"G1 X0 Y{WIDTH * (bead + 0.5):.3f}", f"G1 X{SIDE} E{amount:.6f}"]
    return read_gcode_lines(lines, "plate").moves


def test_a_plate_that_is_filled_exactly_has_no_void():
    found = part_fill(plate(), 0.4)
    assert found["void_pct"] < 0.1
    assert (
        found["under_pct"] < 4.0
    )  # round ends take melt out of the square: pi/4 width over length, 4.9 %, is the most
    assert found["over_pct"] < 0.5
    assert found["hollow_pct"] == 0.0


def test_a_starved_layer_is_named_with_what_it_lacks():
    """Fed 60 %: gaps of 0.2 mm beside beads of 0.3 mm, open at their ends; the layer above sinks into them."""
    moves = plate(lambda layer: 0.6 if layer == 2 else 1.0)
    found = part_fill(moves, 0.4)
    under = found["per_layer"]["under_pct"]
    assert under[2] == pytest.approx(40.0, abs=4.0)  # the outer beads' outer tenth is no section
    assert under.index(max(under)) == 2
    assert under[1] < 4.0
    assert 0.0 < under[3] < 0.5 * under[2]
    assert found["per_layer"]["height_mm"][2] == pytest.approx(0.75)


def test_what_sinks_is_missing_once():
    """Fed 90 % in each of eight crossed layers: a tenth gets no melt, though each layer leaves more open."""
    lines, amount = ["M83", "G1 F1800"], 0.9 * WIDTH * THICK * SIDE / FILAMENT_MM2
    for layer in range(8):
        lines.append(f"G1 Z{THICK * (layer + 1):.2f}")
        along, across = "XY" if layer % 2 else "YX"
        for bead in range(16):
            place = f"{across}{WIDTH * (bead + 0.5):.3f}"
            lines += [f"G1 {along}0 {place}", f"G1 {along}{SIDE} E{amount:.6f}"]
    moves = read_gcode_lines(lines, "plate").moves
    found = part_fill(moves, 0.4)
    room = 8 * SIDE * SIDE * THICK
    # round ends carry up to 4.9 % of the melt out of the square, in the end 1.8 % of its room
    assert found["missing_pct"] == pytest.approx(100.0 * (1.0 - moves.volume_mm3.sum() / room), abs=2.0)
    assert found["under_pct"] > 1.5 * found["missing_pct"]


def test_open_layers_are_sorted_by_void():
    """Beads that cross shut in what a starved layer leaves open."""
    lines = ["M83", "G1 F1800"]
    for layer in range(4):
        lines.append(f"G1 Z{THICK * (layer + 1):.2f}")
        share = {1: 0.6, 3: 0.8}.get(layer, 1.0)
        rim = WIDTH * THICK * SIDE / FILAMENT_MM2
        for x, y in ((SIDE, 0), (SIDE, SIDE), (0, SIDE), (0, 0)):
            lines.append(f"G1 X{x} Y{y} E{rim:.5f}")
        for bead in range(1, 16):
            lines += [f"G1 X{0.5} Y{WIDTH * bead:.3f}", f"G1 X{SIDE - 0.5} E{share * rim * 7 / 8:.6f}"]
        lines.append("G1 X0 Y0")
    found = part_fill(read_gcode_lines(lines, "rim").moves, 0.4)
    assert [item["layer"] for item in found["open_layers"]][:2] == [1, 3]
    assert found["open_layers"][0]["void_pct"] > 20.0
    assert found["void_pct"] == pytest.approx(sum(found["per_layer"]["void_pct"]) / 4, rel=0.02)


def test_too_much_melt_finds_no_room():
    found = part_fill(plate(lambda layer: 1.3), 0.4)
    assert 5.0 < found["over_pct"] < 30.0


def test_wide_gaps_are_told_apart_from_voids():
    """A window of 3 mm in the plate: shut in by beads, but no void of the process."""
    frame = [b for b in range(16) if not 5 <= b < 11]
    lines = ["M83", "G1 F1800", f"G1 Z{THICK}"]
    amount = WIDTH * THICK / FILAMENT_MM2
    for bead in range(16):
        y = WIDTH * (bead + 0.5)
        pieces = [(0.0, SIDE)] if bead in frame else [(0.0, 2.5), (5.5, SIDE)]
        for x0, x1 in pieces:
            lines += [f"G1 X{x0} Y{y}", f"G1 X{x1} E{amount * (x1 - x0):.6f}"]
    found = part_fill(read_gcode_lines(lines, "frame").moves, 0.4)
    assert found["void_pct"] < 2.0  # the round ends at the window's edge
    assert found["hollow_pct"] == pytest.approx(100.0 * 9.0 / 64.0, abs=2.0)


def test_a_print_taken_up_again_is_filled_as_on_the_bed():
    """The same beads begin at 40 mm: the thickness of the first layer is that of the next."""
    low = plate(layers=2)
    high = read_gcode_lines(
        ["M83", "G1 F1800"]
        + [
            line
            for layer in range(2)
            for line in (
                f"G1 Z{40 + THICK * layer}",
                *(
                    word
                    for bead in range(16)
                    for word in (
                        f"G1 X0 Y{WIDTH * (bead + 0.5):.3f}",
                        f"G1 X{SIDE} E{WIDTH * THICK * SIDE / FILAMENT_MM2:.6f}",
                    )
                ),
            )
        ],
        "high",
    ).moves
    assert part_fill(high, 0.4)["under_pct"] == pytest.approx(part_fill(low, 0.4)["under_pct"], rel=1e-6)


def test_one_straight_bead_is_laid():
    """A box without depth."""
    found = part_fill(plate(layers=1, beads=range(1)), 0.4)
    assert found["void_pct"] == 0.0
    assert found["missing_pct"] < 5.0


def test_beads_that_cannot_be_are_refused():
    """Heights in the wrong unit, feed in the wrong unit: named with width, thickness and nozzle."""
    with pytest.raises(InputError, match=r"beads of 0.005 mm in layers of 0.25 mm"):
        part_fill(plate(lambda _: 0.01), 0.4)
    with pytest.raises(InputError, match=r"beads of 5 mm from a nozzle of 0.4 mm"):
        part_fill(plate(lambda _: 10.0), 0.4)
