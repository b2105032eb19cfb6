"""Readers never fail but by InputError, take time in proportion to size, and read back what was written."""

import contextlib
import io
import time
import zipfile

import numpy as np
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from voidless.errors import InputError
from voidless.measure.curves.read import read_curves, scan_curves
from voidless.measure.results import Answers, RawFile, Status
from voidless.measure.tables.read import read_result_table
from voidless.measure.take import take_files
from voidless.measure.tensile.summary import read_summary
from voidless.measure.weighing.read import read_weighings

TABLE = (
    b"run,build,specimen,response,value,unit,break_place,order\n"
    b"R01,B01,a,strength_z_mpa,32.5,MPa,gauge,1\nR01,B01,,clarity,0.71,,,\n"
)
WEIGHED = b"run,build,specimen,mass_air_g,mass_water_g,water_c\nR01,B01,a,5.0,1.071,23\n"
CURVE = b'"Thickness",4,"mm"\n"Width",10,"mm"\nTime [s];Force [N];Crosshead [mm]\n' + b"".join(
    b"%.1f;%.2f;%.3f\n" % (step * 0.1, 10.5 * step, step * 0.02) for step in range(1, 40)
)
SUMMARY = (
    b"=== Test ===\nAxis: z\nCross-section area: 30 mm2\nResults:\n"
    b"  Trial 1: 300.0 N\nTensile strength: 10.0 MPa\n"
)


def _packed(name, data):
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr(name, data)
    return held.getvalue()


def _workbook():
    import openpyxl

    book = openpyxl.Workbook()
    for line in CURVE.decode().splitlines()[2:]:
        book.active.append(line.split(";"))
    held = io.BytesIO()
    book.save(held)
    return held.getvalue()


SEEDS = {
    "table": TABLE,
    "weighings": WEIGHED,
    "curve": CURVE,
    "summary": SUMMARY,
    "zip": _packed("z.csv", CURVE),
    "xlsx": _workbook(),
    "photo": b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x00\x02\x80\x00\x00\x01\xe0",
}
SAID = Answers(sections={"z": 30.0, "": 20.0}, units={"Force": "N"}, facts={"reference_density_g_cm3": 1.27})
QUICK = settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def _must_settle(name, data):
    for answers in (None, SAID):
        found = take_files([RawFile(name, data)], answers)
        assert len(found) == 1
        assert (found[0].error is not None) == (found[0].status is Status.REFUSED)
        assert bool(found[0].questions) >= (found[0].status is Status.QUESTION)
        if found[0].status is not Status.OK:
            assert found[0].observations == ()
        for item in found[0].observations:
            assert np.isfinite(item.value)


@QUICK
@given(st.binary(max_size=400), st.sampled_from(["a.csv", "R01_B01_z_1.csv.zip", "", "..", "a/b\\c.xlsx"]))
@example(b"PK\x05\x06" + bytes(18), "a.zip")
@example(b"\xff\xfe\x00\xd8", "a.csv")
def test_any_bytes_settle(data, name):
    _must_settle(name, data)


@pytest.mark.parametrize("kind", SEEDS)
@QUICK
@given(data=st.data())
def test_mutated_files_settle(kind, data):
    """Bytes changed, cut out, doubled or put in anywhere."""
    content = bytearray(SEEDS[kind])
    for _ in range(data.draw(st.integers(1, 4))):
        place = data.draw(st.integers(0, max(len(content) - 1, 0)))
        span = data.draw(st.integers(0, 30))
        content[place : place + span] = data.draw(
            st.one_of(
                st.binary(max_size=10),
                st.sampled_from([b",", b";", b'"', b"\n", b"nan", b"1e308", b"-", b"=== A ===\n"]),
            )
        )
    _must_settle("R01_B01_z_1", bytes(content))


TEXTS = st.text(alphabet='0123456789.,;\t\n" -+eE:=aFTN[]()mms%²xyz', max_size=300)


@QUICK
@given(TEXTS)
def test_texts_of_numbers_settle(text):
    for head in (
        "",
        "Time [s];Force [N]\n",
        "run,build,specimen,response,value,unit\n",
        "=== A ===\nAxis: z\nTrial 1: ",
    ):
        _must_settle("z_1.csv", (head + text).encode())


@pytest.mark.parametrize(
    "read", [read_result_table, read_weighings, read_summary, lambda name, data: scan_curves(data, name)]
)
@QUICK
@given(st.binary(max_size=300))
def test_each_reader_alone_raises_nothing_else(read, data):
    with contextlib.suppress(InputError):
        read("a", data)


VALUES = st.floats(-1e6, 1e6, allow_nan=False).map(lambda value: round(value, 4))


@QUICK
@given(
    st.lists(VALUES, min_size=5, max_size=30), st.sampled_from([";", "\t", "|"]), st.booleans(), st.booleans()
)
def test_what_is_written_is_read_back(values, delimiter, comma, quoted):
    force = [abs(value) + 1.0 for value in values]
    rows = [[f"{count * 0.5:.2f}", f"{value:.4f}"] for count, value in enumerate(force)]
    if comma:
        rows = [[cell.replace(".", ",") for cell in row] for row in rows]
    if quoted:
        rows = [[f'"{cell}"' for cell in row] for row in rows]
    text = delimiter.join(["Time [s]", "Force [N]"]) + "\n" + "\n".join(delimiter.join(row) for row in rows)
    curve = read_curves(text.encode(), "a.csv")[0]
    np.testing.assert_allclose(curve.channels["force_n"], np.round(force, 4), atol=1e-9)


@QUICK
@given(
    st.lists(st.floats(0, 1).map(lambda value: round(value, 6)), min_size=1, max_size=20),
    st.sampled_from(",;\t|"),
)
def test_a_table_is_read_back(values, delimiter):
    lines = [["run", "build", "specimen", "response", "value", "unit"]]
    lines += [
        ["R01", "B01", f"s{count}", "clarity", f"{value:.6f}", "1"] for count, value in enumerate(values)
    ]
    found = read_result_table("t", "\n".join(delimiter.join(line) for line in lines).encode())
    assert [item.value for item in found.observations] == values


def _seconds(data, name="R01_B01_z_1.csv"):
    best = float("inf")
    for _ in range(3):
        start = time.process_time()
        take_files([RawFile(name, data)], SAID)
        best = min(best, time.process_time() - start)
    return best


LONG = {
    "curve": (CURVE, CURVE.split(b"\n")[-2] + b"\n"),
    "table": (TABLE, b"R01,B01,,clarity,0.71,,,\n"),
    "summary": (SUMMARY, b"note: nothing\n"),
    "words": (b"", b"only words in this line, and a comma\n"),
    "quotes": (TABLE, b'"R01,B01\n'),
    "one line": (b"Time [s];Force [N]\n", b"1;2;"),
    "equals": (b"", b"== =="),
    "colons": (b"", b"a: 1,2 : :: = \n"),
}  # fmt: skip


@pytest.mark.parametrize("kind", LONG)
def test_time_grows_in_proportion_to_size(kind):
    """Eight times the content takes less than 24 times the time: a square law would take 64 times."""
    head, line = LONG[kind]
    count = 60_000 // len(line)
    small, large = _seconds(head + line * count), _seconds(head + line * count * 8)
    assert large < 24 * max(small, 0.002), f"{small:.4f} s, {large:.4f} s"
