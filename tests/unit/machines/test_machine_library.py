import math
import pickle

import pytest

from voidless.errors import InputError
from voidless.machines import load_machine, machine_names
from voidless.machines.library import _DATA
from voidless.machines.types import AXIS_NUMBERS, NUMBERS
from voidless.quantities import Role, names


def test_the_library_holds_the_promised_names_and_no_other():
    assert machine_names() == ("bench-0.4", "bench-0.6", "enclosed-0.4")
    assert {path.name.removesuffix(".toml") for path in _DATA.iterdir()} == set(machine_names())


@pytest.mark.parametrize("name", machine_names())
def test_every_machine_says_that_it_is_invented_and_scatters(name):
    machine = load_machine(name)
    assert "invented" in machine.notes["all"]
    assert "Assumed" in machine.notes["setting_sd"]
    assert set(machine.setting_sd) <= set(names(Role.SETTING))
    assert machine.setting_sd["nozzle_c"] == 1.5
    assert machine.setting_sd["flow_pct"] == 1.0
    assert ("chamber_c" in machine.setting_sd) == (machine.chamber_max_c > 0.0)
    assert f"{machine.nozzle_diameter_mm:g}" in name


@pytest.mark.parametrize("name", machine_names())
def test_the_largest_rate_is_what_plug_flow_leaves_a_tenth_of_the_heating_undone(name):
    """Exact solution for a cylinder: mean residual 10 % at Fo = alpha L pi / Q = 0.334413."""
    machine = load_machine(name)
    rate = 9e-8 * machine.melt_zone_length_mm * 1e-3 * math.pi / 0.334413 * 1e9
    assert machine.max_rate_mm3_s == pytest.approx(rate, rel=0.1)  # a class of machines, to the whole mm3/s


def test_only_the_enclosed_machine_heats_its_chamber():
    assert load_machine("enclosed-0.4").chamber_max_c == 90.0
    assert load_machine("bench-0.4").chamber_max_c == load_machine("bench-0.6").chamber_max_c == 0.0


def test_another_nozzle_or_filament_brings_what_follows_from_it():
    machine = load_machine(
        "ours", {"base": "bench-0.4", "nozzle_diameter_mm": 0.8, "filament_diameter_mm": 2.85}
    )
    assert machine.name == "ours"
    assert (machine.usual["layer_mm"], machine.usual["width_mm"]) == (0.4, 0.9)
    assert machine.filament_area_mm2 == pytest.approx(math.pi * 2.85**2 / 4)
    assert machine.melt_zone_mm3 == pytest.approx(machine.filament_area_mm2 * 12.0)
    assert load_machine("ours", {"base": "bench-0.4", "melt_zone_mm3": 20.0}).melt_zone_mm3 == 20.0
    own = load_machine("ours", {"base": "bench-0.4", "usual": {"layer_mm": 0.12}})
    assert (own.usual["layer_mm"], own.usual["width_mm"]) == (0.12, 0.45)


def test_overrides_from_a_file(tmp_path):
    path = tmp_path / "shop.toml"
    path.write_text('[machines.shop]\nbase = "enclosed-0.4"\nstart_gcode = """\nG28\nG29\n"""\n', "utf-8")
    machine = load_machine("shop", path)
    assert machine.start_gcode == "G28\nG29\n"
    assert machine.chamber_max_c == 90.0
    path.write_text('base = "enclosed-0.4"\nnozzle_max_c = 9000\n', "utf-8")
    with pytest.raises(InputError, match=r"shop\.toml:2: nozzle_max_c = 9000 \(expected 100 to 500\)"):
        load_machine("shop", path)


@pytest.mark.parametrize(
    ("table", "match"),
    [
        ({"base": "bench-0.5"}, "Did you mean bench-0"),
        ({}, "machine 'mine' is not in the library"),
        ({"fan": True}, "names no base .*Add base = .bench-0.4."),
        ({"base": "bench-0.4", "nozle_max_c": 300}, "Did you mean nozzle_max_c"),
        ({"base": "bench-0.4", "fan": 1}, "true or false"),
        ({"base": "bench-0.4", "start_gcode": 1}, "a text"),
        ({"base": "bench-0.4", "usual": 1}, "single value"),
        ({"base": "bench-0.4", "usual": {"clarity": 1}}, "not a setting"),
        ({"base": "bench-0.4", "setting_sd": {"nozzle_c": -1}}, "0 to 1000"),
        ({"base": "bench-0.4", "setting_sd": {"nozzle": 1}}, "Did you mean nozzle_c"),
        ({"base": "bench-0.4", "speed_max_mm_s": 100}, "one number each for x, y, z, e"),
        ({"base": "bench-0.4", "speed_max_mm_s": [100, 100, 10]}, "one number each"),
        ({"base": "bench-0.4", "filament_diameter_mm": "1.75"}, "= .1.75. .expected a finite number"),
    ],
)
def test_wrong_overrides_are_refused_with_the_remedy(table, match):
    with pytest.raises(InputError, match=match):
        load_machine("mine", table)


@pytest.mark.parametrize("key", [*NUMBERS, *AXIS_NUMBERS])
def test_every_number_is_checked(key):
    for wrong in (math.nan, -1.0, 1e9):
        value = [wrong] * 4 if key in AXIS_NUMBERS else wrong
        with pytest.raises(InputError, match=key):
            load_machine("mine", {"base": "bench-0.4", key: value})


def test_machines_travel_between_processes():
    machine = load_machine("enclosed-0.4")
    assert pickle.loads(pickle.dumps(machine)) == machine
