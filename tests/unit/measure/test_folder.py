"""A dropped folder of mixed files: each taken for what it is, read, corrected by a person, or asked about."""

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.measure.files.facts import FACTS as FACT_NAMES
from voidless.measure.files.facts import check_fact
from voidless.measure.results import Answers, Kind, RawFile, Status
from voidless.measure.take import take_files
from voidless.measure.used_facts import USED, facts_used

SECONDS = np.arange(0.0, 600.0, 5.0)


def _table(head, rows):
    return (head + "\n" + "\n".join(",".join(f"{cell}" for cell in row) for row in rows) + "\n").encode()


def _curve(length=50.0, direction="", header="", top=1600.0, give=0.0):
    """A bar of 40 mm² and 2 GPa up to a force, on a machine that gives."""
    force = np.linspace(0.0, top, 400)
    travel = force / 40.0 / 2000.0 * length + give * force
    rows = [f"{0.1 * n:.1f};{f:.3f};{x:.6f}" for n, (f, x) in enumerate(zip(force, travel, strict=True))]
    rows += [f"{40 + 0.1 * n:.1f};0.0;{travel[-1] + 1e-4 * n:.6f}" for n in range(30)]
    head = f"{header}Grip separation: {length:g} mm\nTime [s];Force [N];Crosshead [mm]\n"
    return (head + "\n".join(rows) + "\n").encode()


FILES = {
    "R01_B01_bar.csv": (
        "energy_j,width_mm,thickness_mm,method,specimen", [(0.5, 8.0, 4.0, "iso179_1eA", "a")], Kind.IMPACT
    ),
    "R01_B01_cap.csv": (
        "Time [s],Pressure [kPa],Temperature [C]",
        [(t, 200.0 - 0.0005 * t, 23.0) for t in SECONDS],
        Kind.PRESSURE,
    ),
    "bath.csv": ("bubbles,time_s,diameter_mm,specimen", [(10, 60, 2.0, "a"), (0, 600, 2.0, "b")], Kind.BUBBLES),
    "callipers.csv": (
        "feature,nominal_mm,measured_mm", [("x", 20, 20.05), ("x", 20, 20.07), ("bore", 5, 4.9)], Kind.SIZES
    ),
    "plate.csv": (
        "x_mm,y_mm,height_mm",
        [(x, y, 0.001 * ((x - 20) ** 2 + (y - 20) ** 2)) for x in (0, 20, 40) for y in (0, 20, 40)],
        Kind.HEIGHTS,
    ),
    "trace.csv": (
        "position_mm,height_um", [(0.002 * n, 4 * np.sin(np.pi * n / 50)) for n in range(5000)], Kind.PROFILE
    ),
    "days.csv": ("group,reading", [("mon", 1.0), ("mon", 1.2), ("tue", 1.1), ("tue", 1.4)], Kind.PRECISION),
    "thermo.csv": ("setting,commanded,reading", [("nozzle_c", 200, 193), ("nozzle_c", 240, 232)], Kind.REALISED),
    "air.csv": ("rate_mm3_s,volume_mm3,mass_g", [(2, 500, 0.635), (8, 500, 0.6)], Kind.FEED),
    "strand.csv": ("place,diameter_mm", [("a", 1.74), ("a", 1.76), ("b", 1.75), ("b", 1.75)], Kind.FILAMENT),
    "fan.csv": ("duty_pct,air", [(0, 0), (20, 0), (40, 1.5), (100, 4)], Kind.FAN),
    "first.csv": (
        "x_mm,y_mm,thickness_mm", [(0, 0, 0.22), (100, 0, 0.23), (0, 100, 0.21), (100, 100, 0.22)], Kind.GAP
    ),
    "step.csv": (
        "distance_mm,width_mm", [(0.5 * n, 0.45 + 0.2 * np.exp(-n / 20)) for n in range(120)], Kind.LAG
    ),
    "drying.csv": ("time_h,mass_g", [], Kind.MOISTURE),
}  # fmt: skip
FACTS = {
    "volume_cm3": 100.0, "size_uncertainty_mm": 0.01, "reading_uncertainty": 0.1, "air_uncertainty": 0.1,
    "density_g_cm3": 1.27,
    "commanded_mm": 0.2, "speed_mm_s": 80.0,
}  # fmt: skip


@pytest.mark.parametrize("name", [name for name in FILES if FILES[name][1]])
def test_each_table_is_known_by_its_columns_and_read(name):
    head, rows, kind = FILES[name]
    (found,) = take_files([RawFile(name, _table(head, rows))], Answers(facts=FACTS))
    assert (found.taken_for, found.status, found.error) == (kind, Status.OK, None)
    assert found.reduced
    assert "column" in found.why


def test_what_the_tables_give():
    given = [RawFile(name, _table(head, rows)) for name, (head, rows, _) in FILES.items() if rows]
    results = {item.file: item for item in take_files(given, Answers(facts=FACTS))}
    blow = results["R01_B01_bar.csv"].observations[0]
    assert (blow.key.quantity, blow.key.method) == ("charpy_kj_m2", "iso179_1eA")
    assert blow.value == pytest.approx(15.625)
    leak = results["R01_B01_cap.csv"].observations[0]
    assert (leak.run, leak.build) == ("R01", "B01")
    assert leak.value == pytest.approx(1e-4 * 0.5 * 296.15 / 296.15, rel=1e-9)
    bubbles = results["bath.csv"].observations
    assert bubbles[0].value == pytest.approx(np.pi / 6 * 8e-9 * 101325 / 6.0)
    assert bubbles[1].bound.value == "upper"
    sizes = {item.key.feature: item.value for item in results["callipers.csv"].observations}
    assert sizes == {"x": pytest.approx(0.06), "bore": pytest.approx(-0.1)}
    assert results["plate.csv"].observations[0].value == pytest.approx(0.4)
    assert results["trace.csv"].reduced[0]["ra_um"] == pytest.approx(8 / np.pi, rel=0.01)
    assert results["step.csv"].reduced[0]["lag_s"] == pytest.approx(0.125, rel=1e-4)
    assert any("water" in word for word in results["R01_B01_cap.csv"].warnings)


@pytest.mark.parametrize("name", [name for name in FILES if FILES[name][1] and name != "days.csv"])
def test_a_table_without_units_asks_for_them_and_a_bad_cell_is_named(name):
    head, rows, _ = FILES[name]
    bare = head.replace("_mm3_s", "").replace("_mm3", "")
    for unit in ("_mm", "_um", "_s", "_j", "_g", "_pct", " [s]", " [kPa]", " [C]"):
        bare = bare.replace(unit, "")
    if bare != head:
        (asked,) = take_files([RawFile(name, _table(bare, rows))], Answers(facts=FACTS))
        assert asked.status is Status.QUESTION
        assert "--unit" in asked.questions[0].option
    broken = [("nonsense",) * len(rows[0]), *rows[1:]]
    (refused,) = take_files([RawFile(name, _table(head, broken))], Answers(facts=FACTS))
    assert refused.status is Status.REFUSED
    assert "line 2" in str(refused.error)


@pytest.mark.parametrize(
    ("name", "fact"),
    [("R01_B01_cap.csv", "volume_cm3"), ("thermo.csv", "reading_uncertainty"), ("air.csv", "density_g_cm3"),
     ("fan.csv", "air_uncertainty"), ("first.csv", "commanded_mm"), ("step.csv", "speed_mm_s")],
)  # fmt: skip
def test_what_only_a_person_knows_is_asked(name, fact):
    head, rows, _ = FILES[name]
    (asked,) = take_files([RawFile(name, _table(head, rows))])
    assert asked.status is Status.QUESTION
    assert asked.questions[0].option.startswith(f"--fact {fact}")


@pytest.mark.parametrize("start", [1000.0, 99000.0])
def test_gauge_pressures_and_the_drift_of_an_unread_temperature_are_asked_about(start):
    rows = [(t, start - 0.01 * t) for t in SECONDS]
    data = _table("time_s,pressure_pa", rows)
    (asked,) = take_files([RawFile("cap.csv", data)], Answers(facts={"volume_cm3": 100.0}))
    assert "air_pressure_pa" in asked.questions[0].option
    assert "temperature_drift_k" in asked.questions[0].option
    facts = {"volume_cm3": 100.0, "air_pressure_pa": 101000.0, "temperature_drift_k": 0.3}
    (found,) = take_files([RawFile("cap.csv", data)], Answers(facts=facts))
    assert found.observations[0].value == pytest.approx(1e-6, rel=1e-6)
    assert dict(found.observations[0].key.conditions)["corrected"] == "no"
    # 0.3 K of p V / T over the record.
    drift = 1e-4 * (start - 0.01 * np.mean(SECONDS) + 101000.0) / 296.15 * 0.3 / (SECONDS[-1] - SECONDS[0])
    assert found.observations[0].uncertainty == pytest.approx(drift, rel=0.01)


def test_a_vacuum_that_rises_is_read_once_its_pressures_are_said_to_be_absolute():
    data = _table("time_s,pressure_pa,temperature_c", [(t, 500.0 + 0.02 * t, 23.0) for t in SECONDS])
    (asked,) = take_files([RawFile("cap.csv", data)])
    assert asked.questions[0].option.startswith("--fact volume_cm3=CM3 --fact air_pressure_pa=PA")
    facts = {"volume_cm3": 100.0, "air_pressure_pa": 0.0}
    (found,) = take_files([RawFile("cap.csv", data)], Answers(facts=facts))
    assert found.observations[0].value == pytest.approx(-2e-6, rel=1e-6)
    with pytest.raises(InputError, match="10000"):
        check_fact("air_pressure_pa", 101.3)


def test_a_person_corrects_what_a_file_is():
    """Bending looks like tension; its name or `--as` tells."""
    facts = {"span_mm": 64.0, "width_mm": 10.0, "thickness_mm": 4.0}
    data = _curve().replace(b"Grip separation: 50 mm\n", b"")
    for name, kinds in (("bar_bend_1.csv", ()), ("bar_1.csv", (("bar_*.csv", Kind.FLEXURE_CURVE),))):
        (found,) = take_files([RawFile(f"f/{name}", data)], Answers(facts=facts, kinds=kinds))
        assert (found.taken_for, found.status) == (Kind.FLEXURE_CURVE, Status.OK)
        assert found.reduced[0]["strength_mpa"] == pytest.approx(3 * 1600 * 64 / (2 * 10 * 16))
    assert "--as flexure_curve=bar_*.csv" in found.why
    (wrong,) = take_files([RawFile("x.csv", data)], Answers(kinds=(("*", Kind.IMPACT),)))
    assert wrong.status is Status.REFUSED


def test_measured_sections_come_before_others_with_their_uncertainty():
    sides = _table(
        "specimen,width_mm,thickness_mm", [("z_1", 10.0, 4.0), ("z_1", 10.1, 4.02), ("z_1", 9.9, 3.98)]
    )
    files = [RawFile("f/sides.csv", sides), RawFile("f/z_1.csv", _curve(header="Section: 30 mm2\n"))]
    table, curve = take_files(files, Answers(facts={"size_uncertainty_mm": 0.01}))
    assert (table.taken_for, table.status) == (Kind.SECTIONS, Status.OK)
    assert curve.reduced[0]["section_mm2"] == pytest.approx(40.0)
    assert curve.reduced[0]["budget"]["section"] == pytest.approx(0.01442, abs=5e-6)
    assert curve.observations[0].uncertainty > 0.0144 * curve.observations[0].value


def test_crosshead_alone_gives_no_modulus_until_the_machine_is_known():
    header = "Section: 40 mm2\n"
    (bare,) = take_files([RawFile("f/xy_1.csv", _curve(header=header, give=5e-4))])
    assert bare.reduced[0]["apparent"]
    assert [item.key.quantity for item in bare.observations] == ["strength_xy_mpa", "strain_break_pct"]
    assert any("modulus apparent" in word for word in bare.warnings)
    known = {"compliance_mm_n": 5e-4, "section_uncertainty_pct": 0.0}
    for facts, apparent in ((known, True), ({**known, "compliance_uncertainty_mm_n": 1e-5}, False)):
        (found,) = take_files([RawFile("f/xy_1.csv", _curve(header=header, give=5e-4))], Answers(facts=facts))
        assert found.reduced[0]["apparent"] is apparent
        assert found.reduced[0]["regression_gpa"] == pytest.approx(2.0, rel=1e-3)
    modulus = found.observations[-1]
    assert (modulus.key.quantity, modulus.key.feature) == ("modulus_gpa", "xy")
    # Contribution of 1e-5 mm/N: 40 mm² x 2000 MPa x 1e-5 / 50 mm = 1.6 % of 2 GPa.
    assert modulus.uncertainty == pytest.approx(0.032, rel=0.02)


def test_a_table_of_the_machines_give():
    forces = np.linspace(100.0, 2000.0, 20)
    rows = [(f, 5e-4 * f, 1e-5) for f in forces]
    give = _table("force_n,give_mm,give_uncertainty_mm", rows)
    bar = RawFile("f/xy_1.csv", _curve(header="Section: 40 mm2\n", give=5e-4))
    table, curve = take_files([RawFile("f/give.csv", give), bar])
    assert (table.taken_for, table.status) == (Kind.COMPLIANCE, Status.OK)
    assert not curve.reduced[0]["apparent"]
    assert curve.reduced[0]["chord_gpa"] == pytest.approx(2.0, rel=1e-3)
    short = _table("force_n,give_mm,give_uncertainty_mm", rows[:12])
    _, cut = take_files([RawFile("f/give.csv", short), bar])
    assert cut.reduced[0]["strain_break_pct"] == pytest.approx(3.6, rel=1e-3)  # 2 % and 0.8 mm of 50 mm
    assert any("the strain at break holds it" in word for word in cut.warnings)
    kept = [seen for seen in cut.observations if seen.key.quantity == "strain_break_pct"]
    assert dict(kept[0].key.conditions)["strain"] == "nominal, crosshead travel over 50 mm"
    assert 0.0 < kept[0].uncertainty < 0.05


def test_three_lengths_in_a_folder_give_modulus_and_machine():
    files = [
        RawFile(f"f/xy_{length:g}mm_1.csv", _curve(length, header="Section: 40 mm2\n", give=5e-4))
        for length in (25.0, 60.0, 115.0)
    ]
    found = take_files(files)
    for item in found:
        assert item.reduced[0]["modulus_by_lengths_gpa"] == pytest.approx(2.0, rel=1e-3)
        assert not item.reduced[0]["apparent"]
        assert item.reduced[0]["regression_gpa"] == pytest.approx(2.0, rel=0.01)
    two = take_files(files[:2])
    assert all(item.reduced[0]["apparent"] for item in two)


def test_lengths_of_one_direction_tell_the_give_for_the_others_of_a_mixed_folder():
    """Three lengths flat, one bar upright, in one folder: the upright one's modulus is freed of the machine too."""
    files = [
        RawFile(f"f/xy_{length:g}mm_1.csv", _curve(length, header="Section: 40 mm2\n", give=5e-4))
        for length in (25.0, 60.0, 115.0)
    ]
    files.append(RawFile("f/z_1.csv", _curve(40.0, header="Section: 40 mm2\n", give=5e-4)))
    *flat, upright = take_files(files)
    assert all(item.reduced[0]["modulus_by_lengths_gpa"] == pytest.approx(2.0, rel=1e-3) for item in flat)
    assert "modulus_by_lengths_gpa" not in upright.reduced[0]
    assert upright.reduced[0]["regression_gpa"] == pytest.approx(2.0, rel=0.01)
    assert not upright.reduced[0]["apparent"]
    assert "specimens of several lengths" in upright.reduced[0]["strain_basis"]


def test_every_picture_is_plain_and_small():
    given = [RawFile(name, _table(head, rows)) for name, (head, rows, _) in FILES.items() if rows]
    given.append(RawFile("f/xy_1.csv", _curve(header="Section: 40 mm2\n")))
    pictures = [
        reduced["picture"]
        for item in take_files(given, Answers(facts=FACTS))
        for reduced in item.reduced
        if "picture" in reduced
    ]
    assert len(pictures) == 16
    for picture in pictures:
        assert {"title", "x", "y", "curves", "marks", "rules", "says"} <= picture.keys()
        assert picture["says"]
        for curve in picture["curves"]:
            assert len(curve["x"]) == len(curve["y"]) <= 402
            assert np.all(np.isfinite(curve["x"] + curve["y"]))


class _Watched(dict):
    """Facts that note which of them are looked at."""

    def __init__(self, facts):
        super().__init__(facts)
        self.seen = set()

    def __getitem__(self, name):
        self.seen.add(name)
        return super().__getitem__(name)

    def __contains__(self, name):
        self.seen.add(name)
        return super().__contains__(name)

    def get(self, name, default=None):
        self.seen.add(name)
        return super().get(name, default)


WATCHED = {
    **{name: _table(head, rows) for name, (head, rows, _) in FILES.items() if rows},
    "R01_B01_xy_1.csv": _curve(header="Thickness: 4.0 mm\nWidth: 10.0 mm\n"),
    "R01_B01_bend_1.csv": _curve(header="Thickness: 4.0 mm\nWidth: 10.0 mm\n"),
    "tank_expansion.csv": b"before_known_kpa,before_object_kpa,after_kpa\n300,100,200\n301,100,200.5\n",
    "weighed.csv": b"run,build,specimen,mass_air_g,mass_water_g,water_c\nR01,B01,p,5.0,1.0,22.0\n",
    "points.csv": b"hits,points\n1,100\n2,100\n",
    "coil.csv": b"piece,time_h,mass_g,temperature_c,humidity_pct\n"
    + b"".join(b"a,%d,%.4f,23,50\n" % (t, 50 + 0.1 * (1 - 0.5 ** (t / 9))) for t in range(0, 60, 3)),
}


@pytest.mark.parametrize("name", WATCHED)
def test_a_result_tells_every_fact_that_its_kind_of_file_looks_at(name):
    """Facts of the real readers, noted while they read, are those that the table of used facts states."""
    said = {**FACTS, "known_volume_cm3": 100.0, "diameter_mm": 1.75, "start_pct": 0.0}
    facts, idle = _Watched(said), _Watched(said)
    (found,) = take_files([RawFile(name, WATCHED[name])], Answers(facts=facts))
    assert found.error is None, found.error
    # What is looked at for the curves of a folder, whatever lies in it, is used by curves alone.
    take_files(
        [RawFile("t.csv", b"run,build,specimen,response,value,unit\nR01,B01,p,clarity,0.5,\n")],
        Answers(facts=idle),
    )
    looked = (facts.seen if "curve" in found.taken_for.value else facts.seen - idle.seen) & set(FACT_NAMES)
    assert looked <= set(USED[found.taken_for]), looked
    assert facts_used(found.taken_for.value, dict.fromkeys(FACT_NAMES, 1.0)).keys() == set(
        USED[found.taken_for]
    )
    assert facts_used("archive", {"volume_cm3": 1.0}) == {"volume_cm3": 1.0}
