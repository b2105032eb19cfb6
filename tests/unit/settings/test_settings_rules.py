import math
import time

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.machines import load_machine, machine_names
from voidless.materials import load_material, material_names
from voidless.quantities import Role, names
from voidless.settings import default_settings, derived, feasible, problems, resolve
from voidless.settings.rules import Ground, rules

PETG, BENCH = load_material("petg"), load_machine("bench-0.4")


def ground(name="bench-0.4", material="petg", **changed):
    return load_material(material), load_machine("ours", {"base": name, **changed})


@pytest.mark.parametrize("machine", machine_names())
@pytest.mark.parametrize("material", material_names())
def test_usual_settings_are_complete_and_keep_every_rule(material, machine):
    settings = resolve({}, load_material(material), load_machine(machine))
    assert tuple(settings) == names(Role.SETTING)
    assert all(type(value) is float for value in settings.values())


def test_usual_settings_follow_what_the_machine_has():
    abs_ = load_material("abs")
    assert default_settings(abs_, load_machine("enclosed-0.4"))["chamber_c"] == 60.0
    assert default_settings(abs_, BENCH)["chamber_c"] == 0.0
    assert default_settings(*ground(fan=False))["fan_pct"] == 0.0
    assert default_settings(load_material("tpu"), BENCH)["speed_mm_s"] == 25.0
    assert default_settings(PETG, load_machine("bench-0.6"))["layer_mm"] == 0.3


def test_derived_geometry():
    """
    Check values: stadium h 0.2, w 0.45 (exact): A 0.0814159 mm2, pitch 0.4070796 mm, to the printed digits.
    """
    made = derived(default_settings(PETG, BENCH), BENCH)
    assert made["bead_area_mm2"] == pytest.approx(0.0814159, abs=5e-8)
    assert made["pitch_mm"] == pytest.approx(0.4070796, abs=5e-8)
    assert made["rate_mm3_s"] == pytest.approx(0.0814159 * 40.0, abs=2e-6)
    assert made["bead_area_mm2"] == pytest.approx(0.2 * (0.45 - 0.2) + math.pi * 0.2**2 / 4, rel=1e-12)
    columns = {"layer_mm": np.array([0.2, 0.3]), "width_mm": 0.45, "flow_pct": 100.0, "speed_mm_s": 40.0}
    assert derived(columns)["rate_mm3_s"].shape == (2,)


@pytest.mark.parametrize(
    ("written", "text"),
    [
        (
            {"nozzle_c": 305},
            "nozzle_c = 305 degC is above the limit (expected at most 300 degC: the hot end of",
        ),
        ({"nozzle_c": 295}, "at most 290 degC: the range in which petg melts and lasts"),
        ({"nozzle_c": 180}, "nozzle_c = 180 degC is below the limit (expected at least 190 degC"),
        ({"bed_c": 120}, "bed_c = 120 degC is above the limit (expected at most 110 degC"),
        ({"chamber_c": 40}, "heats no chamber). Leave it at 0, or name a machine with a heated chamber."),
        (
            {"layer_mm": 0.33},
            "layer_mm = 0.33 mm is above the limit (expected at most 0.32 mm: 0.15 to 0.8 x",
        ),
        ({"layer_mm": 0.05}, "at least 0.06 mm"),
        ({"width_mm": 0.31}, "width_mm = 0.31 mm is below the limit (expected at least 0.32 mm"),
        ({"width_mm": 0.81}, "at most 0.8 mm"),
        ({"speed_mm_s": 201}, "at most 200 mm/s: the slower of the axes x and y"),
        ({"speed_mm_s": 150}, "rate_mm3_s = 12.2124 mm3/s is above the limit (expected at most 11 mm3/s"),
        ({"contours": 1.5}, "contours = 1.5 is outside the limit (expected 0 to 50: a whole number"),
        ({"contours": -1}, "contours = -1 is below the limit"),
        ({"fan_pct": 101}, "fan_pct = 101 %"),
        ({"flow_pct": math.nan}, "flow_pct = nan %"),
    ],
)
def test_errors_name_value_limit_and_remedy(written, text):
    with pytest.raises(InputError) as caught:
        resolve(written, PETG, BENCH, "campaign.toml:14")
    assert str(caught.value).startswith("campaign.toml:14: ")
    assert text in str(caught.value)
    assert caught.value.remedy


def test_other_machines_bring_other_limits():
    assert "no part-cooling fan" in str(problems({"fan_pct": 1.0}, *ground(fan=False))[0])
    assert not problems({"chamber_c": 90.0}, *ground("enclosed-0.4"))
    assert "the chamber of ours" in str(problems({"chamber_c": 91.0}, *ground("enclosed-0.4"))[0])
    material, machine = ground(speed_max_mm_s=[200, 200, 12, 1])
    found = problems(default_settings(material, machine), material, machine)
    assert "the drive of ours feeds at 1 mm/s" in str(found[0])


def test_a_bead_is_at_least_as_wide_as_its_layer_is_thick():
    material, machine = ground(nozzle_diameter_mm=1.0)
    found = problems({"layer_mm": 0.8, "width_mm": 0.8}, material, machine)
    assert not found
    material, machine = load_material("petg"), load_machine("bench-0.4")
    wide = problems({"layer_mm": 0.5, "width_mm": 0.45}, material, machine)
    assert any("as wide as thick" in str(fault) for fault in wide)


def test_limits_themselves_are_allowed_and_a_campaign_may_set_its_own_rate():
    assert resolve({"layer_mm": 0.32}, PETG, BENCH)["layer_mm"] == 0.32
    small = ground(nozzle_diameter_mm=0.35)  # 0.8 x 0.35 is 0.27999999999999997 in binary
    assert not problems({"layer_mm": 0.28}, *small)
    assert resolve({"nozzle_c": 290}, PETG, BENCH)
    with pytest.raises(InputError, match=r"at most 3 mm3/s: the campaign's limit rate_mm3_s"):
        resolve({}, PETG, BENCH, rate_limit=3.0)


def test_unknown_names_are_refused_with_the_nearest():
    with pytest.raises(InputError, match="Did you mean nozzle_c"):
        resolve({"nozle_c": 230}, PETG, BENCH)
    with pytest.raises(InputError, match="'rate_mm3_s' is not a setting"):
        resolve({"rate_mm3_s": 5}, PETG, BENCH)


def test_a_value_that_is_no_number_is_named_once():
    assert len(problems({"nozzle_c": math.nan}, PETG, BENCH)) == 1


def test_no_usual_value_is_an_error_not_a_guess():
    lacking = load_machine("bench-0.4")
    lacking.usual.pop("flow_pct")
    with pytest.raises(InputError, match="no usual value of flow_pct"):
        default_settings(PETG, lacking)


def test_columns_take_usual_values_for_what_they_lack_and_refuse_what_is_no_number():
    columns = {"nozzle_c": np.array([180.0, 190.0, 240.0, 291.0, np.nan, np.inf])}
    assert feasible(columns, PETG, BENCH).tolist() == [False, True, True, False, False, False]
    assert not feasible({"nozzle_c": np.array([240.0])}, PETG, BENCH, rate_limit=3.0)[0]


def test_every_rule_can_be_broken():
    """A rule that no settings break would be decoration; each is broken once, alone or with others."""
    material, machine = ground("bench-0.4")
    usual = default_settings(material, machine)
    reach = {"layer_mm": 1.9, "width_mm": 4.9, "speed_mm_s": 1999.0, "flow_pct": 299.0}
    for rule in rules(Ground(material, machine, 5.0)):
        tried = []
        for name in rule.settings:
            for value in (-1e6, 1e6, reach.get(name, 249.0), 0.5, 499.0):
                tried.append({**usual, name: value})
        assert any(not rule.holds(settings) for settings in tried), rule.limit


def test_a_hundred_thousand_rows_take_less_than_half_a_second():
    rng = np.random.default_rng(0)
    columns = {"nozzle_c": rng.uniform(150, 350, 100_000), "speed_mm_s": rng.uniform(1, 300, 100_000)}
    start = time.perf_counter()
    assert 0 < feasible(columns, PETG, BENCH).sum() < 100_000
    assert time.perf_counter() - start < 0.5
