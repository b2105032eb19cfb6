from pathlib import Path

import pytest

from voidless.campaign.file import load_ground, parse_campaign, read_campaign
from voidless.campaign.space import Space
from voidless.campaign.types import (
    Factor,
    Limits,
    Objective,
    Probability,
    Sense,
    Specification,
    SpecimenOrder,
)
from voidless.errors import InputError

SIGHT_GLASS = """\
[campaign]
name = "sight glass"
material = "petg"
machine = "bench-0.4"
[factors.flow_pct]
low = 90.0
high = 110.0
[factors.nozzle_c]
low = 210.0
high = 260.0
[specifications.clarity]
min = 0.66
[specifications.z_ratio]
min = 0.86
[specifications.size_error_mm]
min = -0.15
max = 0.15
[objective]
minimise = "build_min"
[limits]
builds = 24
"""
FULL = """\
schema_version = 1
[campaign]
name = "full"
material = "pctg"
machine = "enclosed-0.4"
probability = "next_part"
[settings]
fan_pct = 0
layer_mm = 0.2
[factors]
contours = { low = 1, high = 3 }
speed_mm_s = { low = 10, high = 60, step = 5, hard_to_change = true }
[responses.clarity]
thickness_mm = 3
axis = "Z"
polished = false
[specifications]
clarity.min = 0.7
[objective]
maximise = "strength_z_mpa"
[limits]
hours = 40
attended_hours = 8.5
grams = 500
rate_mm3_s = 6
[specimens]
bar_z = 2
plaque = 1
[nuisance.exposure_h]
note = "open spool holder"
"""


def broken(old, new, text=SIGHT_GLASS):
    assert old in text
    return text.replace(old, new, 1)


def refused(text, folder=None):
    with pytest.raises(InputError) as caught:
        parse_campaign(text, "campaign.toml", folder)
    return caught.value


def test_the_example_of_the_exchange_contract_is_read_as_it_stands():
    campaign = parse_campaign(SIGHT_GLASS, "campaign.toml")
    assert (campaign.name, campaign.material, campaign.machine) == ("sight glass", "petg", "bench-0.4")
    assert campaign.factors == (Factor("flow_pct", 90.0, 110.0), Factor("nozzle_c", 210.0, 260.0))
    assert campaign.specifications == (
        Specification("clarity", 0.66),
        Specification("z_ratio", 0.86),
        Specification("size_error_mm", -0.15, 0.15),
    )
    assert campaign.objective == Objective("build_min", Sense.MINIMISE)
    assert campaign.limits == Limits(builds=24)
    assert campaign.probability is Probability.NEXT_BUILD
    assert Space(campaign.factors).names == ("flow_pct", "nozzle_c")
    material, machine = load_ground(campaign, None)
    assert (material.name, machine.name) == ("petg", "bench-0.4")


def test_every_table_of_the_contract_is_read():
    campaign = parse_campaign(FULL)
    assert campaign.probability is Probability.NEXT_PART
    assert campaign.settings == {"fan_pct": 0.0, "layer_mm": 0.2}
    assert campaign.factors == (
        Factor("contours", 1.0, 3.0, 1.0),
        Factor("speed_mm_s", 10.0, 60.0, 5.0, hard_to_change=True),
    )
    assert campaign.conditions == {"clarity": {"thickness_mm": "3", "axis": "Z", "polished": "false"}}
    assert campaign.specifications == (Specification("clarity", 0.7),)
    assert campaign.objective == Objective("strength_z_mpa", Sense.MAXIMISE)
    assert campaign.limits == Limits(hours=40.0, attended_hours=8.5, grams=500.0, rate_mm3_s=6.0)
    assert campaign.specimens == (SpecimenOrder("bar_z", 2), SpecimenOrder("plaque", 1))
    assert campaign.nuisance == ("exposure_h",)


def test_what_a_file_leaves_out_has_its_default():
    campaign = parse_campaign(SIGHT_GLASS.partition("[specifications")[0])
    assert campaign.objective == Objective("build_min", Sense.MINIMISE)
    assert campaign.limits == Limits()
    assert (campaign.specifications, campaign.settings, campaign.specimens) == ((), {}, ())
    assert campaign.nuisance == ("exposure_h", "humidity_pct", "order")


@pytest.mark.parametrize(
    ("old", "new", "line", "what", "remedy"),
    [
        ("[factors.flow_pct]", "[factors.flow_pc]", 5, "'flow_pc' is not a setting", "mean flow_pct?"),
        ("[factors.flow_pct]", "[factors.rate_mm3_s]", 5, "derived from the settings", "Vary the settings"),
        ("[factors.flow_pct]", "[factors.pitch_mm]", 5, "derived from the settings", "Vary the settings"),
        ("[factors.flow_pct]", "[factors.exposure_h]", 5, "is not chosen", "nuisance.exposure_h"),
        ("[factors.flow_pct]", "[factor.flow_pct]", 5, "'factor' is not a key", "Did you mean factors?"),
        ("low = 90.0", "low = 110.0", 6, "low = 110, high = 110", "Swap"),
        ("low = 90.0", "low = nan", 6, "flow_pct.low = nan", "Correct"),
        ("low = 90.0", "low = '90'", 6, "flow_pct.low = '90'", "Correct"),
        ("low = 90.0", "low = true", 6, "flow_pct.low = True", "Correct"),
        ("low = 90.0\n", "", 5, "[factors.flow_pct] has no low", "Add low"),
        ("low = 90.0", "low = 90.0\nstep = 0", 7, "step = 0", "leave it out"),
        ("low = 90.0", "low = 90.0\nstep = -1", 7, "step = -1", "leave it out"),
        ("low = 90.0", "low = 90.0\nstep = 21", 7, "step = 21", "leave it out"),
        ("low = 90.0", "low = 90.0\nstep = nan", 7, "step = nan", "Correct"),
        ("low = 90.0", "low = 90.0\nstpe = 2", 7, "'stpe' is not a key", "Did you mean step?"),
        ("low = 90.0", "low = 90.0\nhard_to_change = 1", 7, "hard_to_change = 1", "Correct"),
        ("high = 260.0", "high = 310.0", 10, "nozzle_c = 310 degC is above the limit", "Lower it"),
        ("low = 210.0", "low = 150.0", 9, "nozzle_c = 150 degC is below the limit", "Change it"),
        ("[factors.nozzle_c]\nlow = 210.0\nhigh = 260.0", "[factors.layer_mm]\nlow = 0.1\nhigh = 0.4", 10,
         "layer_mm = 0.4 mm is above the limit", "another nozzle"),
        ("[factors.nozzle_c]\nlow = 210.0\nhigh = 260.0", "[factors.contours]\nlow = 1\nhigh = 2.5", 10,
         "contours: high = 2.5", "Correct"),
        ("[factors.nozzle_c]\nlow = 210.0\nhigh = 260.0", "[factors.chamber_c]\nlow = 30\nhigh = 60", 9,
         "chamber_c = 30 degC is above the limit", "heated chamber"),
        ("[specifications.clarity]", "[specifications.clearness]", 11, "'clearness' is not a response", ""),
        ("[specifications.clarity]", "[specifications.nozzle_c]", 11, "'nozzle_c' is not a response", ""),
        ("min = 0.66", "min = 66", 12, "clarity = 66", "unit"),
        ("min = 0.66", "min = nan", 12, "clarity.min = nan", "Correct"),
        ("min = 0.66", "minimum = 0.66", 11, "neither min nor max", "State the limit"),
        ("min = -0.15", "min = 0.16", 16, "min = 0.16, max = 0.15", "Swap"),
        ('minimise = "build_min"', 'minimise = "time"', 19, "'time' is not a response", ""),
        ('minimise = "build_min"', 'minimize = "build_min"', 18, "0 objectives", "minimise"),
        ('minimise = "build_min"', 'minimise = "build_min"\nmaximise = "clarity"', 18, "2 objectives", ""),
        ('minimise = "build_min"', "minimise = 3", 19, "objective.minimise = 3", ""),
        ("builds = 24", "buidls = 24", 21, "'buidls' is not a key", "Did you mean builds?"),
        ("builds = 24", "builds = 0", 21, "builds = 0", "leave it out"),
        ("builds = 24", "builds = 2.5", 21, "limits.builds = 2.5", "Correct"),
        ("builds = 24", "hours = -1", 21, "hours = -1", "leave it out"),
        ("builds = 24", "grams = inf", 21, "limits.grams = inf", "Correct"),
        ("[limits]", "[settings]\nflow_pct = 100\n[limits]", 21, "fixed here and also", "Remove one"),
        ("[limits]", "[settings]\nrate_mm3_s = 5\n[limits]", 21, "derived from the settings", "limit it in"),
        ("[limits]", "[settings]\nbed_c = 200\n[limits]", 21, "bed_c = 200 degC is above the limit", "Lower"),
        ("[limits]", "[specimens]\nbar_xy = 0\n[limits]", 21, "bar_xy = 0", "how many"),
        ("[limits]", "[specimens]\nbar_xy = true\n[limits]", 21, "bar_xy = True", "how many"),
        ("[limits]", "[nuisance.nozzle_c]\n[limits]", 20, "'nozzle_c' is not a nuisance", ""),
        ("[limits]", "[responses.clarity]\nbands = [1]\n[limits]", 21, "clarity.bands = [1]", ""),
        ("[limits]", "[responses.clearness]\n[limits]", 20, "'clearness' is not a response", ""),
        ('"petg"', '"petgg"', 3, "material 'petgg' is not in the library", "Did you mean petg?"),
        ('"bench-0.4"', '"bench"', 4, "machine 'bench' is not in the library", "Did you mean bench-0."),
        ('"petg"', '"../petg.toml"', 3, "cannot be found", "Put it there"),
        ('"petg"', '"petg.toml"', 3, "cannot be found", "Put it there"),
        ('name = "sight glass"', 'name = ""', 2, "name = ''", "Give it a name"),
        ('name = "sight glass"\n', "", 1, "campaign.name is missing", ""),
        ('name = "sight glass"', 'name = "x"\nprobability = "next"', 3, "probability = 'next'", "next_"),
        ('[campaign]\nname = "sight glass"', 'schema_version = 2\n[campaign]\nname = "x"', 1,
         "schema_version = 2", "program version"),
        ("[limits]", "[machines.bench]\nbase = 'bench-0.4'\n[limits]", 20, "does not use", "Rename"),
        ("[limits]", "[materials.petg]\nclaer = true\n[limits]", 21, "'claer' is not a key", "clear"),
        ("[objective]", "[objective]\n[objective]", 19, "twice", "Correct this line"),
        ("low = 90.0", "low = 90.0\nlow = 91.0", 7, "overwrite", "Correct this line"),
    ],
)  # fmt: skip
def test_faults_name_file_line_what_and_remedy(old, new, line, what, remedy):
    fault = refused(broken(old, new))
    assert fault.where == f"campaign.toml:{line}"
    assert what in fault.what
    assert remedy in fault.remedy


def test_all_faults_are_told_at_once_in_the_order_of_the_file():
    text = broken("builds = 24", "buidls = 24", broken("min = 0.86", "min = 6", broken("90.0", "nan")))
    fault = refused(text)
    assert fault.where == "campaign.toml:6"
    for part in ("Further faults: campaign.toml:14: z_ratio = 6", "campaign.toml:21: 'buidls' is not a key"):
        assert part in fault.what


def test_a_box_may_hold_impossible_corners_but_not_be_impossible_throughout():
    corners = broken("[limits]", "[factors.speed_mm_s]\nlow = 20\nhigh = 190\n[limits]")
    assert parse_campaign(corners).factors[-1].high == 190.0  # 15 mm3/s at the corner, the limit is 11
    fault = refused(broken("low = 20", "low = 160", corners))
    assert "no point of the factor box keeps every limit" in fault.what
    assert "rate_mm3_s = 11.7239 mm3/s is above the limit" in fault.what
    assert fault.where == "campaign.toml:20"
    assert "Lower speed_mm_s" in fault.remedy


def test_a_thin_feasible_sliver_is_found_and_a_missing_one_named():
    def sliver(width_low, width_high):
        return parse_campaign(
            '[campaign]\nname = "x"\nmaterial = "petg"\nmachine = "mine"\n'
            '[machines.mine]\nbase = "bench-0.4"\nnozzle_diameter_mm = 1.0\nmax_rate_mm3_s = 20.3\n'
            "[settings]\nlayer_mm = 0.8\nspeed_mm_s = 40\n"
            f"[factors.width_mm]\nlow = {width_low}\nhigh = {width_high}\n"
        )

    # At 0.8 mm the rate is 0.8 x (w - 0.8 (1 - pi/4)) x 40: 20.1 mm3/s at w = 0.8 and 20.3 at 0.8061.
    assert sliver(0.8, 1.99).factors
    with pytest.raises(InputError, match="no point of the factor box"):
        sliver(0.81, 1.99)


def test_fixed_settings_that_leave_no_point_are_named_at_their_own_line():
    fault = refused(broken("[limits]", "[settings]\nspeed_mm_s = 180\n[limits]"))
    assert fault.where == "campaign.toml:21"
    assert "no point of the factor box" in fault.what


def test_own_material_and_machine_in_the_file_and_beside_it(tmp_path):
    text = broken('"petg"', '"ours"', broken('"bench-0.4"', '"shop.toml"')) + (
        '[materials.ours]\nbase = "petg"\n[materials.ours.properties]\ndensity_g_cm3 = 1.268\n'
    )
    path = tmp_path / "campaign.toml"
    path.write_text(text, encoding="utf-8")
    shop = tmp_path / "shop.toml"
    shop.write_text('base = "bench-0.4"\nnozzle_max_c = 265\n', encoding="utf-8")
    campaign = read_campaign(path)
    material, machine = load_ground(campaign, tmp_path / "campaign.toml")
    assert (material.name, material.property("density_g_cm3").value) == ("ours", 1.268)
    assert (machine.name, machine.nozzle_max_c) == ("shop", 265.0)
    shop.write_text('base = "bench-0.4"\nnozzle_max_c = 255\n', encoding="utf-8")
    with pytest.raises(InputError, match=r"campaign\.toml:10: nozzle_c = 260 degC is above the limit"):
        read_campaign(path)
    shop.unlink()
    with pytest.raises(InputError, match=r"shop\.toml: is not there"):
        read_campaign(path)


def test_overriding_a_library_material_under_its_own_name():
    text = SIGHT_GLASS + "[materials.petg.limits]\nnozzle_c = [200, 255]\n"
    assert "nozzle_c = 260 degC is above the limit" in refused(text).what


def test_only_files_beside_the_campaign_are_opened(tmp_path):
    (tmp_path / "outside.toml").write_text('base = "petg"\n', encoding="utf-8")
    folder = tmp_path / "campaign"
    folder.mkdir()
    for name in ("../outside.toml", (tmp_path / "outside.toml").as_posix(), "..\\\\outside.toml"):
        fault = refused(broken('"petg"', f'"{name}"'), folder)
        assert "cannot be found" in fault.what


@pytest.mark.parametrize("content", [b"", b"\x00\x01\x02", b"\xff\xfe[\x00c\x00", b"[" * 2000, b"name"])
def test_files_that_are_no_campaign_are_refused(tmp_path, content):
    path = tmp_path / "campaign.toml"
    path.write_bytes(content)
    with pytest.raises(InputError, match=r"campaign\.toml"):
        read_campaign(path)


def test_byte_order_mark_and_windows_line_ends_are_read(tmp_path):
    path = tmp_path / "campaign.toml"
    path.write_bytes(b"\xef\xbb\xbf" + SIGHT_GLASS.replace("\n", "\r\n").encode())
    assert read_campaign(path) == parse_campaign(SIGHT_GLASS)


def test_the_example_of_the_ground_facts_page_works():
    page = Path(__file__).parents[3] / "docs" / "methods" / "ground-facts.md"
    example = page.read_text(encoding="utf-8").split("```toml\n")[1].split("```")[0]
    text = example.replace("[campaign]", '[campaign]\nname = "x"\nmachine = "bench-0.4"')
    folderless = parse_campaign(text + "[factors.flow_pct]\nlow = 95\nhigh = 105\n")
    assert folderless.material == "our-petg"
