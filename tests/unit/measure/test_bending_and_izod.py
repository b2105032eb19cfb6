"""Bending records and Izod tables become responses; an apparent modulus becomes none."""

import numpy as np
import pytest

from voidless.measure.results import Answers, Kind, RawFile
from voidless.measure.take import take_files

SIZES = {"span_mm": 64.0, "width_mm": 10.0, "thickness_mm": 4.0}
S = np.linspace(0.0, 3.0, 600)
"""Deflection at 50 N/mm: 150 N gives 3 F L / (2 b h²) = 90 MPa; modulus L³ k / (4 b h³) = 5.12 GPa."""


def taken(name, text):
    (found,) = take_files([RawFile(name, text.encode())], Answers(facts=SIZES))
    assert found.error is None
    return found


@pytest.mark.parametrize(
    ("column", "names"),
    [
        ("extension [mm]", ["flexural_strength_mpa", "flexural_modulus_gpa"]),
        ("travel [mm]", ["flexural_strength_mpa"]),
    ],
)
def test_a_bending_record_gives_strength_and_a_modulus_only_by_a_deflectometer(column, names):
    rows = "\n".join(f"{i * 0.1:.1f},{s:.5f},{50 * s:.4f}" for i, s in enumerate(S))
    found = taken("R02_B03_bend_xy_1.csv", f"time [s],{column},force [N]\n{rows}\n")
    assert found.taken_for is Kind.FLEXURE_CURVE
    assert [(o.key.quantity, o.run, o.build, o.key.feature) for o in found.observations] == [
        (name, "R02", "B03", "xy") for name in names
    ]
    assert found.observations[0].value == pytest.approx(90.0, rel=1e-4)
    assert found.observations[0].uncertainty >= 0.0
    assert any("apparent" in word for word in found.warnings) is (len(names) == 1)
    if len(names) == 2:
        assert found.observations[1].value == pytest.approx(5.12, rel=1e-3)


def test_izod_by_area_and_by_width():
    """0.5 J under a notch of 8 x 4 mm: 15.625 kJ/m² (ISO 180), 125 J/m over 4 mm of width (ASTM D256)."""
    found = taken(
        "blows.csv",
        "run,build,specimen,method,energy_j,width_mm,thickness_mm,pendulum_j\n"
        "R01,B01,1,iso180_A,0.5,8,4,2.75\n"
        "R01,B01,2,astm_d256,0.5,10.16,4,2.75\n",
    )
    assert [(o.key.quantity, pytest.approx(o.value)) for o in found.observations] == [
        ("izod_kj_m2", 15.625),
        ("izod_j_m", 125.0),
    ]


def test_a_bar_that_did_not_break_gives_a_lower_limit():
    found = taken(
        "blows.csv",
        "run,build,specimen,method,energy_j,width_mm,thickness_mm,pendulum_j,break_type\n"
        "R01,B01,1,iso180_A,0.5,8,4,2.75,C\nR01,B01,2,iso180_A,1.5,8,4,2.75,N\n",
    )
    assert [o.bound.value for o in found.observations] == ["exact", "lower"]


@pytest.mark.parametrize(("cell", "words"), [("0", "a pendulum of 0 J"), ("1e300", "not a plain number")])
def test_a_pendulum_that_cannot_be_is_refused(cell, words):
    head = "run,build,specimen,method,energy_j,width_mm,thickness_mm,pendulum_j\n"
    (found,) = take_files([RawFile("blows.csv", f"{head}R01,B01,1,iso180_A,0.5,8,4,{cell}\n".encode())])
    assert words in found.error.what


def test_without_a_stated_uncertainty_the_last_digits_count():
    """0.5 J to a tenth, 8 x 4 mm to one: standard uncertainties of a last digit over root 12, in quadrature."""
    head = "run,build,specimen,method,energy_j,width_mm,thickness_mm,pendulum_j\n"
    found = taken("blows.csv", head + "R01,B01,1,iso180_A,0.5,8,4,2.75\n")
    share = np.hypot(0.1 / 0.5, np.hypot(1 / 8, 1 / 4)) / 12**0.5
    assert found.observations[0].uncertainty == pytest.approx(15.625 * share)
    assert any("last digit alone counts" in word for word in found.warnings)


@pytest.mark.parametrize("column", ["Deflection (mm)", "Durchbiegung [mm]"])
def test_a_deflection_of_unknown_sensor_is_travel(column):
    rows = "\n".join(f"{i * 0.1:.1f},{s:.5f},{50 * s:.4f}" for i, s in enumerate(S))
    found = taken("R02_B03_bend_xy_1.csv", f"time [s],{column},load [N]\n{rows}\n")
    assert [each.key.quantity for each in found.observations] == ["flexural_strength_mpa"]
