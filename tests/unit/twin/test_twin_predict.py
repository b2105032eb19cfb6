"""`predict`: wiring and honesty. The directions that practitioners report: tests/verification."""

import tomllib
from pathlib import Path

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
PRACTICE = tomllib.loads(
    (Path(__file__).parents[2] / "data/common-practice/settings.toml").read_text(encoding="utf-8")
)


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


@pytest.mark.parametrize("material", material_names())
def test_no_weld_is_told_stronger_than_its_polymer(material):
    """Thick narrow beads are out of range, so the twin's own error is three times as wide; the bulk still bounds it."""
    polymer = load_material(material)
    thick = default_settings(polymer, MACHINE) | {"layer_mm": 0.3, "width_mm": 0.4}
    found = predict(thick, polymer, MACHINE).responses
    log_sd = next(prior_sd(item, polymer, MACHINE) for item in PARAMETERS if item.name == "strength_log")
    bulk = 1e-6 * ground_of(polymer, MACHINE).strength * np.exp(3.0 * log_sd)
    for name in ("strength_z_mpa", "strength_across_mpa"):
        assert found[name].high[0] <= bulk
    assert found["z_ratio"].high[0] < 1.5
    assert found["z_ratio"].high[0] > found["z_ratio"].mean[0]


def test_a_plate_passes_no_more_than_its_faces():
    """(1 - R)/(1 + R), R = ((n - 1)/(n + 1))²: 90.6 % for an index of 1.567 (Born and Wolf, from memory)."""
    petg = load_material("petg")
    index = ground_of(petg, MACHINE).index
    face = ((index - 1.0) / (index + 1.0)) ** 2
    found = predict({**PRACTICE, "flow_pct": np.linspace(98.0, 108.0, 21)}, petg, MACHINE).responses
    assert np.all(found["transmittance_pct"].high <= 100.0 * (1.0 - face) / (1.0 + face) + 1e-9)


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


# ---- views ----


def test_views_of_a_plate():
    """Sides of layers are diffusers until wetted; along the beads channels are seen end on and do least."""
    petg = load_material("petg")
    columns = {name: np.array([value]) for name, value in (PRACTICE | {"flow_pct": 99.0}).items()}

    def clarity(view, surface):
        context = context_of({"view": view, "surface": surface})
        return float(run_chain(columns, ground_of(petg, MACHINE), context, {}).light.clarity[0])

    assert clarity(2.0, 1.0) < 0.3 < clarity(0.0, 1.0)
    assert clarity(1.0, 0.0) > clarity(2.0, 0.0) == pytest.approx(clarity(0.0, 0.0))
    with pytest.raises(InputError, match="view = 3"):
        context_of({"view": 3.0})


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
        (
            "petg",
            {"nozzle_c": 195.0, "speed_mm_s": 140.0, "layer_mm": 0.3},
            "more than 20 MPa before the nozzle",
        ),
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


def test_wet_polyester_cuts_its_chains_and_widens_strength():
    """Where water may cut chains strength is less certain; not with a dry spool, nor where water does no harm."""

    def found(material, hours):
        polymer = load_material(material)
        context = {"exposure_h": hours, "humidity_pct": 80.0}
        return predict(PRACTICE | {"nozzle_c": 245.0}, polymer, MACHINE, context)

    def told(prediction):
        return any("chains in the hot end" in sentence for sentence in prediction.outside_range)

    wet, dry = found("petg", 200.0), found("petg", 0.0)
    assert told(wet)
    assert not told(dry)
    assert not told(found("abs", 200.0))
    for name in ("strength_xy_mpa", "strength_z_mpa"):
        width = [float(item.responses[name].sd[0]) for item in (wet, dry)]
        assert width[0] > 1.1 * width[1]
        mean = [float(item.responses[name].mean[0]) for item in (wet, dry)]
        assert mean[0] <= mean[1]  # wet filament is not stronger, if only less certain
