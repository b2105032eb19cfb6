"""Weighings: densities, void shares and masses of a table, and what refuses it."""

import numpy as np
import pytest

from voidless.campaign.types import Bound
from voidless.errors import InputError
from voidless.measure.results import Answers
from voidless.measure.weighing.budget import (
    draw_void_share,
    immersion_density,
    void_share,
    void_share_weighed,
    wire_uncertainty_g,
)
from voidless.measure.weighing.density import Density, Weighing, water_density
from voidless.measure.weighing.read import read_weighings

HEAD = "run,build,specimen,mass_air_g,mass_water_g,water_c"
ROW = "R01,B01,a,5.0000,1.0710,23.0"
STATED = ",mass_air_uncertainty_g,mass_water_uncertainty_g,water_uncertainty_c"


def _read(head=HEAD, row=ROW, answers=None):
    return read_weighings("w.csv", f"{head}\n{row}\n".encode(), answers)


def test_density_and_void_share_of_a_row():
    found = _read(
        HEAD + STATED + ",reference_density_g_cm3,reference_uncertainty_g_cm3",
        ROW + ",0.0001,0.0003,0.2,1.275,0.001",
    )
    density, voids = found.observations
    assert (density.run, density.build, density.specimen) == ("R01", "B01", "a")
    assert (density.key.quantity, density.key.method) == ("density_g_cm3", "immersion")
    assert density.value == pytest.approx(1.26913561, abs=5e-9)
    assert density.uncertainty == pytest.approx(1.1433e-4, abs=5e-9)
    assert (voids.key.quantity, voids.value) == ("void_pct", pytest.approx(0.459952, abs=5e-7))
    assert any("under 1 %" in word for word in found.warnings)


def test_a_decimal_comma_and_semicolons_make_no_difference():
    plain, comma = _read(), _read(HEAD.replace(",", ";"), ROW.replace(",", ";").replace(".", ","))
    assert comma.observations == plain.observations


def test_unstated_uncertainties_are_the_last_digits_and_said():
    found = _read()
    digits = Weighing(5.0, 1.071, 23.0, 1e-4 / 12**0.5, 1e-4 / 12**0.5, 0.1 / 12**0.5)
    assert found.observations[0].uncertainty == pytest.approx(immersion_density(digits).uncertainty_g_cm3)
    assert found.reduced[0]["uncertainty_from"] == "resolution"
    assert any("a lower limit" in word for word in found.warnings)


def test_zeros_that_a_spreadsheet_drops_do_not_coarsen_the_balance():
    rows = f"{HEAD}\nR01,B01,a,5,1.071,23\nR01,B01,b,5.0012,1.0713,23.1\n".encode()
    first, second = read_weighings("w", rows).observations
    # The two readings differ by 0.02 %, and a digit fewer would make a tenfold difference.
    assert first.uncertainty == pytest.approx(second.uncertainty, rel=1e-2)
    both = [_read(row=f"R01,B01,a,{mass},1.0713,23").observations[0].uncertainty for mass in ("5", "5.0000")]
    assert both[0] == both[1]
    computed = _read(row="R01,B01,a,5.000000000000001,1.071,23").observations[0]
    fine = Weighing(5.0, 1.071, 23.0, 1e-5 / 12**0.5, 1e-5 / 12**0.5, 1 / 12**0.5)
    assert computed.uncertainty == pytest.approx(immersion_density(fine).uncertainty_g_cm3)


def test_a_reference_may_be_answered_but_the_tables_own_comes_first():
    said = Answers(facts={"reference_density_g_cm3": 1.30, "reference_uncertainty_g_cm3": 0.002})
    assert _read(answers=said).observations[1].value == pytest.approx(100 * (1 - 1.26913561 / 1.30), abs=1e-6)
    own = _read(HEAD + ",reference_density_g_cm3,reference_uncertainty_g_cm3", ROW + ",1.275,0.001", said)
    assert own.observations[1].value == pytest.approx(0.459952, abs=5e-7)
    without = _read()
    assert [item.key.quantity for item in without.observations] == ["density_g_cm3"]
    assert any("no reference density" in word for word in without.warnings)


def test_a_mass_alone():
    found = _read("run,build,specimen,mass_g", "R01,B01,a,5.01").observations
    assert [(item.key.quantity, item.value) for item in found] == [("mass_g", 5.01)]
    assert found[0].uncertainty == pytest.approx(0.01 / 12**0.5)


@pytest.mark.parametrize(
    ("head", "row", "words"),
    [
        (HEAD, "R01,B01,a,1.0,5.0,23", "1 g in air and 5 g in water"),
        (HEAD, "R01,B01,a,-5.0,-6.0,23", "a mass in air above 0"),
        (HEAD, "R01,B01,a,5.0,1.0,60", "0 to 40 °C"),
        (HEAD, "R01,B01,a,5.0,1.0,", "no water_c"),
        (HEAD, "R01,B01,a,five,1.0,23", "'five' is not a plain number"),
        (HEAD, "R01,B01,a,,,", "no mass"),
        (HEAD, ",B01,a,5,1,23", "no run"),
        ("run,build,specimen,mass_g", "R01,B01,a,0", "mass above 0 g"),
        ("run,build,specimen,mass_air_g,water_c", "R01,B01,a,5,23", "no column mass_water_g"),
        ("mass_air_g,mass_water_g,water_c", "5,1,23", "no column build, run"),
        ("specimen,mass_air_g,mass_water_g,water_c", "a,5,1,23", "no run; expected a label"),
        ("run,build,specimen,mass_air_g,mass_water_g,watr_c", "R1,B1,a,5,1,23", "Did you mean water_c"),
        (HEAD + ",mass_air", ROW + ",1", "Did you mean mass_air_g"),
        (HEAD + STATED, ROW + ",0,0.1,0.1", "an uncertainty that is not above 0"),
        (HEAD + ",reference_density_g_cm3", ROW + ",1.275", "a reference density without its uncertainty"),
    ],
)
def test_a_bad_row_refuses_the_file(head, row, words):
    with pytest.raises(InputError, match=words):
        _read(head, row)


def test_faults_name_their_lines():
    with pytest.raises(InputError, match=r"(?s)2 fault.*line 2: .*line 4: "):
        read_weighings("w", f"{HEAD}\nR1,B1,a,x,1,23\n{ROW}\nR1,B1,a,5,y,23\n".encode())


def test_void_share_of_a_denser_part_is_negative_and_not_clipped():
    share = void_share(Density(1.30, 0.001), Density(1.275, 0.001))
    assert share.value_pct == pytest.approx(-1.960784, abs=1e-6)
    with pytest.raises(InputError, match="above 0"):
        void_share(Density(1.3, 0.001), Density(float("nan"), 0.001))


@pytest.mark.parametrize("temperature", [-0.1, 40.1, float("nan")])
def test_water_outside_its_table_is_refused(temperature):
    with pytest.raises(InputError, match="0 to 40"):
        water_density(temperature)


def test_uncertainty_agrees_with_random_readings():
    """Monte Carlo of 20 000 readings: the standard error of its deviation is 0.5 %, four of them allowed."""
    rng = np.random.default_rng(11)
    weighing = Weighing(5.0, 1.071, 23.0, 1e-4, 3e-4, 0.2)
    values = [
        immersion_density(Weighing(*readings, 0.0, 0.0, 0.0)).value_g_cm3
        for readings in rng.normal((5.0, 1.071, 23.0), (1e-4, 3e-4, 0.2), (20_000, 3))
    ]
    spread = float(np.std(values, ddof=1))
    assert spread == pytest.approx(immersion_density(weighing).uncertainty_g_cm3, rel=0.02)


PIECE = Weighing(5.0, 1.071, 23.0, 1e-4, 3e-4, 0.2)
SOLID = Weighing(4.0, 0.866, 23.0, 1e-4, 3e-4, 0.2)
KIN = HEAD + ",role,spool" + STATED


def _table(*rows, head=KIN):
    return read_weighings("w.csv", "\n".join((head, *rows)).encode())


def test_a_reference_in_the_same_bath_cancels_the_thermometer():
    near, far = (void_share_weighed(PIECE, [SOLID], one_bath=bath) for bath in (True, False))
    alone = void_share(immersion_density(PIECE), immersion_density(SOLID))
    assert near.value_pct == pytest.approx(alone.value_pct, abs=1e-12)
    assert far.uncertainty_pct == pytest.approx(alone.uncertainty_pct, rel=1e-9)
    assert near.uncertainty_pct < far.uncertainty_pct
    parts = {share.name: share.effect for share in near.shares}
    assert abs(parts["water temperature"]) < 1e-6
    assert near.detection_pct == pytest.approx(3 * near.uncertainty_pct)


@pytest.mark.parametrize("bubbles", [0.0, 2.0])
def test_the_budget_agrees_with_drawing(bubbles):
    """A warm bath, a thick wire, bubbles; 100 000 draws know a deviation to 0.22 %, four of them allowed."""
    piece = Weighing(2.0, 0.4, 35.0, 2e-4, 5e-4, 1.0, bubbles_mm3=bubbles, wire_mm=0.2)
    solid = Weighing(1.5, 0.31, 35.0, 2e-4, 5e-4, 1.0, bubbles_mm3=bubbles, wire_mm=0.2)
    found = void_share_weighed(piece, [solid])
    draws = draw_void_share(piece, solid, np.random.default_rng(3), 100_000)
    assert draws.std() == pytest.approx(found.uncertainty_pct, rel=0.01)
    assert draws.mean() == pytest.approx(found.value_pct, abs=4 * found.uncertainty_pct / 100_000**0.5 + 1e-4)


def test_half_of_the_bubbles_is_taken_off():
    whole = immersion_density(Weighing(5.0, 1.071, 23.0, 1e-4, 3e-4, 0.2, bubbles_mm3=1.0))
    half = 1.071 + 0.5e-3 * 0.99754083
    assert whole.value_g_cm3 == pytest.approx(
        immersion_density(Weighing(5.0, half, 23.0, 1e-4, 3e-4, 0.2)).value_g_cm3, abs=1e-9
    )
    assert whole.uncertainty_g_cm3 > immersion_density(PIECE).uncertainty_g_cm3


def test_a_wire_counts_by_its_meniscus():
    # pull of 0.1 mm: 0.0728 x pi x 1e-4 N = 2.332 mg; a tenth of it
    assert wire_uncertainty_g(0.1) == pytest.approx(2.332e-4, abs=5e-8)


def test_reference_pieces_are_those_of_the_spool_and_their_scatter_counts():
    ends = "reference,S1,0.0001,0.0003,0.2"
    rows = (
        "R01,B01,a,5.0000,1.0710,23.0,,S1,0.0001,0.0003,0.2",
        f",,f1,4.0000,0.8660,23.0,{ends}",
        f",,f2,4.0000,0.8700,23.0,{ends}",
        f",,f3,4.0000,0.8620,23.0,{ends}",
        ",,g1,4.0000,0.9900,23.0,reference,S2,0.0001,0.0003,0.2",
    )
    found = _table(*rows)
    numbers = found.reduced[0]
    assert [item.key.quantity for item in found.observations] == ["density_g_cm3", "void_pct"]
    solids = [immersion_density(Weighing(4.0, wet, 23.0, 1e-4, 3e-4, 0.2)) for wet in (0.866, 0.870, 0.862)]
    solid = np.mean([each.value_g_cm3 for each in solids])
    assert numbers["void_pct"] == pytest.approx(100 * (1 - 1.26913561 / solid), abs=1e-6)
    scatter = np.std([each.value_g_cm3 for each in solids], ddof=1) / 3**0.5
    assert numbers["budget_pct"]["reference pieces"] == pytest.approx(100 * scatter / solid, rel=0.01)
    assert numbers["reference"] == "weighed in the same bath"
    assert not any("one reference piece" in word for word in found.warnings)
    assert any("one reference piece" in word for word in _table(rows[0], rows[1]).warnings)


def test_another_thermal_history_is_named():
    head = HEAD + ",role,history"
    rows = ("R01,B01,a,5.0000,1.0710,23.0,,annealed", ",,f,4.0000,0.8660,23.0,reference,quenched")
    assert any("another thermal history" in word for word in _table(*rows, head=head).warnings)
    same = _table(rows[0], rows[1].replace("quenched", "annealed"), head=head)
    assert not any("thermal history" in word for word in same.warnings)


def test_a_negative_share_is_a_finding():
    head = HEAD + ",reference_density_g_cm3,reference_uncertainty_g_cm3"
    found = _read(head, ROW + ",1.2600,0.0010")
    assert found.observations[1].value < -0.7
    assert any("standard uncertainties below 0" in word for word in found.warnings)
    faint = _read(head, ROW + ",1.2700,0.0010")
    assert any("below the detection limit of 0.24 %" in word for word in faint.warnings)


def test_open_pores_make_the_closed_share_a_lower_limit():
    """A piece of 4 cm³ whose bath filled 0.04 cm³ of it: 1 % more voids than its closed share."""
    head = HEAD + ",mass_after_g,reference_density_g_cm3,reference_uncertainty_g_cm3"
    found = _read(head, ROW + ",5.0400,1.275,0.001")
    closed, whole = found.observations[1:]
    assert (closed.key.method, closed.bound) == ("immersion", Bound.LOWER)
    assert (whole.key.method, whole.bound) == ("immersion_saturated", Bound.EXACT)
    assert whole.value - closed.value == pytest.approx(100 * 0.04 / 3.969 * 0.9954, abs=5e-3)
    assert any("open pores" in word for word in found.warnings)
    dry = _read(head, ROW + ",5.0001,1.275,0.001")
    assert dry.observations[1].bound is Bound.EXACT
    assert len(dry.observations) == 2
