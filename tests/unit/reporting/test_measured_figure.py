"""Pictures of how results were reduced become charts, few and plain."""

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2] / "nightly"))

from fuzz_seeds import readers

from voidless.measure.picture import photo_of
from voidless.measure.take import take_files
from voidless.reporting.charts import Curve, Mark, Rule
from voidless.reporting.draw import draw
from voidless.reporting.figures.measured import MOST, measured
from voidless.reporting.tables import tables
from voidless.workflows.plain import plain

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


def test_every_kind_of_file_shows_how_it_was_reduced():
    """Every reduced entry of every kind has a picture, and each can be drawn; a photo has its pores outlined."""
    kinds, photos = set(), 0
    for givens in readers().values():
        drawn = set()
        for found in take_files(givens[0].files, givens[0].answers):
            for item in found.reduced:
                assert item.get("picture"), (found.file, item["kind"])
                if item["kind"] in drawn:
                    continue
                drawn.add(item["kind"])
                photos += "photo" in item["picture"]
                plate = measured([plain(item)])
                svg = draw(plate.charts[0])
                assert ("<image" in svg) is ("photo" in item["picture"])
                assert tables(plate) or "photo" in item["picture"]
        kinds |= drawn
    assert {"weighing", "impact", "size", "colour", "micrograph", "summary", "precision"} <= kinds
    assert photos == 7  # of sections, bubbles and layers, by a sheet and by a word; a grid that gives a scale


def test_a_photo_keeps_small_voids_where_they_are():
    mask = np.zeros((240, 480), dtype=bool)
    mask[40:44, 400:404] = True
    photo = photo_of("voids", np.where(mask, 0.1, 0.8), mask)
    found = np.array([list(bytes.fromhex(row)) for row in photo["found"]])
    assert photo["step_px"] == 4
    assert found.shape == (60, 120)
    assert np.argwhere(found).tolist() == [[10, 100]]
    grey = np.array([list(bytes.fromhex(row)) for row in photo["grey"]])
    assert grey[10, 100] < grey[0, 0]
