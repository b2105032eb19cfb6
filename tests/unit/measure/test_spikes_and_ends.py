"""Single readings that stand apart, and records that end while the force still rises."""

import numpy as np
import pytest

from voidless.measure.results import Answers, RawFile
from voidless.measure.take import take_files
from voidless.measure.tensile.spikes import spikes_of


def rows(force, step=0.01, name="Force"):
    return "\n".join(f"{n / 10:.1f},{f:.2f},{step * n:.4f}" for n, f in enumerate(force))


def taken(force, name="R01_B01_bar_z_1.csv", head="Section: 40 mm2", **facts):
    text = f"{head}\nTime [s],Force [N],Travel [mm]\n{rows(force)}\n"
    (found,) = take_files([RawFile(name, text.encode())], Answers(facts=facts))
    assert found.error is None, found.error
    return found


RISE = np.concatenate([np.linspace(0.0, 2000.0, 400), np.zeros(30)]) + np.random.default_rng(6).normal(
    0.0, 0.5, 430
)


@pytest.mark.parametrize("place", [120, 300, 390])
@pytest.mark.parametrize("jump", [100.0, 1500.0, -400.0, -1500.0])
def test_a_single_reading_that_stands_apart_is_left_out_and_told(place, jump):
    force = RISE.copy()
    force[place] += jump
    whole, found = taken(RISE), taken(force)
    assert found.observations[0].value == pytest.approx(whole.observations[0].value, rel=1e-4)
    assert found.observations[0].uncertainty == pytest.approx(whole.observations[0].uncertainty, rel=0.3)
    shown = f"({round(force[place], 2):.4g} N)"
    assert [word for word in found.warnings if "single reading" in word and shown in word]
    assert not [word for word in whole.warnings if "single reading" in word]


@pytest.mark.parametrize(
    "force",
    [
        np.concatenate(
            [np.linspace(0.0, 1200.0, 13), np.linspace(1090.0, 0.0, 11)]
        ),  # few readings, sharp top
        np.concatenate([np.linspace(0.0, 900.0, 200), np.linspace(700.0, 2000.0, 300), np.zeros(20)]),  # slip
        np.concatenate(
            [np.linspace(0.0, 2000.0, 300), np.full(10, 600.0), np.zeros(20)]
        ),  # broke in two steps
        np.round(np.linspace(0.0, 500.0, 400) / 50.0 + 0.3 * (np.arange(400) % 37 == 0))
        * 50.0,  # coarse digit
    ],
)
def test_breaks_slips_and_coarse_digits_are_no_such_reading(force):
    assert spikes_of(force).size == 0


def test_many_such_readings_are_no_single_fault():
    force = RISE.copy()
    force[50:390:12] += 300.0
    found = taken(force)
    assert [word for word in found.warnings if "28 single readings" in word or "29 single readings" in word]


def test_a_record_that_ends_while_the_force_rises_gives_a_lower_limit():
    cut = taken(RISE[:250])
    assert cut.observations[0].bound.value == "lower"
    assert any("lower limit" in word for word in cut.warnings)
    assert taken(RISE).observations[0].bound.value == "exact"
    assert taken(RISE[:400], stops_at_break=1.0).observations[0].bound.value == "exact"
    plateau = np.concatenate([np.linspace(0.0, 2000.0, 200), np.linspace(2000.0, 1800.0, 300)])
    assert taken(plateau).observations[0].bound.value == "exact"


def test_a_bending_record_that_ends_early_gives_a_lower_limit():
    sizes = {"span_mm": 64.0, "width_mm": 10.0, "thickness_mm": 4.0}
    cut = taken(RISE[:250] / 10.0, "R01_B01_bend_1.csv", "x", **sizes)
    assert [o.bound.value for o in cut.observations] == ["lower"]
    assert taken(RISE / 10.0, "R01_B01_bend_1.csv", "x", **sizes).observations[0].bound.value == "exact"


@pytest.mark.parametrize("readings", [4, 8])
def test_a_zero_that_stands_off_after_the_break_counts_from_three_readings_on(readings):
    """A force that was set to zero under a preload of 60 N reads 60 N too little, as readings after the break show."""
    rng = np.random.default_rng(3)
    rise = np.linspace(0.0, 3700.0, 900)
    force = np.concatenate([rise, np.full(readings, -60.0)]) + rng.normal(0.0, 0.5, 900 + readings)
    found = taken(force)
    strength = found.observations[0]
    assert abs(strength.value - 3760.0 / 40.0) < 1.96 * strength.uncertainty
    (words,) = [word for word in found.warnings if "after the break the force stands at" in word]
    assert float(words.split(" at ")[1].split(" N")[0]) == pytest.approx(-60.0, abs=1.0)
    # A bar that swings in the grips after its break says nothing of the zero.
    swings = np.concatenate([rise, 40.0 * (-1.0) ** np.arange(readings)]) + rng.normal(
        0.0, 0.5, 900 + readings
    )
    assert "force zero" not in {
        name for name, share in taken(swings).reduced[0]["budget"].items() if share > 0
    }


def test_a_force_that_grows_to_the_end_while_the_travel_drops_is_asked_to_be_named_anew():
    force = np.concatenate([np.linspace(0.0, 2000.0, 400), np.zeros(30)])
    text = "Section: 40 mm2\nTime [s],Travel [mm],Force [N]\n" + rows(force) + "\n"
    (found,) = take_files([RawFile("R01_B01_bar_z_1.csv", text.encode())])
    assert found.error is not None
    assert "travel falls from 2000 to 0 mm at once" in found.error.what
    assert "swapped" in found.error.remedy
    # A crosshead that drives back after the break is no such thing, nor is a record that ends at its top.
    for travel in (np.concatenate([np.arange(430.0), np.linspace(429.0, 0.0, 60)]), np.arange(490.0)):
        load = np.concatenate([np.linspace(0.0, 2000.0, 430), np.zeros(60)])
        body = "\n".join(
            f"{n / 10:.1f},{f:.2f},{x:.3f}" for n, (f, x) in enumerate(zip(load, travel, strict=True))
        )
        data = f"Section: 40 mm2\nTime [s],Force [N],Travel [mm]\n{body}\n".encode()
        (plain,) = take_files([RawFile("R01_B01_bar_z_1.csv", data)])
        assert plain.error is None
