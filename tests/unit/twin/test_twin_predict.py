"""`predict`: wiring, honesty, and the directions that practitioners report."""

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.machines import load_machine, machine_names
from voidless.materials import load_material, material_names
from voidless.quantities import QUANTITIES, Role
from voidless.settings import default_settings
from voidless.twin.chain import responses_of, run_chain
from voidless.twin.context import context_of
from voidless.twin.fast import predict
from voidless.twin.ground import ground_of
from voidless.twin.links import LINKS, RESPONSES
from voidless.twin.parameters import PARAMETERS, prior_sd

MACHINE = load_machine("bench-0.4")
# Common practice, no source: clear copolyester, 0.12 mm layers, 0.5 mm beads, one contour.
PRACTICE = {
    "layer_mm": 0.12,
    "width_mm": 0.5,
    "flow_pct": 102.0,
    "contours": 1.0,
    "raster_deg": 0.0,
    "raster_step_deg": 0.0,
    "overlap_pct": 20.0,
    "nozzle_c": 230.0,
    "bed_c": 75.0,
    "chamber_c": 0.0,
    "fan_pct": 0.0,
    "speed_mm_s": 15.0,
}
SMALL = {"upright_area_mm2": 40.0, "upright_slenderness_1_mm": 0.7, "upright_height_mm": 30.0}


def means(name, values, context=None, material="petg", **settings):
    """Return the responses at the parameters' means while one setting moves."""
    values = np.asarray(values, dtype=float)
    columns = {key: np.full(values.size, value) for key, value in (PRACTICE | settings).items()}
    columns[name] = values
    ground = ground_of(load_material(material), MACHINE)
    return responses_of(run_chain(columns, ground, context_of(context or {}), {}))


@pytest.mark.parametrize("material", material_names())
def test_every_material_on_every_machine_gives_finite_ordered_bands(material):
    """No response is NaN, out of its possible range, or outside its own band."""
    polymer = load_material(material)
    for machine in map(load_machine, machine_names()):
        found = predict(default_settings(polymer, machine), polymer, machine)
        for name, item in found.responses.items():
            quantity = QUANTITIES[name]
            assert quantity.role is Role.RESPONSE
            assert np.all(np.isfinite([item.mean, item.sd, item.low, item.high])), name
            assert item.low[0] <= item.mean[0] <= item.high[0], name
            assert quantity.low <= item.low[0], name
            assert item.high[0] <= quantity.high, name
            assert item.sd[0] > 0.0, name


def test_responses_are_those_promised():
    """Clear polymers get them all; opaque ones lose the optics, and are told so."""
    clear = predict(PRACTICE, load_material("petg"), MACHINE)
    assert tuple(clear.responses) == RESPONSES
    opaque = predict(PRACTICE | {"nozzle_c": 245.0}, load_material("abs"), MACHINE)
    assert not {"clarity", "haze_pct", "transmittance_pct", "yellowness"} & set(opaque.responses)
    assert any("not clear" in sentence for sentence in opaque.outside_range)


def test_the_same_question_gets_the_same_answer():
    """Draws are fixed."""
    first, again = (predict(PRACTICE, load_material("petg"), MACHINE) for _ in range(2))
    assert first.responses["clarity"].mean[0] == again.responses["clarity"].mean[0]


def test_one_setting_or_many_give_the_same():
    """Chunks do not change a row."""
    many = {**PRACTICE, "flow_pct": np.linspace(95.0, 110.0, 40)}
    petg = load_material("petg")
    together, alone = predict(many, petg, MACHINE), predict({**PRACTICE, "flow_pct": 110.0}, petg, MACHINE)
    for name in RESPONSES:
        assert together.responses[name].mean[-1] == pytest.approx(alone.responses[name].mean[0], rel=1e-9)


def test_bands_are_those_of_brute_sampling():
    """Quasi-random bands against 20,000 plain draws of parameters alone: standard deviations within 15 %."""
    petg = load_material("petg")
    rng = np.random.default_rng(3)
    count = 20_000
    theta = {p.name: prior_sd(p, petg, MACHINE) * rng.standard_normal(count) for p in PARAMETERS}
    columns = {name: np.full(count, value) for name, value in PRACTICE.items()}
    drawn = responses_of(run_chain(columns, ground_of(petg, MACHINE), context_of({}), theta))
    found = predict(PRACTICE, petg, MACHINE).responses
    for name in ("strength_xy_mpa", "strength_z_mpa", "clarity", "size_error_mm"):
        link = LINKS[name]
        own = link.discrepancy * link.slope(np.mean(drawn[name]))
        expected = np.hypot(drawn[name].std(), float(np.ravel(own)[0]))
        assert found[name].sd[0] == pytest.approx(expected, rel=0.15), name


def test_missing_and_impossible_input_is_refused():
    """A setting is missing, a bead is narrower than high, a context is unknown or NaN."""
    petg = load_material("petg")
    with pytest.raises(InputError, match="no value for flow_pct"):
        predict({k: v for k, v in PRACTICE.items() if k != "flow_pct"}, petg, MACHINE)
    for wrong in ({"width_mm": 0.1}, {"flow_pct": np.nan}, {"speed_mm_s": 0.0}):
        with pytest.raises(InputError, match="a bead that cannot be laid"):
            predict(PRACTICE | wrong, petg, MACHINE)
    with pytest.raises(InputError, match="is no context"):
        predict(PRACTICE, petg, MACHINE, {"thicknes_mm": 3.0})
    with pytest.raises(InputError, match="exposure_h = nan"):
        predict(PRACTICE, petg, MACHINE, {"exposure_h": float("nan")})


# ---- common practice, no source: directions ----


def test_clarity_rises_with_flow_and_then_gains_no_more():
    """Very good a little above 100 %; beyond it size and roughness grow and clarity does not."""
    found = means("flow_pct", [96.0, 98.0, 100.0, 102.0, 104.0, 110.0])
    assert np.all(np.diff(found["clarity"][:4]) > 0.0)
    assert np.all(np.diff(found["clarity"][3:]) < 0.0)
    assert np.all(np.diff(found["size_error_mm"]) > 0.0)


def test_cold_nozzle_prints_badly():
    """
    215 °C: more voids, less clear, weaker across the beads and less healed than 230 °C.

    Strength through small bars is no witness: without a fan the hotter one sags.
    """
    found = means("nozzle_c", [215.0, 230.0])
    assert found["void_pct"][0] > found["void_pct"][1]
    for name in ("clarity", "strength_across_mpa", "healing"):
        assert found[name][0] < found[name][1], name


def test_hot_nozzle_gets_milky_and_the_more_the_wetter():
    """Where gaps are closed (104 %), 250 °C is hazier than 230 °C; wet filament loses more."""
    dry, wet = (means("nozzle_c", [230.0, 250.0], {"exposure_h": h}, flow_pct=104.5) for h in (0.0, 10.0))
    loss = [float(f["clarity"][0] - f["clarity"][1]) for f in (dry, wet)]
    assert 0.0 < loss[0] < loss[1]


def test_too_hot_for_too_long_browns():
    """Yellowness grows with temperature and with residence."""
    assert np.all(np.diff(means("nozzle_c", [230.0, 260.0, 280.0])["yellowness"]) > 0.0)
    assert np.all(np.diff(means("speed_mm_s", [60.0, 15.0, 5.0], nozzle_c=270.0)["yellowness"]) > 0.0)


def test_fan_makes_somewhat_milky():
    """Fan 0 is clearest; 20 to 100 % loses some, not most."""
    clarity = means("fan_pct", [0.0, 20.0, 100.0])["clarity"]
    assert np.all(np.diff(clarity) < 0.0)
    assert clarity[-1] > 0.7 * clarity[0]


def test_slow_is_less_clear_and_fast_loses_little():
    """5 and 10 mm/s are less clear than 15; 60 loses little."""
    clarity = means("speed_mm_s", [5.0, 10.0, 15.0, 60.0])["clarity"]
    assert clarity[0] < clarity[1] < clarity[2]
    assert clarity[3] > 0.85 * clarity[2]


def test_bubbles_grow_with_residence():
    """A third of the speed is three times the residence and well over 1.5 times the bubbles."""
    speeds = np.array([5.0, 15.0])
    columns = {key: np.full(2, value) for key, value in PRACTICE.items()} | {"speed_mm_s": speeds}
    chain = run_chain(columns, ground_of(load_material("petg"), MACHINE), context_of({}), {})
    assert chain.melt.residence[0] == pytest.approx(3.0 * chain.melt.residence[1], rel=1e-3)
    assert chain.melt.bubbles[0] > 1.5 * chain.melt.bubbles[1]


def test_exposure_only_harms():
    """The longer out of the dryer, the worse."""
    clarity = [
        float(means("flow_pct", [104.0], {"exposure_h": h})["clarity"][0]) for h in (0.0, 2.0, 10.0, 50.0)
    ]
    assert np.all(np.diff(clarity) < 0.0)


def test_a_little_fan_helps_small_upright_bars_by_shape_and_not_by_healing():
    """Ratio rises from no fan to 30 % on small bars although healing falls."""
    found = means("fan_pct", [0.0, 30.0], SMALL)
    assert found["z_ratio"][1] > found["z_ratio"][0]
    assert found["healing"][1] < found["healing"][0]


def test_ratios_of_practice_lie_within_the_bands():
    """0.75 at 230 °C, 102 %, no fan; ordinary solid fill 0.65; thicker round bars 0.92."""
    petg = load_material("petg")
    void_free = predict(PRACTICE, petg, MACHINE).responses["z_ratio"]
    ordinary = predict(
        PRACTICE
        | {"flow_pct": 98.0, "fan_pct": 40.0, "nozzle_c": 235.0, "speed_mm_s": 40.0, "layer_mm": 0.2},
        petg,
        MACHINE,
    ).responses["z_ratio"]
    round_bar = {"upright_area_mm2": 110.0, "upright_slenderness_1_mm": 0.33}
    thick = predict(PRACTICE, petg, MACHINE, round_bar).responses["z_ratio"]
    for band, value in ((void_free, 0.75), (ordinary, 0.65), (thick, 0.92)):
        assert band.low[0] <= value <= band.high[0]


def test_ordinary_fill_is_weaker_in_plane_than_void_free():
    """52 against 59 MPa: ratio 0.88; the twin's drop lies between 0.8 and 1."""
    strength = means("flow_pct", [96.0, 104.0])["strength_xy_mpa"]
    assert 0.8 < strength[0] / strength[1] < 1.0


# ---- explanation ----


def test_chain_of_losses_adds_up():
    """What the stages lose is what is missing of the whole."""
    petg = load_material("petg")
    picture = predict(PRACTICE, petg, MACHINE).chain
    columns = {name: np.array([value]) for name, value in PRACTICE.items()}
    chain = run_chain(columns, ground_of(petg, MACHINE), context_of({}), {})
    assert 1.0 - sum(picture["strength_z_mpa"].values()) == pytest.approx(
        float(chain.body.through[0]) / ground_of(petg, MACHINE).strength, rel=1e-9
    )
    light = chain.light
    depth = light.depth_gaps + light.depth_bubbles + light.depth_surface + light.depth_bulk
    assert 1.0 - sum(picture["clarity"].values()) == pytest.approx(float(np.exp(-depth[0])), rel=1e-9)


def test_advice_names_the_biggest_loss_first():
    """Starved: gaps and more flow. Wet: bubbles and drying."""
    petg = load_material("petg")
    starved = predict(PRACTICE | {"flow_pct": 97.0}, petg, MACHINE).advice
    assert starved[0].startswith("Gaps between beads")
    assert "flow_pct +2" in starved[0]
    assert "0." in starved[0]
    wet = predict(
        PRACTICE | {"flow_pct": 105.0}, petg, MACHINE, {"exposure_h": 100.0, "humidity_pct": 80.0}
    ).advice
    assert wet[0].startswith("Bubbles")
    assert "Dry the spool" in wet[0]


@pytest.mark.parametrize(
    ("material", "change", "words"),
    [
        ("petg", {"nozzle_c": 300.0}, "range in which this polymer is processed"),
        ("petg", {"speed_mm_s": 120.0, "layer_mm": 0.3}, "10 % short of its heating"),
        ("petg", {"flow_pct": 80.0}, "Flow below 90 %"),
        ("petg", {"layer_mm": 0.32, "width_mm": 0.4}, "less than 1.5 times as wide"),
        ("petg", {"bed_c": 90.0}, "bed is within 5 K"),
        ("pp", {}, "crystallises"),
        ("petg", {"speed_mm_s": 60.0}, "stays above its softening temperature"),
    ],
)
def test_leaving_a_range_is_said(material, change, words):
    """Each range has its sentence, and settings inside do not carry it."""
    found = predict(PRACTICE | change, load_material(material), MACHINE)
    assert any(words in sentence for sentence in found.outside_range)
    inside = PRACTICE | {"bed_c": 65.0, "fan_pct": 30.0}
    assert not any(
        words in sentence for sentence in predict(inside, load_material("petg"), MACHINE).outside_range
    )


def test_bands_widen_outside():
    """Starved far outside the fill model: the log band of strength is wider than inside."""
    petg = load_material("petg")
    inside, outside = (
        predict(PRACTICE | {"flow_pct": f}, petg, MACHINE).responses["strength_xy_mpa"] for f in (95.0, 85.0)
    )
    width = [float(np.log(r.high[0] / r.low[0])) for r in (inside, outside)]
    assert width[1] > 1.1 * width[0]
