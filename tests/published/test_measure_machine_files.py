"""
Exports of three kinds of test machines: every dialect read, units right, the header's own sections used.

Sources: tests/data/machine-files-acrylic, -dialects, -small-stage (SOURCE.txt in each). The values were
read from the files' own headers and first and last rows; exact, as the files print them.
"""

from pathlib import Path

import numpy as np
import pytest

from voidless.errors import QuestionError
from voidless.measure.curves.read import read_curves
from voidless.measure.results import Answers, RawFile, Status
from voidless.measure.take import take_files

DATA = Path(__file__).parents[1] / "data"
TEXT = DATA / "machine-files-dialects" / "text"
XLSX = DATA / "machine-files-dialects" / "xlsx"
STAGE = DATA / "machine-files-small-stage"
ACRYLIC = DATA / "machine-files-acrylic"

# file, points, first and last (time s, force N), largest force N, section mm² of the header, gauge length mm
STATED = [
    (TEXT / "Allong 1.TRA", 2184, (5.4937, 146.366), (44.4337, -44.3443), 2443.02, 5.96, 25.0),
    (TEXT / "Invar_LT_05_01.TRA", 5336, (2.63805, 103.053), (107.858, 302.441), 7407.26, 7.335, 30.0),
    (TEXT / "mDB1pct.TRA", 3415, (9.49405, 74.1155), (77.1741, 157.304), 3708.59, 6.3812, 20.0),
    (XLSX / "export-1.xlsx", 8061, (0.0, 23.608598709106445), None, 8656.8798828125, 1.36 * 5.99, None),
    (XLSX / "export-2.xlsx", 8298, (4.233725000012782, 51.5035514831543), None, 9645.828125, 8.76, None),
]


@pytest.mark.parametrize(
    ("path", "points", "first", "last", "top", "section", "gauge"),
    STATED,
    ids=lambda item: getattr(item, "name", ""),
)
def test_exports_that_state_their_units(path, points, first, last, top, section, gauge):
    found = take_files([RawFile(path.name, path.read_bytes())])[0]
    assert found.status is Status.OK
    curve = read_curves(path.read_bytes(), path.name)[0]
    time, force = curve.channels["time_s"], curve.channels["force_n"]
    assert (time.size, time[0], force[0]) == (points, *first)
    assert last is None or (time[-1], force[-1]) == last
    reduced = found.reduced[0]
    assert reduced["max_force_n"] == top == force.max()
    assert reduced["section_mm2"] == pytest.approx(section, rel=1e-12)
    assert reduced["strength_by_method"]["maximum"] == pytest.approx(top / section)
    assert reduced.get("stated_gauge_length_mm") == gauge
    assert "header" in reduced["section_from"]


def test_columns_that_change_places_keep_their_meaning():
    """Two exports of one machine with force and travel the other way round."""
    invar, steel = (
        read_curves(path.read_bytes(), path.name)[0]
        for path in (TEXT / "Invar_LT_05_01.TRA", TEXT / "mDB1pct.TRA")
    )
    assert (invar.channels["extension_mm"][-1], invar.channels["force_n"][-1]) == (1.44074, 302.441)
    assert (steel.channels["extension_mm"][-1], steel.channels["force_n"][-1]) == (0.3702, 157.304)
    assert (invar.channels["travel_mm"][0], steel.channels["travel_mm"][0]) == (1190.55, -755.377)


def test_the_largest_force_of_a_workbook_is_the_one_it_prints():
    """export-2.xlsx prints Fmax 9645.828125 N in its sheet of results."""
    curve = read_curves((XLSX / "export-2.xlsx").read_bytes(), "export-2.xlsx")[0]
    assert curve.channels["force_n"].max() == 9645.828125


@pytest.mark.parametrize(
    ("name", "points", "end_s", "travel_mm", "extension_mm"),
    [("FRTEST_007.MTR", 1593, 160.0, 3.530, 3.539), ("FRTEST_008.MTR", 1740, 174.7, 3.844, 3.843)],
)
def test_the_small_stage_states_no_unit_of_force(name, points, end_s, travel_mm, extension_mm):
    """Headers: number of points, duration, largest travel and extension; travel is printed to 0.001 mm."""
    data = (STAGE / name).read_bytes()
    with pytest.raises(QuestionError, match="no unit for Force") as caught:
        read_curves(data, name)
    assert caught.value.option == "--unit Force=N"
    curve = read_curves(data, name, {"Force": "N"})[0]
    assert curve.channels["force_n"].size == points
    assert curve.channels["time_s"][-1] == end_s
    assert curve.channels["travel_mm"].max() == pytest.approx(travel_mm, abs=0.0005)
    assert curve.channels["extension_mm"].max() == extension_mm
    asked = take_files([RawFile(name, data)])[0]
    assert [question.option for question in asked.questions] == [
        "--unit Force=N",
        "--section MM2 or --unit Thickness=mm --unit Width=mm",
    ]
    told = take_files([RawFile(name, data)], Answers(units={"Force": "N", "Thickness": "mm", "Width": "mm"}))[
        0
    ]
    assert told.status is Status.OK
    assert told.reduced[0]["section_mm2"] == 5.0


@pytest.mark.parametrize(
    ("name", "points", "first", "last", "top"),
    [
        (
            "Acrylic.dat",
            164,
            (0.109375, 0.013103485, 2.5660357),
            (16.345703, 1.3644004, 8.1572886),
            725.17932,
        ),
        (
            "Aluminium.dat",
            1245,
            (0.11035156, -0.0022101402, -0.7439009),
            (124.02441, 10.314317, -0.22730324),
            1003.1842,
        ),
        (
            "StainlessSteel.dat",
            3407,
            (0.11035156, 0.021429062, 2.5666645),
            (339.37988, 28.284956, 0.99151629),
            2459.6699,
        ),
    ],
)
def test_the_servo_hydraulic_files_state_no_section(name, points, first, last, top):
    """Parts of one record are joined; without `--section` there is no strength."""
    data = (ACRYLIC / name).read_bytes()
    curve = read_curves(data, name)[0]
    columns = np.column_stack([curve.channels[key] for key in ("time_s", "travel_mm", "force_n")])
    assert columns.shape == (points, 3)
    assert tuple(columns[0]) == first
    assert tuple(columns[-1]) == last
    assert np.all(np.diff(columns[:, 0]) > 0)
    asked = take_files([RawFile(name, data)])[0]
    assert [question.option for question in asked.questions] == ["--section MM2"]
    told = take_files([RawFile(name, data)], Answers(sections={"": 30.0}))[0]
    assert told.reduced[0]["strength_mpa"] == pytest.approx(top / 30.0)
