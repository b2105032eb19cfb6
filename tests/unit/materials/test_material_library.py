import math
import pickle

import pytest

from voidless.errors import InputError
from voidless.materials import load_material, material_names
from voidless.materials.library import _DATA
from voidless.materials.properties import PROPERTIES
from voidless.materials.types import MARKS, SPREAD_KINDS, Property
from voidless.tomlfile import parse_document
from voidless.units import unit

NEEDED = (
    "density_g_cm3", "melt_density_g_cm3", "glass_transition_c", "conductivity_w_mk",
    "heat_capacity_solid_j_kgk", "heat_capacity_melt_j_kgk", "expansion_1e6_k", "viscosity_ref_pa_s",
    "viscosity_ref_c", "flow_activation_kj_mol", "shear_thinning_index", "cross_tau_pa",
    "surface_tension_mn_m", "surface_tension_slope_mn_m_k", "weld_time_ref_s", "weld_time_ref_c", "wlf_c1",
    "wlf_c2_k", "wlf_ref_c", "strength_mpa", "modulus_gpa", "water_saturation_pct",
    "water_diffusivity_m2_s", "water_activation_kj_mol", "degradation_rate_ref_1_s", "degradation_ref_c",
    "degradation_activation_kj_mol",
)  # fmt: skip
OF_CLEAR = ("refractive_index", "absorption_1_m")
OF_CRYSTALS = ("melting_c", "heat_of_fusion_j_g")


def test_the_library_holds_the_promised_names_and_no_other():
    assert material_names() == (
        "pla", "petg", "pctg", "abs", "asa", "pc", "pmma", "pp", "pa6", "pa12", "tpu"
    )  # fmt: skip
    files = {path.name.removesuffix(".toml") for path in _DATA.iterdir()} - {"sources"}
    assert files == set(material_names())


@pytest.mark.parametrize("name", material_names())
def test_every_property_carries_its_evidence(name):
    material = load_material(name)
    assert set(NEEDED) <= set(material.properties)
    assert not material.clear or set(OF_CLEAR) <= set(material.properties)
    assert not material.crystallises or set(OF_CRYSTALS) <= set(material.properties)
    for known in material.properties.values():
        assert known.mark in MARKS
        assert known.spread_kind in SPREAD_KINDS
        assert known.unit == PROPERTIES[known.name].unit
        assert len(known.source) > 20, "a citation, not a key"
        assert known.valid
        assert math.isfinite(known.si)
        assert math.isfinite(known.sd)
        if known.mark == "assumed" and known.spread_kind == "factor":
            assert known.spread >= 1.2, "what nobody measured is wide"


@pytest.mark.parametrize("name", material_names())
def test_reference_temperatures_lie_where_the_polymer_is_a_melt(name):
    material = load_material(name)
    low, high = material.limits["nozzle_c"]
    assert low <= material.property("viscosity_ref_c").value <= high
    assert material.property("glass_transition_c").value < low
    if material.has("melting_c"):
        assert material.property("melting_c").value < low + 20.0
    assert material.si("melt_density_g_cm3") < material.si("density_g_cm3")
    assert low < material.usual["nozzle_c"] < high


def test_every_citation_is_used_and_every_unit_is_known():
    sources = parse_document((_DATA / "sources.toml").read_text(encoding="utf-8"), "sources").data
    used = {
        entry["source"]
        for name in material_names()
        for entry in parse_document((_DATA / f"{name}.toml").read_text(encoding="utf-8"), name)
        .data["properties"]
        .values()
    }
    assert used == set(sources)
    for known in PROPERTIES.values():
        unit(known.unit)


@pytest.mark.parametrize(
    ("name", "si"),
    [
        ("density_g_cm3", 1270.0),
        ("glass_transition_c", 352.65),
        ("surface_tension_mn_m", 0.039),
        ("flow_activation_kj_mol", 72_500.0),
        ("expansion_1e6_k", 59.5e-6),
        ("strength_mpa", 51e6),
        ("modulus_gpa", 2.1e9),
        ("water_saturation_pct", 0.0055),
        ("wlf_c2_k", 51.6),
    ],
)
def test_si_values_follow_the_unit(name, si):
    assert load_material("petg").si(name) == pytest.approx(si, rel=1e-12)


def test_spreads_are_turned_to_standard_deviations():
    def of(value, spread, kind):
        return Property("modulus_gpa", value, "GPa", spread, kind, "", "", "memory")

    assert of(2.0, 0.1, "sd").sd == 0.1
    assert of(2.0, 0.3, "range").sd == pytest.approx(0.3 / math.sqrt(3.0))
    assert of(2.0, 3.0, "factor").log_sd == pytest.approx(math.log(3.0) / 1.959964)
    assert of(2.0, 0.1, "sd").si_sd == pytest.approx(0.1e9)
    assert of(2.0, 0.1, "sd").log_sd == pytest.approx(0.05)


def test_what_is_not_known_is_an_error_not_a_zero():
    with pytest.raises(InputError, match="melting_c is not known"):
        load_material("petg").si("melting_c")
    with pytest.raises(InputError, match="Did you mean strength_mpa"):
        load_material("petg").property("strenght_mpa")
    assert not load_material("petg").has("melting_c")


def test_overrides_are_partial_and_keep_what_they_do_not_name():
    ours = load_material("petg", {"properties": {"density_g_cm3": {"value": 1268.0, "unit": "kg/m3",
                                                                   "source": "own balance"}},
                                  "usual": {"nozzle_c": 235}, "limits": {"nozzle_c": [200, 270]},
                                  "clear": False, "title": "ours"})  # fmt: skip
    plain = load_material("petg")
    density = ours.property("density_g_cm3")
    assert density.value == pytest.approx(1.268)
    assert (density.spread, density.spread_kind) == (0.01, "range")
    assert (density.source, density.mark) == ("own balance", "seen")
    assert ours.usual == {**plain.usual, "nozzle_c": 235.0}
    assert ours.limits["nozzle_c"] == (200.0, 270.0)
    assert (ours.clear, ours.title) == (False, "ours")
    assert ours.property("strength_mpa") == plain.property("strength_mpa")


def test_a_spread_is_converted_with_its_value_and_has_no_offset():
    ours = load_material("petg", {"properties": {
        "density_g_cm3": {"value": 1268, "spread": 2, "unit": "kg/m3", "kind": "sd"},
        "glass_transition_c": {"value": 80, "spread": 1, "unit": "degC"},
        "weld_time_ref_s": {"value": 0.01, "spread": 5, "unit": "min"},
    }})  # fmt: skip
    assert ours.property("density_g_cm3").spread == pytest.approx(0.002)
    assert ours.property("glass_transition_c").spread == pytest.approx(1.0)
    assert (ours.property("weld_time_ref_s").value, ours.property("weld_time_ref_s").spread) == (0.6, 5.0)


def test_a_number_without_source_is_marked_assumed():
    ours = load_material("mine", {"base": "petg", "properties": {"density_g_cm3": 1.268}})
    assert ours.name == "mine"
    assert ours.property("density_g_cm3").mark == "assumed"
    assert "names no source" in ours.property("density_g_cm3").source


def test_overrides_from_a_file_name_its_line(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text('[materials.mine]\nbase = "petg"\n[materials.mine.properties]\nwlf_c1 = 15\n', "utf-8")
    assert load_material("mine", path).property("wlf_c1").value == 15.0
    path.write_text('base = "petg"\n[properties]\nwlf_c1 = 150\n', "utf-8")
    with pytest.raises(InputError, match=r"mine\.toml:3: wlf_c1 = 150 1 \(expected 1 to 60\)"):
        load_material("mine", path)


@pytest.mark.parametrize(
    ("table", "match"),
    [
        ({"base": "petgg"}, "Did you mean petg"),
        ({}, "material 'mine' is not in the library"),
        ({"title": "x"}, "names no base .*Add base = .petg."),
        ({"base": 3}, "not in the library"),
        ({"base": "petg", "colour": "red"}, "'colour' is not a key here"),
        ({"base": "petg", "density_g_cm3": 1.29}, "belongs into the table `properties`"),
        ({"base": "petg", "nozzle_c": 235.0}, "belongs into the table `usual`"),
        ({"base": "petg", "clear": 1}, "true or false"),
        ({"base": "petg", "usual": {"nozle_c": 230}}, "Did you mean nozzle_c"),
        ({"base": "petg", "usual": {"nozzle_c": math.nan}}, "a finite number"),
        ({"base": "petg", "usual": {"nozzle_c": 900}}, "100 to 500"),
        ({"base": "petg", "usual": 3}, "is a single value"),
        ({"base": "petg", "limits": {"nozzle_c": [250, 200]}}, "low below high"),
        ({"base": "petg", "limits": {"nozzle_c": 250}}, "low, high"),
        ({"base": "petg", "limits": {"clarity": [0, 1]}}, "not a setting"),
        ({"base": "petg", "drying": {"temp_c": 500}}, "0 to 200 degC"),
        ({"base": "petg", "properties": {"densty": 1.2}}, "'densty' is not a key here"),
        (
            {"base": "petg", "properties": {"density_g_cm3": "1.2"}},
            "density_g_cm3 = .1.2. .expected a finite number",
        ),
        ({"base": "petg", "properties": {"density_g_cm3": {"value": 1.2, "unit": "mm"}}}, "density"),
        ({"base": "petg", "properties": {"density_g_cm3": {"spread": -1}}}, "spread of density_g_cm3"),
        ({"base": "petg", "properties": {"weld_time_ref_s": {"spread": 0.5}}}, "at least 1 for a factor"),
        ({"base": "petg", "properties": {"density_g_cm3": {"kind": "about"}}}, "one of sd, factor, range"),
        ({"base": "petg", "properties": {"density_g_cm3": {"mark": "sure"}}}, "one of seen"),
        ({"base": "petg", "properties": {"density_g_cm3": {"vlaue": 1}}}, "Did you mean value"),
        ({"base": "petg", "properties": {"melting_c": 250}}, "lacks spread, kind"),
    ],
)
def test_wrong_overrides_are_refused_with_the_remedy(table, match):
    with pytest.raises(InputError, match=match):
        load_material("mine", table)


def test_materials_travel_between_processes():
    material = load_material("pc")
    assert pickle.loads(pickle.dumps(material)) == material
