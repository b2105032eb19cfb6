"""What a file is taken for, and that broken files end in one clear error."""

import io
import struct
import zipfile
import zlib

import openpyxl
import pytest

from voidless.errors import InputError
from voidless.measure.curves.read import read_curves
from voidless.measure.files import archive, limits, sheets
from voidless.measure.files.archive import unpack
from voidless.measure.files.labels import labels
from voidless.measure.files.photo import photo_size
from voidless.measure.files.recognise import recognise
from voidless.measure.files.text import decode
from voidless.measure.results import Kind, RawFile, Status
from voidless.measure.take import take_files

TABLE = b"run,build,specimen,response,value,unit\nR01,B01,,clarity,0.5,\n"
CURVE = b"Time [s],Force [N]\n" + b"".join(b"%d,%d\n" % (count, 10 * count) for count in range(1, 20))
SUMMARY = b"=== Test ===\nAxis: z\nCross-section: 30 mm2\n Trial 1: 300.0 N\n"
PNG = b"\x89PNG\r\n\x1a\n" + struct.pack(">I4sII", 13, b"IHDR", 640, 480)
JPEG = b"\xff\xd8\xff\xe0\x00\x04JF\xff\xc0\x00\x11\x08\x01\xe0\x02\x80\x03"


def _zip(**members):
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as made:
        for name, data in members.items():
            made.writestr(name.replace("__", "."), data)
    return held.getvalue()


def _book():
    book = openpyxl.Workbook()
    for row in [
        ["run", "build", "specimen", "response", "value", "unit"],
        ["R01", "B01", None, "clarity", 0.5],
    ]:
        book.active.append(row)
    held = io.BytesIO()
    book.save(held)
    return held.getvalue()


@pytest.mark.parametrize(
    ("name", "data", "kind"),
    [
        ("a.csv", TABLE, Kind.RESULT_TABLE),
        ("a.gcode", TABLE, Kind.RESULT_TABLE),
        ("wide.csv", b"run,build,clarity\nR01,B01,0.5\n", Kind.RESULT_TABLE),
        ("a.csv", CURVE, Kind.MACHINE_CURVE),
        ("a.txt", SUMMARY, Kind.STRENGTH_SUMMARY),
        ("a.csv", b"run,build,specimen,mass_air_g,mass_water_g,water_c\nR1,B1,a,5,1,23\n", Kind.WEIGHINGS),
        ("a.csv", b"run,build,specimen,mass_g\nR1,B1,a,5\n", Kind.WEIGHINGS),
        ("a.xlsx", _book(), Kind.SPREADSHEET),
        ("a.zip", _zip(a__csv=CURVE), Kind.ARCHIVE),
        ("a.png", PNG, Kind.PHOTO),
        ("a.csv", JPEG, Kind.PHOTO),
        ("a.tif", b"II*\x00" + bytes(20), Kind.PHOTO),
        ("part.txt", b"; made\nG28\nG1 X1 Y1 E1\nG1 X2 E2\nG1 X3 E3\nM104 S200\n", Kind.GCODE),
        ("part.gcode", b"G28\n", Kind.GCODE),
        ("a.txt", b"only words here\nand here\n", Kind.UNKNOWN),
        ("a.bin", bytes(range(256)) * 4, Kind.UNKNOWN),
        ("a.xls", b"\xd0\xcf\x11\xe0" + bytes(100), Kind.UNKNOWN),
    ],
)  # fmt: skip
def test_content_comes_before_the_name(name, data, kind):
    assert recognise(name, data).kind is kind


def test_take_files_names_what_a_spreadsheet_and_an_archive_hold():
    book, packed, photo = take_files(
        [RawFile("a.xlsx", _book()), RawFile("b.zip", _zip(t__csv=TABLE)), RawFile("c.png", PNG)]
    )
    assert (book.taken_for, book.status, book.observations[0].value) == (Kind.RESULT_TABLE, "ok", 0.5)
    assert (packed.taken_for, packed.file, packed.observations[0].value) == (Kind.RESULT_TABLE, "b.zip", 0.5)
    assert photo.extra == {"width_px": "640", "height_px": "480"}
    assert photo.status is Status.OK


def test_photo_sizes():
    assert photo_size(PNG) == (640, 480)
    assert photo_size(JPEG) == (640, 480)
    assert photo_size(JPEG[:12]) is None
    assert photo_size(b"II*\x00") is None


def _deep(levels):
    data = TABLE
    for level in range(levels):
        data = _zip(**{f"level{level}__zip" if level else "t__csv": data})
    return data


HOSTILE = {
    "empty": (b"", "the file is empty"),
    "nul": (b"run,build\x00", "not a measurement.*binary"),
    "utf16 without mark": ("run,build,response,value".encode("utf-16-le"), "binary"),
    "random": (bytes((index * 7919) % 251 for index in range(4000)), "binary"),
    "cut zip": (_zip(a__csv=CURVE * 50)[:-30], "truncated or damaged"),
    "cut in a member": (_zip(a__csv=bytes(range(256)) * 50)[:200], "truncated or damaged"),
    "cut xlsx": (_book()[:-100], "truncated or damaged"),
    "empty zip": (_zip(), "holds no file"),
    "zip bomb": (_zip(a__csv=b"0" * 30_000_000), "unpacks to far more"),
    "zips in zips": (_deep(4), "at most two deep"),
    "long line": (b"run,build,response,value\n" + b"1" * 2_000_000, "over 1000000 characters"),
    "old office file": (b"\xd0\xcf\x11\xe0" + bytes(100), "save it as xlsx or CSV"),
    "an unpaired quote": (TABLE + b'R01,B01,"a,clarity,0.5,\n' * 3, "malformed|cut off|plain number|cells"),
    "words": (b"nothing to see\n", "neither a result table nor rows of numbers"),
    "numbers alone": (b"1,2\n" * 20, "without column names"),
    "no force": (CURVE.replace(b"Force [N]", b"Humidity"), "none of which is a force"),
}  # fmt: skip


@pytest.mark.parametrize("case", HOSTILE)
def test_a_broken_file_is_refused_and_its_neighbour_is_not(case):
    data, words = HOSTILE[case]
    broken, sound = take_files([RawFile("broken", data), RawFile("sound.csv", TABLE)])
    assert broken.status is Status.REFUSED
    assert broken.observations == ()
    assert isinstance(broken.error, InputError)
    with pytest.raises(InputError, match=words):
        raise broken.error
    assert sound.status is Status.OK


def test_a_member_that_lies_about_its_size_is_caught():
    """A header that claims ten bytes does not help a member that unpacks to millions."""
    data = bytearray(_zip(a__csv=b"0" * 5_000_000))
    central = data.rindex(b"PK\x01\x02")
    data[central + 24 : central + 28] = struct.pack("<I", 10)
    with pytest.raises(InputError, match=r"truncated or damaged|unpacks"):
        unpack("a.zip", bytes(data))


def test_limits(monkeypatch):
    monkeypatch.setattr(limits, "MAX_FILE_BYTES", 10)
    with pytest.raises(InputError, match="at most 0 MB"):
        decode("big.csv", TABLE)
    monkeypatch.undo()
    monkeypatch.setattr(archive, "MAX_MEMBERS", 1)
    with pytest.raises(InputError, match="over 1 members"):
        unpack("a.zip", _zip(a__csv=CURVE, b__csv=CURVE))
    monkeypatch.undo()
    monkeypatch.setattr(sheets, "MAX_SHEET_ROWS", 1)
    with pytest.raises(InputError, match="over 1 rows"):
        sheets.read_sheets("a.xlsx", _book())


def test_encrypted_members_are_refused():
    data = bytearray(_zip(a__csv=CURVE))
    for mark, shift in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        data[data.index(mark) + shift] |= 1
    with pytest.raises(InputError, match="encrypted"):
        unpack("a.zip", bytes(data))


def test_a_checksum_that_fails_is_an_error():
    data = bytearray(_zip(a__csv=b"unpackable"))
    place = data.index(b"a.csv") + 5
    data[place : place + 12] = zlib.compress(b"other text", 9)[2:14]
    with pytest.raises(InputError, match="damaged"):
        unpack("a.zip", bytes(data))


def test_a_zipped_curve_reads_as_the_curve():
    plain, packed = read_curves(CURVE, "z.csv")[0], read_curves(_zip(z__csv=CURVE), "z.csv.zip")[0]
    assert (plain.channels["force_n"] == packed.channels["force_n"]).all()
    assert plain.name == packed.name == "z"


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("R03_B05_bar_z_2.csv", ("R03", "B05", "z", 2, "bar_z_2")),
        ("r3-b5 xy.csv", ("R3", "B5", "xy", None, "xy")),
        ("R03/B05/z-trial-4.csv.zip", ("R03", "B05", "z", 4, "z_trial_4")),
        ("folder\\across_1.txt", ("", "", "across", 1, "across_1")),
        ("ZX 3.csv", ("", "", "z", 3, "ZX_3")),
        ("xyz.csv", ("", "", "", None, "xyz")),
        ("xy_or_z.csv", ("", "", "", None, "xy_or_z")),
        ("BR03.csv", ("", "", "", None, "BR03")),
    ],
)
def test_labels_in_names(name, found):
    said = labels(name)
    assert (said.run, said.build, said.direction, said.trial, said.specimen) == found


@pytest.mark.parametrize(
    ("head", "words"),
    [
        ("operator,part,reading", "precision (columns group, reading), without group"),
        ("time_s,vacuum_kpa,temperature_c", "pressure (columns time [s], pressure [Pa]), without pressure"),
        ("Datum;Bauteil;Masse g", ""),
    ],
)
def test_a_table_that_lacks_a_column_is_told_what_it_is_nearest_to(head, words):
    mark = ";" if ";" in head else ","
    text = head + "\n" + "\n".join(mark.join(["a", "1", "x"]) for _ in range(3))
    found = recognise("table.csv", text.encode())
    assert found.kind is Kind.UNKNOWN
    assert found.why.partition("; nearest to a table of ")[2] == words
