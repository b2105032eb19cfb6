"""Result tables: every dialect gives the same values, and any fault refuses the whole file by line."""

import io

import openpyxl
import pytest

from voidless.campaign.types import Bound, BreakMode, BreakPlace, BuildOutcome
from voidless.errors import InputError
from voidless.measure.tables.read import read_result_table
from voidless.quantities import QUANTITIES, Role, names

HEAD = "run,build,specimen,response,value,unit"
ROWS = ["R01,B01,a,strength_z_mpa,32.5,MPa", "R01,B01,,clarity,0.71,", "R02,B02,b,size_error_mm,-0.08,mm"]
PLAIN = "\n".join([HEAD, *ROWS]) + "\n"


def _values(table):
    return [
        (item.run, item.build, item.specimen, item.key.quantity, item.value) for item in table.observations
    ]


EXPECTED = [
    ("R01", "B01", "a", "strength_z_mpa", 32.5),
    ("R01", "B01", "", "clarity", 0.71),
    ("R02", "B02", "b", "size_error_mm", -0.08),
]


def _workbook(rows):
    book = openpyxl.Workbook()
    book.active.append(["a title of the person's own"])
    sheet = book.create_sheet("results")
    for row in rows:
        sheet.append(row)
    held = io.BytesIO()
    book.save(held)
    return held.getvalue()


def _table(row="R01,B01,a,strength_z_mpa,32.5,MPa", head=HEAD):
    return f"{head}\n{row}\n".encode()


@pytest.mark.parametrize(
    "data",
    [
        PLAIN.encode(),
        PLAIN.replace("\n", "\r\n").encode(),
        PLAIN.replace("\n", "\r").encode(),
        PLAIN.encode("utf-8-sig"),
        PLAIN.encode("utf-16"),
        PLAIN.replace(",", ";").encode(),
        PLAIN.replace(",", "\t").encode(),
        PLAIN.replace(",", ";").replace(".", ",").encode(),
        PLAIN.replace("32.5", '"32,5"').replace("0.71", '"0,71"').replace("-0.08", '"-0,08"').encode(),
        PLAIN.replace(",", '","').replace("\n", '"\n"').rstrip('"').join(['"', ""]).encode(),
        PLAIN.replace("run,build", " Run , BUILD").encode(),
        PLAIN.replace("\n", "\n\n").replace("R02", "# a remark of the bench\nR02").encode(),
        PLAIN.replace("run,", "measured by hand in May\nrun,").encode(),
        _workbook([line.split(",") for line in PLAIN.split("\n")]),
        _workbook([HEAD.split(","), ["R01", "B01", "a", "strength_z_mpa", 32.5, "MPa"],
                   ["R01", "B01", None, "clarity", 0.71], ["R02", "B02", "b", "size_error_mm", -0.08, "mm"]]),
    ],
    ids=["lf", "crlf", "cr", "bom", "utf16", "semicolon", "tab", "decimal-comma", "quoted-comma", "quoted",
         "header-case", "blank-and-remark", "title-line", "xlsx-text", "xlsx-numbers"],
)  # fmt: skip
def test_dialects_give_the_same_values(data):
    """Delimiter, decimal mark, encoding, quotes and workbook make no difference."""
    assert _values(read_result_table("results", data)) == EXPECTED


def test_latin1_is_read_with_a_warning():
    table = read_result_table(
        "t.csv", _table(f"{ROWS[0]},geprüft", HEAD + ",note").decode().encode("latin-1")
    )
    assert table.observations[0].extra == {"note": "geprüft"}
    assert any("Windows-1252" in word for word in table.warnings)


@pytest.mark.parametrize("name", names(Role.RESPONSE))
def test_every_response_is_read_in_its_own_unit(name):
    """The unit of the quantities' table is accepted for every response; another dimension never is."""
    unit, low = QUANTITIES[name].unit, max(QUANTITIES[name].low, 0.0)
    assert read_result_table("t", _table(f"R01,B01,,{name},{low},{unit}")).observations[0].value == low
    with pytest.raises(InputError, match=f"expected {unit}"):
        read_result_table("t", _table(f"R01,B01,,{name},{low},lbf"))


def test_exact_synonyms_of_units():
    for unit in ("N/mm2", "N/mm²", "[MPa]"):
        assert (
            read_result_table("t", _table(f"R01,B01,,strength_z_mpa,3,{unit}")).observations[0].value == 3.0
        )


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (
            "R01,B01,a,strength_z_mpa,32.5,",
            "no unit for strength_z_mpa .expected MPa; .*--unit strength_z_mpa=MPa",
        ),
        ("R01,B01,a,strength_z_mpa,32.5,kPa", "unit 'kPa' for strength_z_mpa .expected MPa"),
        ("R01,B01,a,strength_z_mpa,32.5,MPas", "unit 'MPas' is not known"),
        ("R01,B01,a,clarity,1.2,", r"clarity = 1.2 \(expected 0 to 1"),
        ("R01,B01,a,clarity,71,%", "unit '%' for clarity; expected 1"),
        ("R01,B01,a,clarity,nan,", "value 'nan' is not a plain number"),
        ("R01,B01,a,clarity,inf,", "value 'inf' is not a plain number"),
        ("R01,B01,a,clarity,1e999,", "value '1e999' is not a plain number"),
        (
            "R01,B01,a,clarity,,",
            r"no value for clarity \(expected a number; [Ll]eave out the row of a specimen",
        ),
        ("R01,B01,a,clarity,0.5 ok,", "is not a plain number"),
        ("R01,B01,a,clarrity,0.5,", "response 'clarrity' is not known .*Did you mean clarity"),
        ("R01,B01,a,,0.5,", "no response"),
        (",B01,a,clarity,0.5,", "no run"),
        ("R01,,a,clarity,0.5,", "no build"),
        ("R01,B01,a,clarity,0.5", "5 cells"),
        ("R01,B01,a,clarity,0.5,,7", "7 cells"),
    ],
)
def test_a_bad_row_refuses_the_file_and_names_its_line(row, words):
    data = f"{HEAD}\n{ROWS[0]}\n{row}\n".encode()
    with pytest.raises(InputError, match=words) as caught:
        read_result_table("t.csv", data)
    assert caught.value.where == "t.csv:3"


def test_all_faults_are_listed_up_to_twenty():
    rows = "\n".join(f"R01,B01,a,clarity,{2 + index}," for index in range(25))
    with pytest.raises(InputError) as caught:
        read_result_table("t.csv", f"{HEAD}\n{rows}\n".encode())
    text = str(caught.value)
    assert "25 faults" in text
    assert "line 2:" in text
    assert "line 21:" in text
    assert "line 22:" not in text
    assert "and 5 more" in text


def test_line_numbers_count_quoted_line_ends_and_blank_lines():
    data = f'{HEAD},note\n{ROWS[0]},"two\nlines"\n\nR01,B01,a,clarity,9,,\n'.encode()
    with pytest.raises(InputError) as caught:
        read_result_table("t.csv", data)
    assert caught.value.where == "t.csv:5"


@pytest.mark.parametrize(
    ("head", "words"),
    [
        ("run,build,specimen,response,value,unt", "'unt' is not known.*Did you mean unit"),
        ("run,build,specimen,response,value,unit,uncertanty", "Did you mean uncertainty"),
        ("run,build,specimen,response,value,unit,flow", "Did you mean flow_pct"),
        ("run,build,specimen,response,value,unit,unit", "'unit' stands twice"),
        ("run,specimen,response,value,unit", "no column build"),
        (
            "run,build,clarity,strength_z_mpa",
            "one column per response .clarity, strength_z_mpa.*one row a value",
        ),
        ("a,b,c", "no line holds the column names"),
    ],
)
def test_columns_that_cannot_be_right(head, words):
    cells = ",".join("1" for _ in head.split(","))
    with pytest.raises(InputError, match=words):
        read_result_table("t.csv", f"{head}\n{cells}\n".encode())


def test_unknown_columns_are_kept_and_said():
    table = read_result_table("t.csv", _table(ROWS[0] + ",blue", HEAD + ",mood"))
    assert table.observations[0].extra == {"mood": "blue"}
    assert any("'mood' is not known" in word for word in table.warnings)


def test_a_column_without_specimen_is_said():
    table = read_result_table("t.csv", b"run,build,response,value\nR01,B01,clarity,0.5\n")
    assert table.observations[0].specimen == ""
    assert any("no column specimen" in word for word in table.warnings)


def test_a_unit_can_be_answered():
    data = _table("R01,B01,a,strength_z_mpa,32.5,")
    assert read_result_table("t", data, {"strength_z_mpa": "MPa"}).observations[0].value == 32.5
    assert read_result_table("t", data, {"Unit": "MPa"}).observations[0].value == 32.5
    with pytest.raises(InputError, match="expected MPa"):
        read_result_table("t", data, {"strength_z_mpa": "N"})


def test_optional_columns_are_carried():
    head = (
        HEAD + ",method,uncertainty,feature,bound,break_place,break_mode,order,session,thickness_mm,operator"
    )
    row = "R01,B01,a,strength_z_mpa,32.5,MPa,maximum,0.4,,,gauge,between_layers,7,May 2,4,Ada"
    found = read_result_table("t", _table(row, head)).observations[0]
    assert (found.key.method, found.uncertainty, found.bound) == ("maximum", 0.4, Bound.EXACT)
    assert (found.break_place, found.break_mode) == (BreakPlace.GAUGE, BreakMode.BETWEEN_LAYERS)
    assert (found.order, found.session, found.assumed) == (7, "May 2", False)
    assert found.key.conditions == (("thickness_mm", "4"),)
    assert found.extra == {"operator": "Ada"}


@pytest.mark.parametrize("place", ["radius", "grip"])
def test_a_break_outside_the_gauge_is_a_lower_bound(place):
    table = read_result_table("t", _table(f"{ROWS[0]},{place}", HEAD + ",break_place"))
    assert table.observations[0].bound is Bound.LOWER
    assert place in table.observations[0].extra["bound_assumed"]
    assert any("lower bounds: line 2" in word for word in table.warnings)
    modulus = read_result_table("t", _table(f"R01,B01,a,modulus_gpa,2.1,GPa,{place}", HEAD + ",break_place"))
    assert modulus.observations[0].bound is Bound.EXACT


def test_a_stated_lower_bound_is_not_called_assumed():
    table = read_result_table("t", _table(f"{ROWS[0]},radius,lower", HEAD + ",break_place,bound"))
    assert table.observations[0].bound is Bound.LOWER
    assert table.observations[0].extra == {}


@pytest.mark.parametrize(
    ("column", "cell", "words"),
    [
        ("bound", "atleast", "expected one of exact, lower, upper"),
        ("break_place", "middle", "expected one of gauge, radius, grip"),
        ("break_mode", "odd", "expected one of between_layers"),
        ("build_outcome", "bad", "expected one of ok, cold"),
        ("uncertainty", "0", "above 0"),
        ("uncertainty", "-1", "above 0"),
        ("order", "1.5", "a whole number from 1"),
        ("order", "0", "a whole number from 1"),
        ("exposure_h", "-1", "expected 0 to"),
        ("humidity_pct", "140", "expected 0 to 100"),
        ("flow_pct", "1000", "expected 20 to 300"),
        ("contours", "1.5", "not a whole number"),
    ],
)
def test_cells_outside_their_vocabulary(column, cell, words):
    with pytest.raises(InputError, match=words):
        read_result_table("t", _table(f"{ROWS[0]},{cell}", f"{HEAD},{column}"))


def test_builds_carry_their_facts():
    head = HEAD + ",exposure_h,humidity_pct,build_outcome,session"
    rows = ["R01,B01,a,clarity,0.5,,3.5,41,ok,2", "R01,B01,b,clarity,0.6,,,,,2", "R02,B02,,,,,1,,clogged,2"]
    table = read_result_table("t", (head + "\n" + "\n".join(rows) + "\n").encode())
    first, second = table.builds
    assert (first.build, first.exposure_h, first.humidity_pct, first.outcome) == (
        "B01",
        3.5,
        41.0,
        BuildOutcome.OK,
    )
    assert first.session == "2"
    assert (second.run, second.outcome) == ("R02", BuildOutcome.CLOGGED)
    assert len(table.observations) == 2


def test_a_fact_of_a_build_may_stand_as_a_row():
    table = read_result_table("t", _table("R01,B01,,exposure_h,6,h"))
    assert table.observations == ()
    assert table.builds[0].exposure_h == 6.0


def test_contradictions_name_both_lines():
    head = HEAD + ",exposure_h"
    rows = ["R01,B01,a,clarity,0.5,,3", "R01,B01,b,clarity,0.6,,4"]
    with pytest.raises(InputError, match=r"build B01 has exposure_h 4.0 here and 3.0 in line 2"):
        read_result_table("t", (head + "\n" + "\n".join(rows) + "\n").encode())


def test_an_order_that_differs_within_a_build_is_the_order_of_testing():
    rows = [f"R01,B01,a,clarity,0.5,,{order}" for order in (1, 2)]
    table = read_result_table("t", (HEAD + ",order\n" + "\n".join(rows) + "\n").encode())
    assert [item.order for item in table.observations] == [1, 2]
    assert table.builds[0].order is None


def test_factor_columns_become_settings_of_runs():
    head = HEAD + ",flow_pct,nozzle_c"
    rows = [
        "R01,B01,a,clarity,0.5,,102,",
        "R01,B02,a,clarity,0.6,,102,240",
        "R02,B03,,build_min,31,min,98,230",
    ]
    table = read_result_table("t", (head + "\n" + "\n".join(rows) + "\n").encode())
    assert table.settings == {
        "R01": {"flow_pct": 102.0, "nozzle_c": 240.0},
        "R02": {"flow_pct": 98.0, "nozzle_c": 230.0},
    }
    with pytest.raises(InputError, match=r"run R01 has flow_pct 99.0 here and 102.0 in line 2"):
        read_result_table("t", (head + "\n" + rows[0] + "\nR01,B02,a,clarity,0.6,,99,\n").encode())


def test_mixed_decimal_marks_are_refused():
    data = f'{HEAD}\nR01,B01,a,clarity,0.5,\nR01,B01,a,clarity,"0,6",\n'.encode()
    with pytest.raises(InputError, match="expected digits with a decimal comma"):
        read_result_table("t", data)
    with pytest.raises(InputError, match="not a plain number"):
        read_result_table("t", _table('R01,B01,a,max_force_n,"1,234.5",N'))


def test_repeats_stay_repeats():
    table = read_result_table("t", f"{HEAD}\n{ROWS[0]}\n{ROWS[0]}\n".encode())
    assert len(table.observations) == 2
