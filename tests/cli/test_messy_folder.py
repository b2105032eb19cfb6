"""A folder of mixed files as benches leave them: each is taken for what it is, and told what it lacks."""

import shlex

import numpy as np
import openpyxl
import pytest
from PIL import Image

TIME = np.arange(0.0, 30.0, 0.1)
FORCE = np.minimum(60.0 * TIME, 1200.0) * (TIME < 28.0)


def _comma(value, digits=3):
    return f"{value:.{digits}f}".replace(".", ",")


def _two_specimens():
    """Semicolons, decimal commas, captions behind a word, a row of units, two specimens side by side."""
    rows = ["Probe;Z-1;;;Z-2;;", "Zeit;Kraft;Weg;Zeit;Kraft;Weg", "s;N;mm;s;N;mm"]
    for t, f in zip(TIME, FORCE, strict=True):
        first = f"{_comma(t, 1)};{_comma(f, 1)};{_comma(0.05 * t)}"
        rows.append(f"{first};{_comma(t, 1)};{_comma(0.95 * f, 1)};{_comma(0.05 * t)}")
    return "\r\n".join(rows).encode("latin-1")


def _book(path):
    book = openpyxl.Workbook()
    sheet = book.active
    for row in (
        ["Notes: printed on tuesday"],
        [],
        ["Run", "Build", "Specimen", "Response", "Value", "Unit"],
        ["R01", "B01", "plaque 1", "clarity", 0.61, None],
    ):
        sheet.append(row)
    book.save(path)


@pytest.fixture
def mess(tmp_path):
    """Fifteen files and what systems leave beside them."""
    folder = tmp_path / "mess"
    (folder / "photos").mkdir(parents=True)
    texts = {
        "xy 3.txt": "Time Force Travel\n"
        + "\n".join(f"{t:.1f} {f:.1f} {0.05 * t:.3f}" for t, f in zip(TIME, FORCE, strict=True)),
        "archimedes.csv": "run;build;specimen;mass_air_g;mass_water_g;water_c\nR01;B01;block;12,3456;2,6012;22,4\n",
        "callipers.csv": "feature;nominal (mm);measured (mm)\nx;20,00;20,05\nhole;5,00;4,81\n",
        "charpy.csv": "specimen,energy_j,width_mm,thickness_mm\na,0.52,10.0,4.0\nb,0.48,10.0,4.0\n",
        "leak cup3.csv": "time [min],pressure [bar],temperature [C]\n"
        + "\n".join(f"{k},{3.0 - 0.0004 * k + 0.0002 * (-1) ** k:.4f},22.5" for k in range(60)),
        "thermo.csv": "setting;commanded;reading\nnozzle_c;200;193,5\nnozzle_c;240;231,9\n",
        "rough.prf": "position_mm;height_um\n"
        + "\n".join(f"{_comma(0.002 * k)};{_comma(4 * np.sin(k / 8))}" for k in range(4000)),
        "README.txt": "Measurements of tuesday.\n",
        "B01.gcode": "\n".join(f"G1 X{k} Y0 E{0.03 * k:.3f}" for k in range(20)),
        "Thumbs.db": "x",
        "~$results.xlsx": "x",
        ".hidden": "x",
    }
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8")
    (folder / "Zugversuch.csv").write_bytes(_two_specimens())
    (folder / "certificate.pdf").write_bytes(b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n")
    _book(folder / "results.xlsx")
    for k, name in enumerate(("photos/1.jpg", "photos/2.jpg", "photos/3.jpg")):
        Image.new("RGB", (40, 30), (80 * k, 10, 20)).save(folder / name)
    return folder


ASKED = {"Zugversuch.csv", "xy 3.txt", "charpy.csv", "leak cup3.csv", "thermo.csv"}


def test_each_file_is_taken_for_what_it_is(voidless, planned, mess):
    found = voidless.json("read", planned, mess)
    status = {file["file"].rpartition("/")[2]: file["status"] for file in found["files"]}
    assert {name for name, state in status.items() if state == "question"} == ASKED
    assert {name for name, state in status.items() if state == "refused"} == {
        "README.txt", "B01.gcode", "certificate.pdf"
    }  # fmt: skip
    assert not {"Thumbs.db", "~$results.xlsx", ".hidden"} & set(status)
    assert found["unplaced"] == 2
    (rough,) = (file for file in found["files"] if file["file"].endswith("rough.prf"))
    assert rough["told"][0].startswith("roughness Ra 2.54")
    (pdf,) = (file for file in found["files"] if file["file"].endswith(".pdf"))
    assert "a PDF" in pdf["error"]["what"]


def test_what_is_asked_is_answered_by_the_options_that_are_listed(voidless, planned, mess):
    asked = voidless.json("read", planned, mess)["answer_with"]
    numbers = {"MM2": "20", "CM3": "100", "NUMBER": "1.0", "NAME": "iso179_1eu"}
    words = [word for option in asked for word in shlex.split(option)]
    for placeholder, number in numbers.items():
        words = [word.replace(placeholder, number) for word in words]
    found = voidless.json("read", planned, mess, *words)
    status = {file["file"].rpartition("/")[2]: file for file in found["files"]}
    assert {status[name]["status"] for name in ASKED} == {"stored"}
    assert found["answer_with"] == []
    bars = {row["specimen"]: row["value"] for row in status["Zugversuch.csv"]["results"]}
    assert bars == {"Zugversuch-Z-1": pytest.approx(60.0), "Zugversuch-Z-2": pytest.approx(57.0)}


def test_the_same_question_of_two_files_is_answered_apart(voidless, planned, mess):
    (mess / "leak cup4.csv").write_bytes((mess / "leak cup3.csv").read_bytes() + b"\n60,2.98,22.5\n")
    asked = voidless.json("read", planned, mess)["answer_with"]
    volumes = [shlex.split(option)[1] for option in asked if "volume_cm3" in option]
    assert volumes == ["volume_cm3@leak cup3.csv=CM3", "volume_cm3@leak cup4.csv=CM3"]


def test_what_several_files_share_is_said_once(voidless, planned, mess):
    _, out, _ = voidless("read", planned, mess)
    text = " ".join(out.split())
    assert text.count("kept, not measured") == 1
    assert "Note: 3 files, photos/1.jpg to photos/3.jpg: kept, not measured" in text
    assert text.count("answer with --section z=MM2") == 2  # one a specimen, each by its caption
    assert "To answer, with your own numbers and words: " in text


def test_equal_content_is_said(voidless, planned, mess, tmp_path):
    voidless.json("read", planned, mess / "photos")
    again = tmp_path / "copy.jpg"
    again.write_bytes((mess / "photos" / "2.jpg").read_bytes())
    found = voidless.json("read", planned, again)["files"][0]
    assert found["status"] == "already_stored"
    assert "the same content as photos/2.jpg, which is stored" in found["warnings"]


def test_what_was_measured_is_shown_as_its_uncertainty_allows(voidless, planned, tmp_path):
    rows = (
        "R01,B91,a,strength_z_mpa,30.1234,MPa,0.3149\nR01,B91,b,leak_rate_pa_m3_s,2.0038e-6,Pa m3/s,4.31e-8\n"
    )
    rows += "R01,B91,c,strength_z_mpa,28.5,MPa,\n"
    (tmp_path / "t.csv").write_text(
        "run,build,specimen,response,value,unit,uncertainty\n" + rows, encoding="utf-8"
    )
    _, out, _ = voidless("read", planned, tmp_path / "t.csv")
    lines = [line.split() for line in out.splitlines()]
    assert ["R01", "B91", "a", "strength_z_mpa", "30.12", "0.31", "MPa"] in lines
    assert ["R01", "B91", "b", "leak_rate_pa_m3_s", "2.004e-6", "0.043e-6", "Pa", "m3/s"] in lines
    assert ["R01", "B91", "c", "strength_z_mpa", "28.5", "MPa"] in lines
    many = "".join(f"R01,B91,s{k},strength_z_mpa,{30 + k / 7:.4f},MPa,\n" for k in range(40))
    (tmp_path / "u.csv").write_text(
        "run,build,specimen,response,value,unit,uncertainty\n" + many, encoding="utf-8"
    )
    _, out, _ = voidless("read", planned, tmp_path / "u.csv")
    assert "and 10 more" in out
