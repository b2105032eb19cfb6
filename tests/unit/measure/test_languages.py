"""Names of columns and facts in Japanese, German and French, in the encodings that machines write."""

import numpy as np
import pytest

from voidless.measure.curves.read import read_curves
from voidless.measure.curves.words import channel_of, fact_of
from voidless.measure.files.text import decode
from voidless.measure.results import Answers, Kind, RawFile, Status
from voidless.measure.take import take_files

ROWS = "".join(f"{0.1 * n:.1f},{0.01 * n:.2f},{4.0 * n:.1f}\n" for n in range(1, 60))


@pytest.mark.parametrize("encoding", ["utf-8", "shift_jis", "utf-16"])
@pytest.mark.parametrize("names", ["時間(s),変位(mm),荷重(N)", "時間（ｓ）,ストローク（ｍｍ）,試験力（Ｎ）"])
def test_a_japanese_curve(encoding, names):
    text = f"試験片幅,10.00,mm\n試験片厚さ,4.00,mm\nつかみ具間距離,115,mm\n{names}\n{ROWS}"
    (curve,) = read_curves(text.encode(encoding), "z_1.csv")
    assert {"time_s", "travel_mm", "force_n"} == set(curve.channels)
    assert curve.channels["force_n"][-1] == pytest.approx(236.0)
    assert curve.facts == {"width_mm": 10.0, "thickness_mm": 4.0, "span_mm": 115.0}
    assert any("Shift JIS" in word for word in curve.warnings) is (encoding == "shift_jis")


def test_western_letters_are_not_taken_for_japanese():
    for words in ("Prüfzeit;Größe;Übermaß", "Épaisseur éprouvette;Déformation", "Änderung °C ±µ"):
        assert decode("a.csv", words.encode("cp1252")).text == words
    with pytest.raises(UnicodeDecodeError):  # the test itself: the last words are no UTF-8
        "Änderung °C ±µ".encode("cp1252").decode("utf-8")


@pytest.mark.parametrize(
    ("name", "channel"),
    [
        ("伸び[mm]", "extension"),
        ("ひずみ(%)", "strain"),
        ("応力（MPa）", "stress"),
        ("クロスヘッド変位", "travel"),
    ],
)
def test_japanese_channels(name, channel):
    assert channel_of(name) == channel


def test_supports_of_a_bending_test():
    assert {
        fact_of(word) for word in ("Auflagerabstand", "Stützweite", "distance entre appuis", "支点間距離")
    } == {"span"}


@pytest.mark.parametrize(
    ("name", "text", "kind", "quantity", "value"),
    [
        (
            "charpy.csv",
            "Probe;Schlagarbeit [J];Breite [mm];Dicke [mm]\nR01_B01_c1;0,5;8,0;4,0\n",
            Kind.IMPACT, "charpy_kj_m2", 15.625,
        ),
        (
            "callipers.csv",
            "Merkmal;Nennmaß [mm];Istmaß [mm]\nx;20,00;20,05\nx;20,00;20,07\n",
            Kind.SIZES, "size_error_mm", 0.06,
        ),
    ],
)  # fmt: skip
def test_tables_of_german_test_rooms(name, text, kind, quantity, value):
    (found,) = take_files([RawFile(name, text.encode("cp1252"))], Answers(method="iso179_1eA"))
    assert (found.taken_for, found.status) == (kind, Status.OK)
    assert found.observations[0].key.quantity == quantity
    assert found.observations[0].value == pytest.approx(value)


@pytest.mark.parametrize(
    "names",
    ["Zeit [s];Druck [kPa];Temperatur [°C]", "temps [s];pression [kPa];température [K]", "時間[s];圧力[kPa];温度[℃]",
     "time_s;pressure_kpa;temperature_k"],
)  # fmt: skip
def test_a_record_of_pressure_and_temperature(names):
    """1.6667e-5 Pa m3/s: 200 cm3 at 23 degC lose 300 Pa in an hour, whatever the room does."""
    time = np.arange(0.0, 3600.0, 30.0)
    warm = 296.15 + np.sin(time / 900.0)
    pressure = (200_000.0 - 300.0 * time / 3600.0) * warm / 296.15
    shown = warm if "K" in names or "_k" in names.split(";")[2] else warm - 273.15
    rows = "".join(
        f"{t:.0f};{p / 1e3:.6f};{c:.5f}\n".replace(".", ",")
        for t, p, c in zip(time, pressure, shown, strict=True)
    )
    facts = {"volume_cm3": 200.0, "temperature_drift_k": 0.01}
    (found,) = take_files([RawFile("R01_B01_cap.csv", (names + "\n" + rows).encode())], Answers(facts=facts))
    assert found.status is Status.OK, found
    assert found.observations[0].value == pytest.approx(200e-6 * 300.0 / 3600.0, rel=2e-3)


def test_sizes_listed_above_a_curve_do_not_make_it_a_table_of_sizes():
    for head in (
        "Specimen;Width [mm];Thickness [mm]\nA;10.0;4.0\n",
        "Probe;Breite [mm];Dicke [mm]\n1;10.0;4.0\n",
    ):
        data = (head + "\nTime [s];Travel [mm];Force [N]\n" + ROWS.replace(",", ";")).encode()
        (found,) = take_files([RawFile("R01_B01_z_1.csv", data)], Answers(sections={"z": 40.0}))
        assert (found.taken_for, found.status) == (Kind.MACHINE_CURVE, Status.OK)
    rows = "".join(f"{n};10.0;4.0\n" for n in range(8))
    (table,) = take_files([RawFile("sections.csv", ("specimen;width_mm;thickness_mm\n" + rows).encode())])
    assert table.taken_for is Kind.SECTIONS


def test_masses_without_their_unit_are_called_near_weighings():
    (found,) = take_files([RawFile("w.csv", b"run;build;mass_air [mg];mass_water [mg]\nR01;B01;5000;1000\n")])
    assert "nearest to weighings, whose columns are mass_air_g and mass_water_g" in found.error.what
