from __future__ import annotations

import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest

from voidless.reporting.charts import (
    Axis,
    Bars,
    Chart,
    Curve,
    Field,
    Intervals,
    Mark,
    Photo,
    Plate,
    Points,
    Rail,
    Rails,
    Rule,
)
from voidless.reporting.draw import draw
from voidless.reporting.paint import PAINTERS
from voidless.reporting.tables import tables

_X = (1.0, 2.0, 3.0)
_LAYERS = {
    Curve: Curve("clarity", _X, (0.5, 0.7, 0.6), (0.4, 0.6, 0.5), (0.6, 0.8, 0.7)),
    Points: Points("build", _X, (0.5, 0.7, 0.6), (0.4, 0.6, 0.5), (0.6, 0.8, 0.7), ("B01", "B02", "B03")),
    Rule: Rule("at least 0.66", 0.66, "y"),
    Mark: Mark("recipe", 2.0, 0.7),
    Field: Field("probability", _X, (1.0, 2.0), ((0.1, 0.5, 0.95), (0.0, 0.4, 1.0)), 0.9),
    Photo: Photo(
        "voids",
        ((0.7, 0.7, 0.7), (0.7, 0.1, 0.7), (0.7, 0.7, 0.7)),
        ((0.0,) * 3, (0.0, 1.0, 0.0), (0.0,) * 3),
        2.0,
    ),
    Intervals: Intervals("clarity", ("flow", "fan"), (0.1, 0.0), (0.05, -0.02), (0.15, 0.02), (True, False)),
    Bars: Bars("share", ("between builds", "within"), (60.0, 40.0)),
    Rails: Rails("tolerance", (Rail("flow", 90.0, 110.0, 98.0, 104.0, 101.0, "98 to 104 %", (97.0,)),)),
}


def _chart(*layers, key="c", title="Clarity") -> Chart:
    return Chart(key, title, Axis("flow (%)"), Axis("clarity"), tuple(layers), "What it shows.")


def test_every_kind_of_layer_has_a_painter_and_a_case_here():
    assert set(PAINTERS) == set(_LAYERS)


_SIGNS = {
    Curve: ("--chart-accent", "--chart-soft"),
    Points: ("--chart-accent", "--chart-muted"),
    Rule: ("at least 0.66", "--chart-second"),
    Mark: ("#ffffff", "#000000"),
    Field: ("#ffffff", ">0.5<"),
    Photo: ("<image", "#000000", "--chart-soft"),
    Intervals: (">flow<", ">fan<", "--chart-accent", "--chart-paper"),
    Bars: (">between builds<", "--chart-accent"),
    Rails: (">98 to 104 %<", "--chart-second", "--chart-grid"),
}
"""What only the painter of that kind leaves in a drawing."""


@pytest.mark.parametrize("kind", PAINTERS, ids=lambda kind: kind.__name__)
def test_every_kind_of_layer_leaves_its_signs_and_its_numbers(kind):
    chart = _chart(_LAYERS[kind])
    drawn = draw(chart)
    assert [sign for sign in _SIGNS[kind] if sign not in drawn] == []
    found = tables(Plate("p", "Caption", (chart,)))
    assert found or kind is Photo  # what a photo counts stands in words beside it
    assert all(len(row) == len(table.columns) for table in found for row in table.rows)


def test_the_same_chart_gives_the_same_text_in_another_process():
    program = (
        "import sys; sys.path.insert(0, '.')\n"
        "from voidless.reporting.charts import *\n"
        "from voidless.reporting.draw import draw\n"
        "c = Chart('c', 'Clarity', Axis('flow (%)'), Axis('clarity'), "
        "(Curve('clarity', (1.0, 2.0, 3.0), (0.5, 0.7, 0.6), (0.4, 0.6, 0.5), (0.6, 0.8, 0.7)),), "
        "'What it shows.')\n"
        "sys.stdout.buffer.write(draw(c).encode('utf-8'))"
    )
    other = subprocess.run([sys.executable, "-c", program], capture_output=True, check=True, timeout=60)
    assert other.stdout.decode("utf-8") == draw(_chart(_LAYERS[Curve]))


def test_a_drawing_brings_no_style_and_no_loose_id():
    root = ET.fromstring(draw(_chart(*(_LAYERS[kind] for kind in (Curve, Field, Points, Mark)), key="map-1")))
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    for element in root.iter():
        assert "style" not in element.attrib
        assert not element.tag.endswith(("style", "metadata", "script"))
        assert element.get("id", "map-1-").startswith("map-1-")
        assert not any(value.startswith(("http:", "https:", "data:")) for value in element.attrib.values())
    used = {e.get("href") for e in root.iter() if e.get("href")}
    used |= {e.get("clip-path")[4:-1] for e in root.iter() if e.get("clip-path")}
    kept = {f"#{e.get('id')}" for e in root.iter() if e.get("id")}
    assert kept == used | {"#map-1-title", "#map-1-alt"}


def test_words_stand_for_the_picture():
    root = ET.fromstring(draw(_chart(_LAYERS[Curve])))
    name = "{http://www.w3.org/2000/svg}"
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == "c-title c-alt"
    assert root.find(f"{name}title").text == "Clarity"
    assert root.find(f"{name}desc").text == "What it shows."


def test_colours_follow_the_page_except_those_of_a_map():
    drawn = draw(_chart(_LAYERS[Curve]))
    colours = set(re.findall(r'(?:fill|stroke)="([^"]+)"', drawn))
    assert "var(--chart-accent, #1f6f78)" in colours
    assert {c for c in colours if c.startswith("#")} == set()


def test_names_are_text_never_formulas_or_marks():
    drawn = draw(replace(_chart(_LAYERS[Bars]), x=Axis("$x^2$ <b>&")))
    assert "$x^2$ &lt;b&gt;&amp;" in drawn


def test_a_map_and_its_key_use_the_same_ten_steps_of_one_scale():
    from matplotlib import colormaps
    from matplotlib.colors import to_hex

    steps = [to_hex(colormaps["cividis"](x)) for x in np.arange(0.05, 1.0, 0.1)]
    z = tuple(tuple(row) for row in (np.arange(0.05, 1.0, 0.1)[:, None] * np.ones(3)).tolist())
    drawn = draw(_chart(Field("probability", _X, tuple(np.arange(10.0)), z, 0.9)))
    fills = re.findall(r'fill="(#[0-9a-f]{6})"', drawn)
    assert [fills.count(step) for step in steps] == [2] * 10


def test_values_that_are_all_alike_show_as_alike():
    flat = draw(_chart(Curve("build time", _X, (40.874133, 40.874134, 40.874133))))
    assert ">40<" in flat
    assert "8741" not in flat


@pytest.mark.parametrize("value", [0.0, 1.0, float("nan")])
def test_a_map_without_an_edge_still_draws(value):
    flat = tuple(tuple(row) for row in np.full((2, 3), value).tolist())
    drawn = draw(_chart(replace(_LAYERS[Field], z=flat)))
    assert ">0.5<" in drawn
    assert "#000000" not in drawn  # no line is traced where the level is not crossed


def test_the_numbers_of_a_map_stand_in_a_grid():
    (grid,) = tables(Plate("p", "Caption", (_chart(_LAYERS[Field]),)))
    assert grid.columns == ("clarity \\ flow (%)", "1", "2", "3")
    assert grid.rows == (("1", "0.1", "0.5", "0.95"), ("2", "0", "0.4", "1"))


def test_the_numbers_of_several_panels_name_their_panel():
    plate = Plate("p", "Caption", (_chart(_LAYERS[Curve]), _chart(_LAYERS[Curve], key="d", title="Haze")))
    (table,) = tables(plate)
    assert table.columns == ("panel", "series", "flow (%)", "clarity", "low", "high")
    assert table.rows[0] == ("Clarity", "clarity", "1", "0.5", "0.4", "0.6")
    assert [row[0] for row in table.rows] == ["Clarity"] * 3 + ["Haze"] * 3


def test_a_photo_is_one_image_inside_the_drawing():
    root = ET.fromstring(draw(_chart(_LAYERS[Photo], key="photo-1")))
    held = [
        value for element in root.iter() for value in element.attrib.values() if value.startswith("data:")
    ]
    assert len(held) == 1
    assert held[0].startswith("data:image/png;base64,")
    assert not any("style" in element.attrib for element in root.iter())
