"""Pictures of how results were reduced become charts, few and plain."""

from voidless.reporting.charts import Curve, Mark, Rule
from voidless.reporting.draw import draw
from voidless.reporting.figures.measured import MOST, measured

PICTURE = {
    "title": "z_1",
    "x": "strain [%]",
    "y": "stress [MPa]",
    "curves": [
        {"name": "stress", "x": [0.0, 1.0, 2.0], "y": [0.0, 20.0, 38.0], "dashed": False},
        {"name": "chord", "x": [0.05, 0.25], "y": [1.0, 5.0], "dashed": True},
    ],
    "marks": [{"name": "yield", "x": 2.0, "y": 38.0}],
    "rules": [{"name": "limit", "value": 30.0, "across": "y"}],
    "says": "Tensile curve: strength 38 MPa.",
}


def test_a_picture_becomes_a_chart_with_its_lines_marks_and_rules():
    plate = measured([{"kind": "summary"}, {"picture": PICTURE}])
    (chart,) = plate.charts
    assert [type(layer) for layer in chart.layers] == [Curve, Curve, Rule, Mark]
    assert chart.layers[1].dashed
    assert chart.alt == "Tensile curve: strength 38 MPa."
    assert draw(chart).startswith("<svg")


def test_nothing_to_draw_and_too_much_to_draw():
    assert measured([{"kind": "summary"}]) is None
    plate = measured([{"picture": PICTURE}] * (MOST + 3))
    assert len(plate.charts) == MOST
    assert f"first {MOST} of {MOST + 3}" in plate.caption
    assert len({chart.key for chart in plate.charts}) == MOST
