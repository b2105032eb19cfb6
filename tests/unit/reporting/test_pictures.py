from __future__ import annotations

import math
import xml.etree.ElementTree as ET

import pytest

from voidless.errors import InputError
from voidless.reporting.chain import chain_charts, chain_figure
from voidless.reporting.layer import layer_drawing

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


def _bead(x0, y0, x1, y1, width=0.5):
    return {"x0_mm": x0, "y0_mm": y0, "x1_mm": x1, "y1_mm": y1, "width_mm": width}


def test_a_prediction_is_drawn_with_its_interval_and_its_range(marks):
    page = marks(chain_figure(_PREDICTION))
    text = page.text.replace("\u00a0", " ")
    for said in ("0.61 (0.40 to 0.79)", "speed is above what was checked", "250 °C", "Where clarity is lost"):
        assert said in text


def test_a_response_without_a_mean_is_left_out():
    (rails,) = chain_charts(_PREDICTION).charts[0].layers
    assert [rail.label for rail in rails.rows] == ["clarity", "strength ratio Z over XY"]
    assert rails.rows[0].inner_low == 0.4


def test_the_largest_loss_comes_first():
    (bars,) = chain_charts(_PREDICTION).charts[1].layers
    assert bars.labels == ("gaps", "bubbles", "roughness")
    assert bars.values == (50.0, 30.0, 20.0)


def test_a_prediction_of_nothing_is_refused():
    with pytest.raises(InputError, match="without responses"):
        chain_figure({"responses": {}})


def test_a_layer_keeps_its_measures():
    root = ET.fromstring(layer_drawing([_bead(0, 0, 10, 0), _bead(10, 0, 10, 5), _bead(0, 3, 8, 3, 0.4)]))
    left, top, width, _ = map(float, root.get("viewBox").split())
    assert (left, top, width) == (-0.5, -5.5, 11.0)
    paths = [e for e in root.iter() if e.tag.endswith("path") and e.get("fill") == "none"]
    wide = [e for e in paths if e.get("stroke").startswith("var(--chart-soft")]
    assert [(e.get("d"), e.get("stroke-width")) for e in wide] == [
        ("M0 0L10 0L10 -5", "0.5"),
        ("M0 -3L8 -3", "0.4"),
    ]
    assert any(e.text == "1 mm" for e in root.iter())


def test_the_words_of_a_layer_are_text():
    assert "&lt;b&gt;&quot;" in layer_drawing([_bead(0, 0, 1, 0)], alt='<b>"')


@pytest.mark.parametrize(
    "wrong", [_bead(0, 0, math.nan, 0), _bead(0, 0, 1, 0, 0.0), _bead(0, 0, 1, 0, math.nan)]
)
def test_a_bead_that_cannot_be_drawn_is_refused(wrong):
    with pytest.raises(InputError, match="segment 1"):
        layer_drawing([_bead(0, 0, 1, 0), wrong])


def test_an_empty_layer_is_refused():
    with pytest.raises(InputError, match="no segment"):
        layer_drawing([])
