"""Readings that tell of gauge, true flow, shrinkage, scale, faces and walls, each against numbers by hand."""

import io

import numpy as np
import pytest

from voidless.campaign.types import Observation, ResponseKey
from voidless.measure.optics.matched import with_matched
from voidless.measure.results import Answers, FileResult, Kind, RawFile, Status
from voidless.measure.take import take_files
from voidless.workflows.finding_words import told_of


def taken(name, text, **facts):
    (found,) = take_files([RawFile(name, text.encode())], Answers(facts=facts))
    assert found.error is None, found.error
    return found


def refused(name, text, **facts):
    (found,) = take_files([RawFile(name, text.encode())], Answers(facts=facts))
    return str(found.error or found.questions[0])


# ---- points counted by eye


def test_points_counted_by_eye():
    """Fields of 1, 2, 3 and 2 %: mean 2, standard deviation 0.8165, t 3.1824 (three degrees): 1.299 % half-width."""
    found = taken("c.csv", "run,build,specimen,field,hits,points\n" + "".join(
        f"R01,B01,a,{k},{hits},100\n" for k, hits in enumerate((1, 2, 3, 2))
    ))  # fmt: skip
    (seen,) = found.observations
    assert (found.taken_for, seen.key.quantity, seen.key.method) == (Kind.POINTS, "void_pct", "points_e562")
    assert (seen.run, seen.build, seen.specimen, seen.value) == ("R01", "B01", "a", 2.0)
    assert 1.96 * seen.uncertainty == pytest.approx(3.18245 * 0.816497 / 2, rel=1e-5)
    assert any("65 % of the mean" in word for word in found.warnings)


def test_no_point_on_a_void_is_an_upper_bound():
    """Three thousand points without a hit: 1 - 0.05^(1/3000) = 0.0998 %."""
    found = taken("R01_B01_c.csv", "hits,points\n0,1500\n0,1500\n")
    (seen,) = found.observations
    assert (seen.bound.value, seen.uncertainty) == ("upper", None)
    assert seen.value == pytest.approx(0.0998, abs=5e-5)


@pytest.mark.parametrize("row", ["101,100", "1.3,100", "-1,100", "1,0", "1,99.5"])
def test_impossible_counts_are_refused(row):
    assert "hits of" in refused("c.csv", f"hits,points\n1,100\n{row}\n")


# ---- gauge


def test_a_crossed_study_gives_the_gauges_share():
    """Parts 4 apart, operators 0.2 apart, readings 0.1 to either side; the mean squares by hand."""
    rows = [
        f"{operator},{part},{part + off + stray}"
        for part in (10, 14, 18)
        for operator, off in (("ann", 0.0), ("bo", 0.2))
        for stray in (-0.1, 0.1)
    ]
    found = taken("g.csv", "group,part,reading\n" + "\n".join(rows) + "\n")
    numbers = found.reduced[0]
    assert numbers["repeat"] == pytest.approx(0.02)
    # operators: 3 parts x 2 repeats x 2 x 0.1² = 0.12; less the interaction's mean square 0, over 6
    assert numbers["operator"] == pytest.approx(0.02)
    assert numbers["part"] == pytest.approx(16.0)
    assert numbers["gauge_pct"] == pytest.approx(100 * 0.04 / 16.04)
    assert "0.249 % of the variance is the gauge's" in told_of(found.reduced)[0]
    assert "not balanced" in refused("g.csv", "group,part,reading\n" + "\n".join(rows[:-1]) + "\n")
    assert "no part" in refused("g.csv", "group,part,reading\n" + "\n".join(rows) + "\nann,,3\n")


# ---- true flow, sizes


def test_a_part_weighed_against_its_toolpath():
    """10.0 g of 1.25 g/cm³ are 8 cm³; 8.16 were to be fed: 98.04 %."""
    found = taken("f.csv", "run,build,volume_mm3,mass_g\nR01,B01,8160,10.00\n", density_g_cm3=1.25)
    numbers = found.reduced[0]
    assert numbers["flow_pct"] == pytest.approx(98.0392, abs=5e-5)
    assert numbers["uncertainty_pct"] == pytest.approx(98.04 * 0.01 / 12**0.5 / 10, rel=1e-3)
    assert "R01 B01: true flow 98.04" in told_of(found.reduced)[0]
    assert "density_g_cm3" in refused("f.csv", "build,volume_mm3,mass_g\nB01,8160,10.00\n")


def test_shrinkage_is_told_from_what_is_the_same_for_all_sizes():
    """0.4 % too small and 0.1 mm too wide outside; a bore alone is no trend."""
    rows = "".join(f"f{size},{size},{size * 0.996 + 0.1:.3f},outside\n" for size in (10, 20, 50, 80))
    found = taken("s.csv", f"feature,nominal_mm,measured_mm,side\n{rows}bore,5,4.9,inside\n")
    (trend,) = (item for item in found.reduced if item["kind"] == "size_trend")
    assert trend["scale_pct"] == pytest.approx(-0.4, abs=1e-6)
    assert trend["offset_mm"] == pytest.approx(0.1, abs=1e-6)
    assert "outside: sizes off by -0.4" in told_of(found.reduced)[0]
    assert len(found.observations) == 5


# ---- grid


def _tiff(values):
    import tifffile

    held = io.BytesIO()
    tifffile.imwrite(held, np.round(np.asarray(values) * 60_000).astype(np.uint16), photometric="minisblack")
    return held.getvalue()


def _grid(pitch, stretch=1.0):
    rows, columns = np.mgrid[0:400, 0:400] + 0.5
    return 0.5 + 0.4 * np.sign(
        np.sin(2 * np.pi * rows / (pitch * stretch)) * np.sin(2 * np.pi * columns / pitch)
    )


SHEET = (
    'run = "R01"\nbuild = "B01"\nmeasure = "micrograph"\n[geometry]\ngrid_mm = 0.2\ngrid_px = 42\n{}'
    '[frames]\npicture = "m.tif"\ngrid = "g.tif"\n'
)


def _section():
    rows, columns = np.mgrid[0:300, 0:300]
    near = ((rows % 60 - 30) ** 2 + (columns % 60 - 30) ** 2) ** 0.5
    return (
        0.7 - 0.55 * np.clip(8.5 - near, 0, 1) + 0.004 * np.random.default_rng(3).standard_normal(rows.shape)
    )


def _read_grid(sheet, grid):
    files = [
        RawFile("d/m.toml", sheet.encode()), RawFile("d/m.tif", _tiff(_section())), RawFile("d/g.tif", _tiff(grid)),
    ]  # fmt: skip
    return take_files(files)[0]


def test_a_grid_gives_the_scale_of_a_micrograph():
    """A chessboard that repeats after 40 px and 0.2 mm: 5 µm a pixel; voids 16 px wide are 80 µm."""
    found = _read_grid(SHEET.format(""), _grid(40.0))
    assert found.status is Status.OK, found.error
    scale = next(item for item in found.reduced if item["kind"] == "scale")
    assert scale["mm_per_px"] == pytest.approx(0.005, rel=2e-3)
    numbers = next(item for item in found.reduced if item["kind"] == "micrograph")
    assert np.median(numbers["diameters_um"]) == pytest.approx(80.0, rel=0.02)
    assert not any("skew" in word for word in found.warnings)
    assert any("a skew of" in word for word in _read_grid(SHEET.format(""), _grid(40.0, 1.05)).warnings)
    both = _read_grid(SHEET.format("mm_per_px = 0.005\n"), _grid(40.0))
    assert "more than one scale" in str(both.error)


# ---- walls, bubbles


def _decay(rate, volume=2e-4):
    time = np.arange(0.0, 3600.0, 30.0)
    pressure = 3e5 - rate / volume * time + 2.0 * np.random.default_rng(5).standard_normal(time.size)
    return "time_s,pressure_pa,temperature_c\n" + "".join(
        f"{t:.0f},{p:.1f},23.000\n" for t, p in zip(time, pressure, strict=True)
    )


def test_permeation_through_a_sound_wall_is_told_from_a_leak():
    """1 barrer, 100 cm², 2 mm, 198.7 kPa: 3.35e-16 x 1e-2 x 198675 / 2e-3 mol/s, times R T (from the unit)."""
    facts = {"volume_cm3": 200.0, "permeability_barrer": 1.0, "wall_area_cm2": 100.0, "thickness_mm": 2.0}
    found = taken("R01_B01_cap.csv", _decay(2e-5), **facts)
    through = 3.3464e-16 * 1e-2 * 198_675 / 2e-3 * 8.314463 * 296.15
    assert found.reduced[0]["permeation_pa_m3_s"] == pytest.approx(through, rel=1e-3)
    assert any("of it leak" in word for word in found.warnings)
    facts["permeability_barrer"] = 2e-5 / through
    assert any(
        "no leak is told from that" in word
        for word in taken("R01_B01_cap.csv", _decay(2e-5), **facts).warnings
    )
    facts["permeability_barrer"] = 1e-4 / through
    assert any("permeability is too high" in word for word in taken("c.csv", _decay(2e-5), **facts).warnings)
    del facts["wall_area_cm2"]
    assert "wall_area_cm2" in refused("c.csv", _decay(2e-5), **facts)


def test_what_a_bubble_test_can_see_is_said():
    """One bubble of 2 mm in 600 s: 4.189 mm³ at 101325 Pa, 7.07e-7; 4 x 0.073 / 50 kPa = 5.8 µm."""
    found = taken("R01_B01_b.csv", "bubbles,time_s,diameter_mm,overpressure_kpa\n0,600,2,50\n")
    assert any("one bubble of 2 mm in 600 s is 7.1e-07 Pa m³/s" in word for word in found.warnings)
    assert any("finer than 5.8 µm" in word for word in found.warnings)


# ---- faces


def _haze(specimen, surface, value):
    key = ResponseKey("haze_pct", "camera_spot", "", (("surface", surface),) if surface else ())
    seen = Observation("R01", "B01", specimen, key, value, 0.3)
    return FileResult(f"{specimen}{surface}.toml", Kind.PICTURE_SHEET, "", observations=(seen,))


def test_wetting_tells_what_of_a_haze_is_on_the_faces_of_plaques_read_both_ways():
    """Clear shares multiply: dry 10 %, wet 4 %: the faces' clear share is 0.90 / 0.96, their haze 6.25 %."""
    given = [_haze("p1", "", 10.0), _haze("p1", "wet_oil", 4.0), _haze("p2", "as_printed", 9.0)]
    plain, wet, alone = with_matched([*given[:2], given[2]])
    assert (plain, alone) == (given[0], given[2])
    (found,) = wet.reduced
    assert (found["inside_pct"], found["faces_pct"]) == (4.0, pytest.approx(6.25))
    assert told_of(wet.reduced)[0].startswith("p1: haze inside 4 ± 0.3 %, of the faces 6.25 %; both: part of")
    assert with_matched([_haze("p1", "wet_oil", 4.0), _haze("p2", "", 10.0)])[0].reduced == ()


# ---- several specimens in one table


def test_records_of_several_specimens_in_one_table_are_kept_apart():
    """Two faces bowed by 0.1 and 0.3 mm, two leaks of 1e-5 and 3e-5, in turn; then one by the file's name."""
    places = [(x, y) for x in (0.0, 20.0, 40.0) for y in (0.0, 20.0, 40.0)]
    rows = [
        f"R01,B0{k},p{k},{x},{y},{bow * ((x - 20) ** 2 + (y - 20) ** 2) / 800:.6f}"
        for x, y in places for k, bow in ((1, 0.1), (2, 0.3))
    ]  # fmt: skip
    found = taken("faces.csv", "run,build,specimen,x_mm,y_mm,height_mm\n" + "\n".join(rows) + "\n")
    assert [(seen.build, seen.specimen) for seen in found.observations] == [("B01", "p1"), ("B02", "p2")]
    first, second = (seen.value for seen in found.observations)
    assert second == pytest.approx(3 * first, rel=1e-3)
    one = "x_mm,y_mm,height_mm\n" + "\n".join(row.split(",", 3)[3] for row in rows[::2]) + "\n"
    (seen,) = taken("R04_B09_plate.csv", one).observations
    assert (seen.run, seen.build, seen.specimen) == ("R04", "B09", "plate")
    time = np.arange(0.0, 3600.0, 60.0)
    rows = [f"B0{k},{t},{2e5 - k * 1e-5 / 1e-4 * t:.2f},23" for t in time for k in (1, 3)]
    leaks = taken(
        "caps.csv", "build,time_s,pressure_pa,temperature_c\n" + "\n".join(rows) + "\n", volume_cm3=100.0
    )
    assert [(seen.build, seen.value) for seen in leaks.observations] == [
        ("B01", pytest.approx(1e-5, rel=1e-3)),
        ("B03", pytest.approx(3e-5, rel=1e-3)),
    ]
    assert len([word for word in leaks.warnings if "Proof-test with water" in word]) == 1
