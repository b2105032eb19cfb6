"""Bending records and Izod tables become responses; an apparent modulus becomes none."""

import numpy as np
import pytest

from voidless.measure.results import Answers, Kind, RawFile
from voidless.measure.take import take_files

SIZES = {"span_mm": 64.0, "width_mm": 10.0, "thickness_mm": 4.0}
S = np.linspace(0.0, 3.0, 600)
"""Deflection at 50 N/mm: 150 N gives 3 F L / (2 b h²) = 90 MPa; modulus L³ k / (4 b h³) = 5.12 GPa."""


def taken(name, text, **facts):
    (found,) = take_files([RawFile(name, text.encode())], Answers(facts=SIZES | facts))
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


def test_a_known_give_of_the_machine_frees_a_modulus_by_travel():
    """50 N/mm on a machine that gives 0.004 mm a newton: 1/(1/50 + 0.004) = 41.67 N/mm is what the crosshead sees."""
    rows = "\n".join(f"{i * 0.1:.1f},{s * 1.2:.6f},{50 * s:.4f}" for i, s in enumerate(S))
    text = f"time [s],travel [mm],force [N]\n{rows}\n"
    seen = taken("R02_B03_bend_xy_1.csv", text)
    assert seen.reduced[0]["regression_gpa"] == pytest.approx(5.12 / 1.2, rel=1e-3)
    freed = taken("R02_B03_bend_xy_1.csv", text, compliance_mm_n=0.004, compliance_uncertainty_mm_n=0.0004)
    (modulus,) = (o for o in freed.observations if o.key.quantity == "flexural_modulus_gpa")
    assert modulus.value == pytest.approx(5.12, rel=1e-3)
    assert modulus.uncertainty == pytest.approx(0.0004 * 50 * 5.12, rel=0.02)  # dE/E = k dC
    unsaid = taken("R02_B03_bend_xy_1.csv", text, compliance_mm_n=0.004)
    assert [o.key.quantity for o in unsaid.observations] == ["flexural_strength_mpa"]


def test_noise_that_lifts_the_largest_force_of_a_plateau_is_in_its_uncertainty():
    """102 MPa and a cell that hums: the largest of 600 readings is too high, in every one of 40 records."""
    rng = np.random.default_rng(178)
    s = np.linspace(0.0, 8.0, 1000)
    held = []
    for _ in range(40):
        force = np.minimum(50.0 * s, 170.0) + rng.normal(0.0, 0.3, s.size)
        rows = "\n".join(
            f"{i * 0.1:.1f},{a:.4f},{b:.3f}" for i, (a, b) in enumerate(zip(s, force, strict=True))
        )
        (found,) = taken(
            "R02_B03_bend_xy_1.csv", f"time [s],extension [mm],force [N]\n{rows}\n"
        ).observations[:1]
        assert found.value > 102.0
        held.append(abs(found.value - 102.0) <= 1.96 * found.uncertainty)
    assert np.mean(held) >= 0.9


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


def test_sides_named_as_astm_d256_names_them_are_refused_with_the_line():
    """A bar of 3.2 mm, 10.16 mm left under its notch: D256 calls 3.2 mm its width; else it reads a third."""
    head = "run,build,specimen,method,energy_j,width_mm,thickness_mm\n"
    text = f"{head}R01,B01,1,astm_d256,0.5,10.16,3.2\nR01,B01,2,astm_d256,0.5,3.2,10.16\n"
    (found,) = take_files([RawFile("blows.csv", text.encode())])
    assert found.error.where.endswith(":3")
    assert "Swap" in found.error.remedy
    assert not found.observations
    square = taken("blows.csv", f"{head}R01,B01,1,astm_d256,0.5,10.1,10.2\n")
    assert square.observations[0].value == pytest.approx(1e3 * 0.5 / 10.2)


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
