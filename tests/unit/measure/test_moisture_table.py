"""Weighings over time: what the table gives, what refuses it, what the air of a dryer can reach."""

import numpy as np
import pytest

from voidless.errors import InputError, QuestionError
from voidless.measure.moisture.air import heated_humidity, winding_pace
from voidless.measure.moisture.climate import climate
from voidless.measure.moisture.columns import is_moisture_table
from voidless.measure.moisture.model import columns_of_mass
from voidless.measure.moisture.read import read_moisture
from voidless.measure.weighing.columns import is_weighings

HEAD = "piece,time_h,mass_g,temperature_c,humidity_pct,diameter_mm"
D, A = 4e-12, 0.875e-3
HOURS = [0.0, *np.geomspace(0.5, 30, 9), *(30 + np.geomspace(1, 120, 12))]
HUMID = [5.0] * 10 + [60.0] * 12


def _mass(start=0.003, saturation=0.006, celsius=23.0):
    steps = climate(HOURS, [celsius] * len(HOURS), HUMID, "x")
    return columns_of_mass(steps, D, 40e3, A) @ np.array([50.0, 50.0 * start, 50.0 * saturation])


def _rows(mass, humid=HUMID, tail="", celsius=23.0):
    return "\n".join(
        f"c1,{t:.4f},{m:.4f},{celsius:g},{h if isinstance(h, str) else f'{h:g}'},1.75{tail}"
        for t, m, h in zip(HOURS, mass, humid, strict=True)
    )


def _read(rows, head=HEAD):
    return read_moisture("m.csv", f"{head}\n{rows}\n".encode())


def test_a_dried_and_wetted_coil():
    found = _read(_rows(_mass()))
    numbers = found.reduced[0]
    assert numbers["water_diffusivity_m2_s"] == pytest.approx(D, rel=0.01)
    assert numbers["water_saturation_pct"] == pytest.approx(0.6, rel=2e-3)
    assert numbers["start_pct"] == pytest.approx(0.3, rel=2e-3)
    assert numbers["dry_g"] == pytest.approx(50.0, abs=1e-3)
    assert numbers["water_diffusivity_low_m2_s"] < D < numbers["water_diffusivity_high_m2_s"]
    assert np.allclose(found.explain[0]["modelled_g"], _mass(), atol=1e-4)


def test_temperature_speeds_the_clock():
    """At 40 °C and 40 kJ/mol the same weighings mean a diffusivity 2.41 times lower at 23 °C."""
    head = HEAD + ",activation_kj_mol"
    warm = _read(_rows(_mass(), tail=",40", celsius=40.0), head).reduced[0]
    factor = np.exp(40e3 / 8.314462618 * (1 / 296.15 - 1 / 313.15))
    assert warm["water_diffusivity_m2_s"] == pytest.approx(D / factor, rel=0.01)


def test_one_humidity_tells_no_saturation_unless_the_start_is_known():
    steps = climate(HOURS, [23.0] * len(HOURS), [50.0] * len(HOURS), "x")
    mass = columns_of_mass(steps, D, 40e3, A) @ np.array([50.0, 0.0, 0.3])
    bare = _read(_rows(mass, humid=[50] * 22))
    assert bare.reduced[0]["water_saturation_pct"] is None
    assert bare.reduced[0]["water_diffusivity_m2_s"] == pytest.approx(D, rel=0.01)
    assert any("one humidity" in word for word in bare.warnings)
    known = _read(_rows(mass, humid=[50] * 22, tail=",0"), HEAD + ",start_pct")
    assert known.reduced[0]["water_saturation_pct"] == pytest.approx(0.6, rel=0.01)


def test_a_humidity_that_looks_like_a_share_is_doubted():
    steps = climate(HOURS, [23.0] * len(HOURS), [50.0] * len(HOURS), "x")
    mass = columns_of_mass(steps, D, 40e3, A) @ np.array([50.0, 0.0, 0.3])
    doubted = [
        any("no share of 1" in word for word in _read(_rows(mass, humid=[h] * 22)).warnings)
        for h in (0.5, 50)
    ]
    assert doubted == [True, False]


def test_a_check_weight_takes_the_drift_out():
    drift = 1.0 + 1e-4 * np.sin(np.array(HOURS) / 20)
    rows = "\n".join(
        f"{line},{100 * d:.4f}" for line, d in zip(_rows(_mass() * drift).split("\n"), drift, strict=True)
    )
    mended = _read(rows, HEAD + ",check_g").reduced[0]
    plain = _read(_rows(_mass() * drift)).reduced[0]
    assert abs(mended["water_diffusivity_m2_s"] / D - 1) < 0.01
    assert mended["noise_g"] < 0.1 * plain["noise_g"]


def test_a_dryer_fed_with_room_air_is_not_dry():
    """Printed: 5.6 % at 65 °C and 8.9 % at 55 °C from 23 °C, 50 % (computed from IAPWS-IF97)."""
    assert heated_humidity(23.0, 50.0, 65.0) == pytest.approx(5.6, abs=0.05)
    assert heated_humidity(23.0, 50.0, 55.0) == pytest.approx(8.9, abs=0.05)
    head = "piece,time_h,mass_g,temperature_c,room_c,room_humidity_pct,humidity_pct,diameter_mm"
    humid = [heated_humidity(23.0, 50.0, 23.0)] * 22
    rows = "\n".join(
        f"c1,{t:.4f},{m:.4f},23,23,{50 if k < 10 else ''},{'' if k < 10 else 60},1.75"
        for k, (t, m) in enumerate(zip(HOURS, _mass(0.006), strict=True))
    )
    found = _read(rows.replace(",23,23,50,,", ",65,23,50,,"), head)
    assert humid[0] == pytest.approx(50.0)
    assert found.explain[0]["humidity_pct"][0] == pytest.approx(5.6, abs=0.05)
    assert any("ends at 5.6 % humidity" in word for word in found.warnings)


def test_cardboard_is_asked_for_and_a_wound_spool_is_no_strand():
    tail = ",spool,cardboard"
    with pytest.raises(QuestionError, match="the cardboard drinks too"):
        _read(_rows(_mass(), tail=tail), HEAD + ",form,core")
    found = _read(_rows(_mass() + 180.0, tail=tail + ",180"), HEAD + ",form,core,core_g")
    assert found.reduced[0]["applies_to"] == "spool"
    assert found.reduced[0]["dry_g"] == pytest.approx(50.0, abs=1e-3)
    assert any("outer turns drink first" in word for word in found.warnings)


@pytest.mark.parametrize(
    ("rows", "head", "words"),
    [
        (_rows(_mass()).replace("c1,0.5000", "c1,-1"), HEAD, "times do not grow"),
        (_rows(_mass()).replace("1.75", "x"), HEAD, "diameter_mm 'x'"),
        (_rows(_mass()), HEAD.replace("diameter_mm", "note"), "no diameter_mm"),
        (_rows(_mass(), humid=[120] * 22), HEAD, "humidity outside 0 to 100"),
        (_rows(_mass(), celsius=400.0), HEAD, "no filament survives"),
        ("\n".join(_rows(_mass()).split("\n")[:5]), HEAD, "5 weighings"),
        (_rows(np.full(22, 50.0)), HEAD, "does not follow diffusion"),
        (_rows(-_mass()), HEAD, "not above 0"),
        (_rows(_mass(), humid=[""] * 22), HEAD.replace("pct", "pct"), "no humidity|not a plain number"),
    ],
)
def test_a_bad_table_is_refused(rows, head, words):
    with pytest.raises(InputError, match=words):
        _read(rows.replace(",nan,", ",,"), head)


def test_noise_alone_knows_no_diffusivity():
    mass = 50.0 + 1e-3 * np.random.default_rng(2).standard_normal(22)
    with pytest.raises(InputError, match=r"do not know the diffusivity|does not follow"):
        _read(_rows(mass))


def test_a_diameter_that_no_column_states_is_asked_for_and_its_answer_counts():
    stated = _read(_rows(_mass())).reduced[0]
    bare = _rows(_mass()).replace(",1.75", "")
    head = HEAD.replace(",diameter_mm", "")
    with pytest.raises(QuestionError, match="--fact diameter_mm=MM"):
        _read(bare, head)
    said = read_moisture("m.csv", f"{head}\n{bare}\n".encode(), {"diameter_mm": 1.75}).reduced[0]
    assert said["water_diffusivity_m2_s"] == stated["water_diffusivity_m2_s"]
    other = read_moisture("m.csv", f"{HEAD}\n{_rows(_mass())}\n".encode(), {"diameter_mm": 2.85}).reduced[0]
    assert other["water_diffusivity_m2_s"] == stated["water_diffusivity_m2_s"]  # the file comes first


def test_one_mass_a_thousand_times_too_large_is_refused():
    late = ((1, 50.0074), (2, 50.0143), (4, 50.0265), (8, 50.046), (16, 50.0708), (64, 50.0993), (128, 50.1))
    rows = [
        "c,0,1000000,23,50,1.75",
        *(f"c,{hours},{mass},23,{0 if hours == 1 else 50},1.75" for hours, mass in late),
    ]
    text = "piece,time_h,mass_g,temperature_c,humidity_pct,diameter_mm\n" + "\n".join(rows) + "\n"
    with pytest.raises(InputError, match="do not know the diffusivity"):
        read_moisture("drying.csv", text.encode())


def test_which_table_it_is():
    header = tuple(HEAD.split(","))
    assert is_moisture_table(header)
    assert not is_weighings(header)
    assert not is_moisture_table(("run", "build", "specimen", "mass_g"))


def test_a_winding_is_slower_than_a_strand_by_its_depth():
    shallow, deep = (winding_pace(depth, 1.75, 4e-12, 0.006, 1.27) for depth in (20.0, 40.0))
    assert deep.winding_h == pytest.approx(4 * shallow.winding_h)
    assert deep.strand_h == pytest.approx(A**2 / 4e-12 / 3600)
    with pytest.raises(InputError, match="above 0"):
        winding_pace(0.0, 1.75, 4e-12, 0.006, 1.27)


def test_a_change_that_is_over_before_the_second_weighing_is_refused():
    """Whatever the diffusivity above some value, such weighings look the same."""
    rows = [
        (0, 53.0),
        (1, 50.0074),
        (2, 50.0143),
        (4, 50.0265),
        (8, 50.046),
        (16, 50.0708),
        (32, 50.0915),
        (64, 50.1),
    ]
    text = "piece,time_h,mass_g,temperature_c,humidity_pct,diameter_mm\n"
    text += "".join(f"c,{hours},{mass:.4f},23,50,1.75\n" for hours, mass in (*rows, (128, 50.1)))
    with pytest.raises(InputError, match="no weighing lies within the change"):
        read_moisture("m.csv", text.encode())
