"""A check that fails later derives results anew or puts them in doubt; what was first read stays."""

import pytest

from voidless.records.store import Store

BARS = (
    "run,build,specimen,response,value,unit,uncertainty\n"
    "R01,B01,a,strength_z_mpa,30.0,MPa,0.3\n"
    "R01,B01,b,strength_z_mpa,32.0,MPa,\n"
    "R01,B01,a,void_pct,1.0,%,0.1\n"
)


@pytest.fixture
def bench(voidless, planned, tmp_path):
    """A campaign with a stored table and two instruments, and a function that logs."""
    (tmp_path / "bars.csv").write_text(BARS, encoding="utf-8")
    voidless.json("read", planned, tmp_path / "bars.csv")

    def log(*facts):
        return voidless.json("log", planned, *facts)

    log("instrument", "instrument=CELL", "kind=force")
    log("instrument", "instrument=CALIPERS")
    return log


def _used(bench, *more):
    return bench(
        "used", "instrument=CELL", "file=bars.csv", "response=strength_z_mpa", "at=2031-03-05T10:00", *more
    )


def _check(bench, day, passed, *more, instrument="CELL"):
    return bench(
        "check", f"instrument={instrument}", f"at=2031-03-{day:02d}T08:00", f"passed={passed}", *more
    )


def _values(folder, *, current=True):
    with Store.open(folder) as store:
        return {
            (row.specimen, row.key.quantity): (row.value, row.uncertainty, row.extra.get("standing"))
            for row in store.observations(current=current)
        }


def test_a_failed_check_with_a_gain_derives_what_rests_on_it_anew(bench, planned):
    """A cell that reads 2 % high: stresses go down by 1/1.02, and half of that is not known since when."""
    _used(bench, "power=1")
    assert _check(bench, 1, "yes")["results"] == []
    said = _check(bench, 9, "no", "gain=1.02", "gain_uncertainty=0.001")
    assert {row["specimen"]: row["standing"] for row in said["results"]} == {
        "a": "corrected",
        "b": "corrected",
    }
    assert "2 results were corrected" in said["said"]
    now = _values(planned)
    value, spread, standing = now["a", "strength_z_mpa"]
    moved = 30.0 * (1 - 1 / 1.02) / 3**0.5
    assert value == pytest.approx(30.0 / 1.02, rel=1e-12)
    assert spread == pytest.approx(((0.3 / 1.02) ** 2 + (value * 0.001 / 1.02) ** 2 + moved**2) ** 0.5)
    assert standing == "corrected"
    assert now["b", "strength_z_mpa"][1] is None
    assert now["a", "void_pct"] == (1.0, 0.1, None)
    with Store.open(planned) as store:
        assert sorted(row.observation.value for row in store.rows(current=False) if not row.current) == [
            30.0,
            32.0,
        ]


def test_a_failed_check_that_says_no_deviation_puts_in_doubt(bench, planned):
    _used(bench, "power=1")
    said = _check(bench, 9, "no")
    assert {row["standing"] for row in said["results"]} == {"doubtful"}
    assert _values(planned)["a", "strength_z_mpa"] == (30.0, 0.3, "doubtful")
    again = _check(bench, 9, "no", "note=repeated")
    assert again["results"] == []


@pytest.mark.parametrize(
    ("tie", "check", "why"),
    [
        (("power=1",), ("offset=4",), "reading="),
        (("power=1", "reading=3"), ("offset=4",), "offset 4"),
    ],
)
def test_what_a_correction_lacks_is_said(bench, planned, tie, check, why):
    _used(bench, *tie)
    said = _check(bench, 9, "no", *check)
    assert all(row["standing"] == "doubtful" and why in row["why"] for row in said["results"])
    assert len(said["results"]) == 2


def test_a_power_that_is_not_said_follows_from_the_kind_or_is_asked_for(bench, planned):
    """A force cell: stress goes with its reading, and how a void share does is not known; callipers say nothing."""
    tie = ("used", "file=bars.csv", "at=2031-03-05T10:00")
    said = bench(*tie, "instrument=CELL")["said"]
    assert "strength_z_mpa with power 1 of the reading, by its kind 'force'" in said
    assert "how void_pct goes with it is not known: power= says it" in said
    _check(bench, 9, "no", "gain=1.02")
    assert _values(planned)["a", "strength_z_mpa"][0] == pytest.approx(30.0 / 1.02)
    assert _values(planned)["a", "void_pct"] == (1.0, 0.1, "doubtful")
    bench(*tie, "instrument=CELL", "response=void_pct", "power=0")
    assert _values(planned)["a", "void_pct"] == (1.0, 0.1, None)  # a gain cancels in it
    bench(*tie, "instrument=CALIPERS", "response=strength_z_mpa")
    said = _check(bench, 9, "no", "gain=1.04", instrument="CALIPERS")
    assert all(row["standing"] == "doubtful" and "power=" in row["why"] for row in said["results"])


def test_the_order_of_logging_does_not_matter(bench, planned):
    """Two instruments and a tie logged after the checks: force 2 % high, area 4 % high."""
    _check(bench, 9, "no", "gain=1.02")
    _check(bench, 9, "no", "gain=1.04", instrument="CALIPERS")
    _used(bench, "power=1")
    assert _values(planned)["a", "strength_z_mpa"][0] == pytest.approx(30.0 / 1.02)
    bench("used", "instrument=CALIPERS", "file=bars.csv", "at=2031-03-05T10:00")
    assert _values(planned)["a", "void_pct"] == (
        1.0,
        0.1,
        "doubtful",
    )  # a tie of the whole file, without power
    tie = ("file=bars.csv", "response=strength_z_mpa", "at=2031-03-05T10:00")
    bench("used", "instrument=CALIPERS", "power=-1", *tie)
    value, _, _ = _values(planned)["a", "strength_z_mpa"]
    assert value == pytest.approx(30.0 / 1.02 * 1.04)


def test_a_passed_check_found_later_restores_what_was_read(bench, planned):
    _used(bench, "power=1")
    _check(bench, 9, "no", "gain=1.02")
    _check(bench, 4, "yes")
    said = _check(bench, 6, "yes")
    assert {row["standing"] for row in said["results"]} == {"restored"}
    assert _values(planned)["a", "strength_z_mpa"] == (30.0, 0.3, None)


def test_an_offset_is_taken_off_at_the_reading(bench, planned):
    """A cell that shows 10 N too much at 500 N: 490 / 500 of the stress."""
    _used(bench, "power=1", "reading=500")
    _check(bench, 9, "no", "offset=10")
    assert _values(planned)["a", "strength_z_mpa"][0] == pytest.approx(30.0 * 0.98)


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        (("used", "instrument=CELL", "file=none.csv"), "names 0 stored files"),
        (("used", "instrument=SCALE", "file=bars.csv"), "'SCALE' is not known"),
        (
            ("used", "instrument=CELL", "file=bars.csv", "response=strenght_z_mpa"),
            "Did you mean strength_z_mpa",
        ),
        (("used", "instrument=CELL", "file=bars.csv", "response=clarity"), "bars.csv gave no clarity"),
        (("used", "instrument=CELL", "file=bars.csv", "reading=-3"), "reading"),
        (("used", "instrument=CELL", "file=bars.csv", "power=1"), "one power for 2 quantities"),
        (("check", "instrument=CELL", "at=2031-03-09", "passed=no", "gain=0"), "gain = 0"),
        (("check", "instrument=CELL", "at=2031-03-09", "passed=no", "gain=nan"), "not a number"),
    ],
)
def test_what_cannot_be_is_refused(voidless, bench, planned, facts, words):
    status, _, err = voidless("log", planned, *facts)
    assert status == 2
    assert words in err
    assert _values(planned)["a", "strength_z_mpa"] == (30.0, 0.3, None)


def test_a_failed_check_says_that_it_stays_in_its_campaign(bench):
    assert "Other campaigns do not hear of it" in _check(bench, 9, "no")["said"]
    assert "Other campaigns" not in _check(bench, 10, "yes")["said"]


def test_an_offset_does_not_cancel_in_a_ratio_as_a_gain_does(bench, planned, voidless, tmp_path):
    head = "run,build,specimen,response,value,unit,uncertainty\n"
    text = f"{head}R01,B01,c,density_g_cm3,1.18,g/cm3,0.001\nR01,B01,c,strain_break_pct,3.0,%,0.1\n"
    (tmp_path / "density.csv").write_text(text, encoding="utf-8")
    voidless.json("read", planned, tmp_path / "density.csv")
    bench("instrument", "instrument=BALANCE", "kind=balance")
    tie = ("used", "file=density.csv", "at=2031-03-05T10:00")
    bench(*tie, "instrument=BALANCE", "response=density_g_cm3", "reading=4.7")
    bench(*tie, "instrument=CELL", "response=strain_break_pct")
    assert _check(bench, 9, "no", "gain=1.02", instrument="BALANCE")["results"] == []
    assert _check(bench, 9, "no", "gain=1.02", "offset=2")["results"] == []
    (told,) = _check(bench, 10, "no", "offset=0.001", instrument="BALANCE")["results"] or [{}]
    assert told == {}  # the check of the 9th comes first
    (told,) = _check(bench, 7, "no", "offset=0.001", instrument="BALANCE")["results"]
    assert told["standing"] == "doubtful"
    assert "does not cancel in a ratio" in told["why"]
