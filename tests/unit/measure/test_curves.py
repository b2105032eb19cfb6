"""Curves: one record in many dialects, units stated, answered, proven or asked for."""

import io
import time

import numpy as np
import openpyxl
import pytest

from voidless.errors import InputError, QuestionError
from voidless.measure.curves.header import last_digit
from voidless.measure.curves.read import read_curves, scan_curves
from voidless.measure.curves.words import channel_of, fact_of
from voidless.measure.results import RawFile
from voidless.measure.take import take_files

TIME = np.arange(1, 31) * 0.1
FORCE = 12.5 * np.arange(1, 31)
TRAVEL = 0.005 * np.arange(1, 31)


def _rows(delimiter=";", comma=False, scale=1.0, quote=""):
    lines = []
    for row in zip(TIME, FORCE * scale, TRAVEL, strict=True):
        cells = [f"{quote}{value:.6g}{quote}" for value in row]
        lines.append(delimiter.join(cell.replace(".", ",") if comma else cell for cell in cells))
    return "\n".join(lines) + "\n"


def _book():
    book = openpyxl.Workbook()
    facts = book.active
    facts.title = "Results bar"
    for row in [[None, "Specimen designation", "a0", "b0"], [None, None, "mm", "mm"], [None, "bar", 4, 10]]:
        facts.append(row)
    sheet = book.create_sheet("Values bar")
    for row in [["bar"] * 3, ["Time", "Standard force", "Crosshead"], ["s", "N", "mm"]]:
        sheet.append(row)
    for row in zip(TIME, FORCE, TRAVEL, strict=True):
        sheet.append([float(value) for value in row])
    held = io.BytesIO()
    book.save(held)
    return held.getvalue()


DIALECTS = {
    "units row": "Time;Force;Crosshead\ns;N;mm\n" + _rows(),
    "units row with other words": "Time;Force;Crosshead;Remark\ns;N;mm;in words\n"
    + _rows().replace("\n", ";x\n"),
    "brackets": "Time [s];Force [N];Crosshead [mm]\n" + _rows(),
    "parentheses": "Time (s)\tLoad (N)\tStroke (mm)\n" + _rows("\t"),
    "suffixes": "time_s,force_n,travel_mm\n" + _rows(","),
    "in": "Zeit in s;Kraft in N;Weg in mm\n" + _rows(),
    "slash": "Zeit / s;Standardkraft / N;Traversenweg / mm\n" + _rows(comma=True),
    "French, decimal comma": "Temps;Force standard;Traverse absolue\ns;N;mm\n" + _rows(comma=True),
    "German, tab": "Prüfzeit\tKraft\tWeg\ns\tN\tmm\n" + _rows("\t", comma=True),
    "quoted": '"Time","Force","Crosshead"\n"s","N","mm"\n' + _rows(",", quote='"'),
    "quoted decimal comma": '"Time","Force","Crosshead"\n"s","N","mm"\n' + _rows(",", comma=True, quote='"'),
    "bar": "Time [s]|Force [N]|Crosshead [mm]\n" + _rows("|"),
    "blanks": "Time[s] Force[N] Crosshead[mm]\n" + _rows("  "),
    "milliseconds and kilonewton": "Time [ms];Force [kN];Crosshead [mm]\n"
    + "".join(f"{t * 1e3:.6g};{f / 1e3:.9g};{x:.6g}\n" for t, f, x in zip(TIME, FORCE, TRAVEL, strict=True)),
    "junk above": "made by hand\n17.3 was the room\n10/19/2023 3:22 PM\n\nTime [s];Force [N];Crosshead [mm]\n"
    + _rows(),
    "junk below": "Time [s];Force [N];Crosshead [mm]\n" + _rows() + "end of test\noperator; somebody\n",
    "more columns": "No;Time [s];Force [N];Crosshead [mm];Remark\n"
    + "".join(f"{n};{line};fine\n" for n, line in enumerate(_rows().splitlines())),
    "blank lines between": "Time [s];Force [N];Crosshead [mm]\n\n" + _rows().replace("\n", "\n\n"),
    "short numbers": "Time [s];Force [N];Crosshead [mm]\n" + _rows().replace("0.", "."),
}


@pytest.mark.parametrize("name", DIALECTS)
@pytest.mark.parametrize("encoding", ["utf-8", "latin-1", "utf-16"])
@pytest.mark.parametrize("ends", ["\n", "\r\n"])
def test_dialects_give_the_same_curve(name, encoding, ends):
    curves = read_curves(DIALECTS[name].replace("\n", ends).encode(encoding), "bar.txt")
    assert len(curves) == 1
    np.testing.assert_allclose(curves[0].channels["force_n"], FORCE, rtol=1e-9)
    np.testing.assert_allclose(curves[0].channels["time_s"], TIME, rtol=1e-9)
    np.testing.assert_allclose(curves[0].channels["travel_mm"], TRAVEL, rtol=1e-9)


def test_a_workbook_gives_the_same_curve_and_its_section():
    curve = read_curves(_book(), "bar.xlsx")[0]
    np.testing.assert_array_equal(curve.channels["force_n"], FORCE)
    assert curve.facts == {"thickness_mm": 4.0, "width_mm": 10.0}


def test_exponents_of_three_digits():
    text = "Time [s];Force [N]\n" + "".join(f"{n};{n}e-005\n" for n in range(1, 9))
    np.testing.assert_allclose(read_curves(text.encode(), "a")[0].channels["force_n"], np.arange(1, 9) * 1e-5)


@pytest.mark.parametrize(
    ("head", "facts"),
    [
        (
            '"Specimen thickness",4.02,"mm"\n"Specimen width",9.98,"mm"',
            {"thickness_mm": 4.02, "width_mm": 9.98},
        ),
        ("Section : 40.1 mm2", {"section_mm2": 40.1}),
        ("Querschnitt;40,1;mm²", {"section_mm2": 40.1}),
        ("Épaisseur [mm];4\nLargeur [mm];10", {"thickness_mm": 4.0, "width_mm": 10.0}),
        ("Thickness = 0.4 cm", {}),
        ("Gauge length: 50 mm\nGrip separation: 115 mm", {"gauge_length_mm": 50.0, "span_mm": 115.0}),
        ("Extrusion width: 0.42 mm\nLayer thickness: 0.2 mm", {}),
        ("Test speed : 5 mm/min", {"speed_mm_min": 5.0}),
    ],
)
def test_facts_of_the_header(head, facts):
    curve = read_curves(f"{head}\nTime [s];Force [N];Crosshead [mm]\n{_rows()}".encode(), "a.txt")[0]
    assert curve.facts == facts


def test_an_unknown_unit_is_asked_for_and_an_answer_taken():
    data = ("Time;Force;Crosshead\n" + _rows()).encode()
    with pytest.raises(QuestionError, match="states no unit for Time, Force, Crosshead") as caught:
        read_curves(data, "a.txt")
    assert caught.value.option == "--unit Time=s --unit Force=N --unit Crosshead=mm"
    curve = read_curves(data, "a.txt", {"force": "kN", "Time": "s", "CROSSHEAD": "mm"})[0]
    np.testing.assert_allclose(curve.channels["force_n"], FORCE * 1e3)
    assert "answered" in curve.units_from["force_n"]


def test_a_stated_unit_comes_before_an_answer():
    data = ("Time [s];Force [N];Crosshead [mm]\n" + _rows()).encode()
    np.testing.assert_allclose(read_curves(data, "a", {"Force": "kN"})[0].channels["force_n"], FORCE)


def test_a_unit_is_proven_by_a_maximum_in_the_header_and_by_nothing_else():
    body = "Time [s];Force;Crosshead [mm]\n" + _rows()
    proven = f"Max force : {FORCE.max():.1f} N\n{body}"
    curve = read_curves(proven.encode(), "a")[0]
    np.testing.assert_allclose(curve.channels["force_n"], FORCE)
    assert "Max force" in curve.units_from["force_n"]
    for head in ("Max force : 370.0 N", "Max force : 374.9 N", "Calibrated at 375 N", "Max force : 375"):
        with pytest.raises(QuestionError, match="no unit for Force"):
            read_curves(f"{head}\n{body}".encode(), "a")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Time [s];Force [mm];Crosshead [mm]\n" + _rows(), "'Force' in mm .expected a unit of force"),
        ("Time [s];Humidity;Crosshead [mm]\n" + _rows(), "none of which is a force"),
        ("Time [s];Force [N];Load [N]\n" + _rows(), "two columns are forces"),
        ("Time [s];Force [N];Crosshead [mm]\n" + _rows(scale=-1), "the force is mainly negative"),
        (
            "Time [s];Force [N];Crosshead [mm]\n" + _rows().replace("\n0.5;", "\n0.5;x"),
            "a.txt:6.*missing or no finite number",
        ),
        (
            "Time [s];Force [N];Crosshead [mm]\n"
            + _rows().replace("\n0.5;62.5", "\n0.5;").replace("\n0.6;75", "\n0.6;"),
            "a.txt:6.*missing or no finite number",
        ),
        (
            "Time [s];Force [N];Crosshead [mm]\n" + _rows().replace("62.5", "1e300"),
            "a.txt:6.*no finite number",
        ),
        (
            "Time [s];Force [N];Crosshead [mm]\n" + _rows().replace("62.5", "62,5"),
            "a comma and numbers with a point",
        ),
        (
            "Time,Force\ns,N\n" + _rows(",", comma=True).replace("0,1,12,5,0,005\n", ""),
            "commas separate cells and decimals",
        ),
        ("Time [s];Force [N]\n" + _rows(), "2 column names and 3 cells"),
        (
            "Time [s],Force [N],Crosshead [mm]\n" + _rows(",").replace("\n0.5,62.5", '\n0.5,"62,5"'),
            "a comma and numbers with",
        ),
        ("Time [s];Crosshead [mm];Code;Force [N]\n" + _rows(), "a.txt:2.*missing"),
        ("Time [s];Force [N]\n1;2\n2;3\n", "no 5 rows of numbers"),
    ],
)
def test_what_cannot_be_read_is_refused_with_its_line(text, words):
    with pytest.raises(InputError, match=words):
        read_curves(text.encode(), "a.txt")


@pytest.mark.parametrize("hole", [";62.5;0.025", "0.5;;0.025", "0.5;62.5;"], ids=["time", "force", "travel"])
def test_a_missed_reading_costs_its_row_and_is_named(hole):
    """One empty cell among twenty rows and more; the curve is that of the other rows, whose first and last stay."""
    whole = _rows()
    line = next(row for row in whole.split("\n") if row.startswith("0.5;"))
    text = "Time [s];Force [N];Crosshead [mm]\n" + whole.replace(line, hole)
    (found,) = read_curves(text.encode(), "a.txt")
    (full,) = read_curves(("Time [s];Force [N];Crosshead [mm]\n" + whole).encode(), "a.txt")
    assert found.warnings == ("line 6: a cell is empty, a missed reading; the row is left out",)
    for name, values in full.channels.items():
        assert found.channels[name].tolist() == [value for k, value in enumerate(values.tolist()) if k != 4]


@pytest.mark.parametrize(
    "gone", [(4, 5), (0,), (-1,), (4, 8, 12)], ids=["two on end", "first", "last", "too many"]
)
def test_more_than_missed_readings_refuses_the_file(gone):
    rows = _rows().strip().split("\n")
    for place in gone:
        time, _, travel = rows[place].split(";")
        rows[place] = f"{time};;{travel}"
    text = "Time [s];Force [N];Crosshead [mm]\n" + "\n".join(rows) + "\n"
    with pytest.raises(InputError, match="missing or no finite number"):
        read_curves(text.encode(), "a.txt")


@pytest.mark.parametrize(("holes", "sound"), [((100, 150), True), ((100, 101), False)])
def test_missed_readings_lie_apart(holes, sound):
    """Two of three hundred rows: apart they are missed readings, in succession a part of the curve is gone."""
    rows = [f"{0.1 * k:.1f};{'' if k in holes else 4 * k};{0.01 * k:.2f}" for k in range(300)]
    data = ("Time [s];Force [N];Crosshead [mm]\n" + "\n".join(rows) + "\n").encode()
    if sound:
        assert read_curves(data, "a.txt")[0].channels["force_n"].size == 298
        return
    with pytest.raises(InputError, match="missing or no finite number"):
        read_curves(data, "a.txt")


@pytest.mark.parametrize(
    "name", ["strain_mm_mm", "Strain [mm/mm]", "Strain (in/in)", "strain mm/mm", "Strain, m/m"]
)
def test_a_length_over_a_length_is_a_plain_strain(name):
    """It ends like a length, and taken for one 4 % would be 0.04 mm of extension."""
    rows = "".join(f"{0.1 * k:.1f};{4 * k};{1e-4 * k:.4f}\n" for k in range(40))
    (curve,) = read_curves(f"Time [s];Force [N];{name}\n{rows}".encode(), "a.txt")
    assert curve.channels["strain"][-1] == pytest.approx(39e-4)
    assert "extension_mm" not in curve.channels


def test_specimens_side_by_side_on_one_clock():
    """One column of time, then force and extension of A and of B, as a machine of two stations writes."""
    rows = "".join(f"{k};{0.1 * k:.1f};{4 * k};{1e-2 * k:.3f};{3 * k};{2e-2 * k:.3f}\n" for k in range(1, 60))
    text = "No.;Time [s];Force A [N];Ext A [mm];Force B [N];Ext B [mm]\n" + rows
    first, second = read_curves(text.encode(), "two.txt")
    assert (first.name, second.name) == ("two-A", "two-B")
    for curve, force, extension in ((first, 4, 1e-2), (second, 3, 2e-2)):
        assert curve.channels["force_n"][-1] == force * 59
        assert curve.channels["extension_mm"][-1] == pytest.approx(extension * 59)
        assert curve.channels["time_s"][-1] == pytest.approx(5.9)


def test_specimens_one_below_the_other():
    head = "Thickness: {} mm\nWidth: 10 mm\nTime [s];Force [N];Crosshead [mm]\n"
    text = head.format(4) + _rows() + head.format(5) + _rows(scale=2.0)
    first, second = read_curves(text.encode(), "bars.txt")
    assert (first.name, second.name) == ("bars#1", "bars#2")
    assert (first.facts["thickness_mm"], second.facts["thickness_mm"]) == (4.0, 5.0)
    np.testing.assert_allclose(second.channels["force_n"], 2 * first.channels["force_n"])


def test_specimens_side_by_side():
    rows = "".join(f"{t:.3g};{f:.6g};{t:.3g};{2 * f:.6g}\n" for t, f in zip(TIME, FORCE, strict=True))
    first, second = read_curves(("Time [s];Force [N];Time [s];Force [N]\n" + rows).encode(), "bars.txt")
    np.testing.assert_allclose(second.channels["force_n"], 2 * first.channels["force_n"])


def test_specimens_told_apart_by_a_column():
    rows = "".join(f"{n};{t:.3g};{n * f:.6g}\n" for n in (1, 2) for t, f in zip(TIME, FORCE, strict=True))
    first, second = read_curves(("Specimen;Time [s];Force [N]\n" + rows).encode(), "bars.txt")
    assert second.name == "bars-2"
    np.testing.assert_allclose(second.channels["force_n"], 2 * first.channels["force_n"])


def test_parts_of_one_record_are_joined():
    lines = ("Time [s];Force [N];Crosshead [mm]\n" + _rows()).splitlines()
    curves = read_curves("\n".join([*lines[:16], "more", lines[0], *lines[16:]]).encode(), "a.txt")
    assert len(curves) == 1
    np.testing.assert_allclose(curves[0].channels["force_n"], FORCE)
    assert any("joined to one record" in word for word in curves[0].warnings)


def test_a_strain_in_mm_is_an_extension_and_a_travel_in_percent_a_strain():
    data = ("Point;Force [N];Strain [mm]\n" + _rows()).encode()
    assert "extension_mm" in read_curves(data, "a")[0].channels
    curve = read_curves(("Point;Force [N];Extension [%]\n" + _rows()).encode(), "a")[0]
    np.testing.assert_allclose(curve.channels["strain"], TRAVEL / 100)


def test_points_that_the_header_counts_otherwise_are_said():
    data = ("Number of points : 31\nTime [s];Force [N];Crosshead [mm]\n" + _rows()).encode()
    assert any("the header says 31" in word for word in read_curves(data, "a")[0].warnings)


@pytest.mark.parametrize(
    ("name", "channel"),
    [
        ("Standard force", "force"),
        ("Kraft", "force"),
        ("F", "force"),
        ("Temps d'essai", "time"),
        ("Course standard", "extension"),
        ("Capteur de course", "travel"),
        ("Ch 1 LVDT", "travel"),
        ("Dehnung", "strain"),
        ("Contrainte", "stress"),
        ("Motorspeed", ""),
        ("Fan", ""),
        ("Samplerate", ""),
        ("Code", ""),
    ],
)
def test_words_of_channels(name, channel):
    assert channel_of(name) == channel


@pytest.mark.parametrize(
    ("label", "fact"),
    [
        ("Épaisseur éprouvette", "thickness"),
        ("Gage length, standard travel", "gauge_length"),
        ("Cross-section area", "section"),
        ("L0 - course standard", "gauge_length"),
        ("Extrusion width", ""),
        ("S0", "section"),
        ("Fmax", "max_force"),
        ("Operator", ""),
    ],
)
def test_words_of_facts(label, fact):
    assert fact_of(label) == fact


def _strength(text, name, **answers):
    from voidless.measure.results import Answers

    return take_files([RawFile(name, text.encode())], Answers(**answers))[0]


def test_a_section_is_asked_for_and_the_files_own_comes_first():
    text = "Time [s];Force [N];Crosshead [mm]\n" + _rows()
    asked = _strength(text, "R02_B04_z_1.csv")
    assert asked.status == "question"
    assert asked.questions[0].option == "--section z=MM2"
    assert asked.observations == ()
    found = _strength(text, "R02_B04_z_1.csv", sections={"z": 30.0}).observations[0]
    assert (found.run, found.build, found.specimen, found.key.quantity) == (
        "R02",
        "B04",
        "z_1",
        "strength_z_mpa",
    )
    assert found.value == pytest.approx(FORCE.max() / 30.0)
    assert found.key.method == "maximum"
    own = _strength("Section: 40 mm2\n" + text, "z_1.csv", sections={"z": 30.0})
    assert own.observations[0].value == pytest.approx(FORCE.max() / 40.0)
    assert any("own section of 40 mm² is used, not the answered 30" in word for word in own.warnings)


def test_a_section_at_odds_with_its_sides_is_said():
    head = "Thickness: 4 mm\nWidth: 10 mm\nSection: {} mm2\nTime [s];Force [N];Crosshead [mm]\n"
    odd = _strength(head.format(44) + _rows(), "z_1.csv")
    assert odd.observations[0].value == pytest.approx(FORCE.max() / 44.0)
    assert any("thickness times width is 40 mm²" in word for word in odd.warnings)
    even = _strength(head.format(40.1) + _rows(), "z_1.csv")
    assert not any("thickness times width" in word for word in even.warnings)


def test_dimensions_without_a_unit_are_asked_for():
    text = "Span : 10\nWidth : 5\nThickness : 2\nTime [s];Force [N];Crosshead [mm]\n" + _rows()
    asked = _strength(text, "z_1.csv")
    assert asked.questions[0].option == "--section z=MM2 or --unit Thickness=mm --unit Width=mm"
    told = _strength(text, "z_1.csv", units={"width": "mm", "Thickness": "mm"})
    assert told.observations[0].value == pytest.approx(FORCE.max() / 10.0)


def test_without_a_direction_only_the_force_counts():
    found = _strength("Section: 40 mm2\nTime [s];Force [N];Crosshead [mm]\n" + _rows(), "bar.csv")
    assert [item.key.quantity for item in found.observations] == ["max_force_n"]
    assert found.observations[0].value == FORCE.max()
    assert found.reduced[0]["strength_mpa"] == pytest.approx(FORCE.max() / 40.0)
    assert any("direction not known" in word for word in found.warnings)
    told = _strength("Time [s];Force [N];Crosshead [mm]\n" + _rows(), "bar.csv", sections={"across": 40.0})
    assert told.observations[0].key.quantity == "strength_across_mpa"


def test_a_section_that_is_not_positive_is_refused():
    found = _strength("Time [s];Force [N];Crosshead [mm]\n" + _rows(), "z_1.csv", sections={"z": -1.0})
    assert found.status == "refused"
    assert "above 0 mm²" in str(found.error)


def test_two_hundred_curves_of_five_thousand_points_in_five_seconds():
    """Recognised, read and reduced, in time of the processor; 2.3 s when written."""
    clock = np.arange(5000) * 0.01
    force = np.interp(clock, [0, 40, 41, 50], [0, 1200, 0, 0])
    rows = "\n".join(f"{t:.2f};{f:.4f};{t / 60:.5f}" for t, f in zip(clock, force, strict=True))
    data = ("Section: 40 mm2\nTime [s];Force [N];Crosshead [mm]\n" + rows + "\n").encode()
    start = time.process_time()
    found = take_files([RawFile(f"R{index:03}_B001_z_1.csv", data) for index in range(200)])
    taken = time.process_time() - start
    assert all(item.observations[0].value == pytest.approx(30.0) for item in found)
    assert taken < 5.0, f"{taken:.1f} s"


def test_scan_gives_curves_and_questions_together():
    curves, questions = scan_curves(("Time;Force [N];Remark\n" + _rows()).encode(), "a")
    assert list(curves[0].channels) == ["force_n"]
    assert len(questions) == 1


def side_by_side(counts, clock, mark):
    """Two specimens beside one another, of 2 and 3 N a reading; the shorter one leaves its cells empty."""
    head = "Time (s),Force A (N),Travel A (mm),Force B (N),Travel B (mm)" if clock else (
        "Time A (s),Force A (N),Time B (s),Force B (N)"
    )  # fmt: skip
    rows = [head.split(",")]
    for n in range(max(counts)):
        time, way = f"{n / 10:.1f}", f"{n / 100:.2f}"
        cells = [[f"{step * n:.1f}", way] if clock else [time, f"{step * n:.1f}"] for step in (2, 3)]
        own = [pair if n < count else ["", ""] for pair, count in zip(cells, counts, strict=True)]
        rows.append([*([time] if clock else []), *own[0], *own[1]])
    return rows, "\n".join(mark.join(row) for row in rows).encode()


@pytest.mark.parametrize("mark", [",", ";", "\t"])
@pytest.mark.parametrize("clock", [True, False])
@pytest.mark.parametrize("counts", [(40, 70), (70, 40)])
def test_specimens_side_by_side_may_end_at_different_rows(counts, clock, mark):
    rows, text = side_by_side(counts, clock, mark)
    book = io.BytesIO()
    sheets = openpyxl.Workbook()
    for number, row in enumerate(rows):
        sheets.active.append([None if not cell else float(cell) if number else cell for cell in row])
    sheets.save(book)
    for data, name in ((text, "pair.csv"), (book.getvalue(), "pair.xlsx")):
        found = read_curves(data, name)
        assert [curve.channels["force_n"].size for curve in found] == list(counts)
        assert [curve.channels["force_n"][-1] for curve in found] == [2 * counts[0] - 2, 3 * counts[1] - 3]


@pytest.mark.parametrize("clock", [True, False])
def test_a_place_without_a_specimen_is_passed_over_and_named(clock):
    _, text = side_by_side((40, 0), clock, ",")
    (found,) = read_curves(text, "pair.csv")
    assert found.channels["force_n"].tolist() == [2.0 * n for n in range(40)]
    (said,) = found.warnings
    assert "'Force B'" in said
    assert "no specimen is taken from them" in said


def test_a_column_without_any_reading_is_refused_with_its_row():
    rows = "".join(f"{n},{2 * n},\n" for n in range(30))
    with pytest.raises(InputError, match=r"a\.csv:2: '0,0,' has a cell that is missing"):
        read_curves(f"Time (s),Force (N),Travel (mm)\n{rows}".encode(), "a.csv")


def test_a_hole_in_the_middle_of_a_specimen_beside_another_is_no_end():
    rows, _ = side_by_side((70, 40), True, ",")
    for line in (20, 21):
        rows[line][3] = ""
    with pytest.raises(InputError, match="missing or no finite number"):
        read_curves("\n".join(",".join(row) for row in rows).encode(), "pair.csv")


def test_clock_times_are_seconds():
    rows = [
        f'"{n // 600:02d}:{n // 10 % 60:02d}:{n % 10 * 6:04.1f}",{n},{n / 50:.2f}' for n in range(590, 610)
    ]
    (found,) = read_curves(("Zeit,Kraft (N),Weg (mm)\n" + "\n".join(rows)).encode(), "a.csv")
    assert found.channels["time_s"][0] == 59 * 60
    assert np.all(np.diff(found.channels["time_s"]) == pytest.approx(6.0))
    comma = [f"00:00:0{n // 10},{n % 10};{n},5;0,{n}" for n in range(10, 60)]
    (found,) = read_curves(("Time;Force (N);Travel (mm)\n" + "\n".join(comma)).encode(), "b.csv")
    assert found.channels["time_s"][:2] == pytest.approx([1.0, 1.1])


@pytest.mark.parametrize("cell", ['"1,001.70"', "1'001.70", '"1.001,70"'])
def test_a_thousands_separator_is_called_so(cell):
    rows = [f'"{n}.0","{100 + n}.50"' for n in range(20)] + [f'"20.0",{cell}']
    with pytest.raises(InputError, match="thousands separator"):
        read_curves(("Time (s),Force (N)\n" + "\n".join(rows)).encode(), "a.csv")


@pytest.mark.parametrize(("text", "step"), [("10,02", 0.01), ("12", 1.0), ("1.5e-3", 1e-4), ("0e400", 0.0)])
def test_the_last_digit_of_a_number(text, step):
    assert last_digit(text) == pytest.approx(step)
