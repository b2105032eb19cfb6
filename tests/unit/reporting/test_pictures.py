from __future__ import annotations

import base64
import io
import math
import xml.etree.ElementTree as ET
from itertools import pairwise

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.reporting.cells import cell_drawing
from voidless.reporting.chain import chain_charts, chain_figure
from voidless.reporting.layer import bead_drawing
from voidless.reporting.shade import shade_of

_PREDICTION = {
    "responses": {
        "clarity": {"mean": 0.61, "low": 0.4, "high": 0.79},
        "z_ratio": {"mean": 0.8, "low": 0.6, "high": 0.97},
        "haze_pct": {"mean": None, "low": None, "high": None},
    },
    "chain": {"clarity": {"gaps": 0.5, "bubbles": 0.3, "roughness": 0.2}},
    "outside_range": ["speed is above what was checked"],
    "settings": {"nozzle_c": 250.0},
}


def _beads(*rows):
    names = ("x0_mm", "y0_mm", "x1_mm", "y1_mm", "width_mm", "z_mm")
    return dict(
        zip(names, zip(*(row + (0.5, 0.2)[len(row) - 4 :] for row in rows), strict=True), strict=True)
    )


def _paths(drawn):
    return [e for e in ET.fromstring(drawn).iter() if e.tag.endswith("path") and e.get("fill") == "none"]


def test_a_prediction_is_drawn_with_its_interval_and_its_range(marks):
    page = marks(chain_figure(_PREDICTION))
    text = page.text.replace("\u00a0", " ")
    for said in ("0.61 (0.40 to 0.79)", "speed is above what was checked", "250 °C", "Where clarity is lost"):
        assert said in text


def test_a_response_without_a_mean_is_left_out():
    (rails,) = chain_charts(_PREDICTION).charts[0].layers
    assert [rail.label for rail in rails.rows] == ["clarity", "strength ratio Z over XY"]
    assert rails.rows[0].inner_low == 0.4


def _drawn(**responses):
    (rails,) = chain_charts({"responses": responses}).charts[0].layers
    return {rail.label: rail for rail in rails.rows}


def test_the_length_of_a_band_tells_how_little_is_known():
    """Each rail was as long as its own band before, so all bands were drawn alike."""
    rails = _drawn(
        build_min={"mean": 50.0, "low": 49.0, "high": 51.0},
        strength_z_mpa={"mean": 44.0, "low": 7.6, "high": 82.0},
        clarity={"mean": 0.8, "low": 0.5, "high": 0.9},
        size_error_mm={"mean": 0.01, "low": -0.27, "high": 0.28},
        void_pct={"mean": 0.0, "low": 0.0, "high": 0.0},
    )
    share = {
        name: (rail.inner_high - rail.inner_low) / (rail.high - rail.low) for name, rail in rails.items()
    }
    assert share["build time"] == pytest.approx(0.02)
    assert share["strength through the layers"] == pytest.approx(74.4 / 88.0)
    assert share["clarity"] == pytest.approx(0.4)  # of 0 to 1: clarity cannot be more
    assert (rails["size error"].low, rails["size error"].high) == (-0.28, 0.28)
    assert (rails["void share"].low, rails["void share"].high) == (0.0, 1.0)


def test_the_largest_loss_comes_first():
    (bars,) = chain_charts(_PREDICTION).charts[1].layers
    assert bars.labels == ("gaps between beads", "bubbles of water", "rough top face")
    assert bars.values == (50.0, 30.0, 20.0)


def test_a_prediction_of_nothing_is_refused():
    with pytest.raises(InputError, match="without responses"):
        chain_figure({"responses": {}})


def test_a_layer_keeps_its_measures():
    drawn = bead_drawing(_beads((0, 0, 10, 0), (10, 0, 10, 5), (0, 3, 8, 3, 0.4)))
    left, top, width, _ = map(float, ET.fromstring(drawn).get("viewBox").split())
    assert (left, top, width) == (-0.5, -5.5, 11.0)
    ground = [e for e in _paths(drawn) if e.get("stroke").startswith("var(--chart-paper")]
    assert [(e.get("d"), e.get("stroke-width")) for e in ground] == [
        ("M0 0L10 0L10 -5", "0.5"),
        ("M0 -3L8 -3", "0.4"),
    ]
    beads = [e for e in _paths(drawn) if e.get("stroke").startswith("var(--chart-soft")]
    assert [float(e.get("stroke-width")) for e in beads] == [0.43, 0.344]
    assert any(e.text == "2 mm" for e in ET.fromstring(drawn).iter())


def test_colours_follow_the_numbers_and_grey_what_is_not_known():
    beads = _beads((0, 0, 10, 0), (10, 0, 20, 0), (20, 0, 30, 0), (30, 0, 40, 0))
    shown = [1.0, None, 3.0, 2.0]
    shade = shade_of(shown, [10.0] * 4, "speed [mm/s]")
    drawn = bead_drawing(beads, shown=shown, shade=shade)
    colours = [e.get("stroke") for e in _paths(drawn)[4:8]]
    assert colours[:3] == [shade.colours[0], "#b9b9b9", shade.colours[-1]]
    assert colours[3] == shade.colours[32]
    assert "speed [mm/s]" in drawn


def test_lightness_rises_along_the_scale():
    shade = shade_of([0.0, 1.0], [1.0, 1.0], "a")
    light = [
        sum(w * int(c[i : i + 2], 16) for w, i in ((0.2126, 1), (0.7152, 3), (0.0722, 5)))
        for c in shade.colours
    ]
    assert all(a < b for a, b in pairwise(light))


def test_few_odd_beads_share_the_colour_of_the_end():
    shade = shade_of([9.0] + [1.0, 2.0] * 50, [0.01] + [1.0] * 100, "width [mm]")
    assert (shade.low, shade.high, shade.below, shade.above) == (1.0, 2.0, False, True)
    assert "\u2265" in bead_drawing(_beads((0, 0, 9, 0)), shown=[9.0], shade=shade)


def test_numbers_that_are_alike_are_shown_as_alike():
    shade = shade_of([2.0, 2.0], [1.0, 1.0], "width [mm]")
    assert (shade.low, shade.high) == (1.9, 2.1)
    assert [words for _, words in shade.ticks()] == ["1.9", "2.0", "2.1"]


def test_a_part_from_a_corner_stands_upright():
    drawn = bead_drawing(_beads((0, 0, 10, 0), (0, 0, 10, 0, 0.5, 5.0)), tilted=True)
    low, high = (e for e in _paths(drawn) if e.get("stroke").startswith("var(--chart-soft"))
    rise = [float(e.get("d").split("L")[0].split()[1]) for e in (low, high)]
    assert rise[0] - rise[1] == pytest.approx(4.8 * math.cos(math.radians(35.0)), abs=1e-3)


def test_many_beads_are_drawn_without_lines_between_and_too_many_refused():
    many = _beads(*[(0, i, 9, i) for i in range(20_001)])
    assert len(_paths(bead_drawing(many))) == 20_001  # the scale bar is no bead
    with pytest.raises(InputError, match="200001 beads"):
        bead_drawing({name: [1.0] * 200_001 for name in many})


def test_a_map_of_cells_keeps_place_and_colours():
    from PIL import Image

    shade = shade_of([0.0, 1.0], [1.0, 1.0], "fill [1]")
    drawn = cell_drawing(np.array([[0.0, 1.0], [math.nan, 1.0]]), (3.0, 4.0), 0.5, shade)
    image = next(e for e in ET.fromstring(drawn).iter() if e.tag.endswith("image"))
    assert [float(image.get(name)) for name in ("x", "y", "width", "height")] == [3.0, -5.0, 1.0, 1.0]
    cells = Image.open(io.BytesIO(base64.b64decode(image.get("href").split(",")[1])))
    assert cells.getpixel((0, 0))[3] == 0
    assert "#{:02x}{:02x}{:02x}".format(*cells.getpixel((0, 1))[:3]) == shade.colours[0]
    with pytest.raises(InputError, match="no cell"):
        cell_drawing(np.zeros((0, 3)), (0.0, 0.0), 0.5, shade)


def test_the_words_of_a_layer_are_text():
    assert "&lt;b&gt;&quot;" in bead_drawing(_beads((0, 0, 1, 0)), alt='<b>"')


@pytest.mark.parametrize("wrong", [(0, 0, math.nan, 0), (0, 0, 1, 0, 0.0), (0, 0, 1, 0, math.nan)])
def test_a_bead_that_cannot_be_drawn_is_refused(wrong):
    with pytest.raises(InputError, match="bead 1"):
        bead_drawing(_beads((0, 0, 1, 0), wrong))


def test_an_empty_layer_is_refused():
    with pytest.raises(InputError, match="no bead"):
        bead_drawing({name: [] for name in ("x0_mm", "y0_mm", "x1_mm", "y1_mm", "width_mm")})


def test_a_chamber_that_is_not_heated_is_nothing_to_set(marks):
    for celsius, told in ((0.0, False), (60.0, True)):
        given = {**_PREDICTION, "settings": {**_PREDICTION.get("settings", {}), "chamber_c": celsius}}
        assert ("chamber temperature" in marks(chain_figure(given)).text) == told
