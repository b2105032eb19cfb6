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
