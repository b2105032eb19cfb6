"""Results are tied to their instruments when they are read: by option, by the file's name, by the file itself."""

import pytest

from voidless.measure.quality.powers import power_of
from voidless.records.store import Store

CURVE = "{head}Time [s],Force [N],Travel [mm]\n" + "".join(
    f"{0.1 * k:.1f},{min(12.0 * k, 600.0):.1f},{0.01 * k:.2f}\n" for k in range(60)
)
TABLE = (
    "run,build,specimen,response,value,unit,instrument,date\n"
    "R01,B01,a,strength_z_mpa,30.0,MPa,CELL,2031-03-05\n"
    "R01,B01,a,mass_g,9.5,g,BALANCE,2031-03-05\n"
    "R01,B01,b,void_pct,1.0,%,OTHER,2031-03-05\n"
)


@pytest.fixture
def bench(voidless, planned, tmp_path):
    """A register with a force cell and a balance, and a function that writes, reads and returns the entry."""
    voidless.json("log", planned, "instrument", "instrument=CELL", "kind=force cell")
    voidless.json("log", planned, "instrument", "instrument=BALANCE", "kind=balance")

    def read(name, text, *more):
        (tmp_path / name).write_text(text, encoding="utf-8")
        return voidless.json("read", planned, tmp_path / name, "--section", "z=30", *more)["files"][0]

    return read


def _fail(voidless, planned, label, gain=1.02):
    for day, facts in ((1, ["passed=yes"]), (9, ["passed=no", f"gain={gain}"])):
        voidless.json("log", planned, "check", f"instrument={label}", f"at=2031-03-0{day}", *facts)


def _standing(folder):
    with Store.open(folder) as store:
        return {
            (row.specimen, row.key.quantity): (row.value, row.extra.get("standing"))
            for row in store.observations()
        }


def test_an_option_ties_files_of_a_name(voidless, planned, bench):
    said = bench("z_1.csv", CURVE.format(head=""), "--instrument", "CELL@z_*", "--at", "2031-03-05")
    assert "rests on CELL" in said["warnings"]
    _fail(voidless, planned, "CELL")
    assert _standing(planned)["z_1", "strength_z_mpa"] == (pytest.approx(20 / 1.02), "corrected")


@pytest.mark.parametrize(
    ("name", "head"),
    [("z_1_cell.csv", ""), ("z_1.csv", "Load cell: CELL\n"), ("z_1.csv", "Instrument: CELL\n")],
)
def test_the_name_or_the_head_of_a_file_ties_it(bench, planned, name, head):
    assert "rests on CELL" in bench(name, CURVE.format(head=head))["warnings"]
    with Store.open(planned) as store:
        assert [(use.instrument, use.quantity, use.power) for use in store.uses()] == [
            ("CELL", "strength_z_mpa", 1.0)
        ]


@pytest.mark.parametrize("name", ["z_1_cellar.csv", "z_1_supercell.csv"])
def test_nothing_is_tied_by_a_part_of_a_word(bench, name):
    assert not any("rests on" in note for note in bench(name, CURVE.format(head=""))["warnings"])


def test_rows_of_a_table_name_their_own(voidless, planned, bench):
    said = bench("t.csv", TABLE)
    assert any("'OTHER', which is not logged" in note for note in said["warnings"])
    _fail(voidless, planned, "CELL")
    _fail(voidless, planned, "BALANCE")
    found = _standing(planned)
    assert found["a", "strength_z_mpa"] == (pytest.approx(30 / 1.02), "corrected")
    assert found["a", "mass_g"] == (pytest.approx(9.5 / 1.02), "corrected")
    assert found["b", "void_pct"][1] is None


def test_a_check_that_failed_before_counts_at_once(voidless, planned, bench):
    _fail(voidless, planned, "CELL")
    bench("z_1.csv", CURVE.format(head=""), "--instrument", "CELL", "--at", "2031-03-05")
    assert _standing(planned)["z_1", "strength_z_mpa"] == (pytest.approx(20 / 1.02), "corrected")


def test_an_unknown_instrument_is_refused_and_nothing_is_stored(voidless, planned, tmp_path):
    (tmp_path / "z_1.csv").write_text(CURVE.format(head=""), encoding="utf-8")
    fault = voidless.json(
        "read", planned, tmp_path / "z_1.csv", "--section", "z=30", "--instrument", "CELL", status=2
    )["error"]
    assert "log DIR instrument" in fault["remedy"]
    assert _standing(planned) == {}


def test_how_results_go_with_readings():
    """By dimension: a stress with the force, a density by weighing in air and water with neither."""
    assert power_of("load cell", "modulus_gpa") == 1.0
    assert power_of("Balance 0.1 mg", "density_g_cm3") == 0.0
    assert power_of("balance", "strength_z_mpa") is None
    assert power_of("callipers", "size_error_mm") is None
    assert power_of("force and pressure", "leak_rate_pa_m3_s") is None
