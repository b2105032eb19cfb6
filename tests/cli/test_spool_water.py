"""The moisture clock of a spool: what a stay did is told when it is logged, and beside each build."""

import re
from datetime import datetime

import pytest

from voidless.workflows.facts import run_rows
from voidless.workflows.opening import open_campaign
from voidless.workflows.spool_water import water_of


@pytest.fixture
def log(voidless, planned):
    """Log facts of a spool."""
    voidless.json("log", planned, "spool", "spool=S1")

    def logger(start, end, place, *more):
        stay = ("spool=S1", f"start=2031-03-{start}", f"end=2031-03-{end}", f"place={place}")
        return voidless.json("log", planned, "exposure", *stay, *more)["said"]

    return logger


def _water(folder, at):
    with open_campaign(folder) as opened:
        found = water_of(opened, opened.store.exposures(), datetime.fromisoformat(f"2031-03-{at}+00:00"))
    return found.value_pct, found.low_pct, found.high_pct


def test_a_dryer_fed_with_room_air_leaves_water_however_long(planned, log):
    """5.6 % humidity at 65 °C (IAPWS-IF97, from 23 °C and 50 %) of 0.55 % at saturation: 0.031 %."""
    said = log("01T00:00", "09T00:00", "dryer", "temperature_c=65", "room_c=23", "room_humidity_pct=50")
    assert "5.6 % humidity leaves 0.031 % water" in said
    value, low, high = _water(planned, "09T00:00")
    assert value == pytest.approx(0.0308, abs=1e-4)
    assert high - low < 1e-3  # eight days: what it held before is forgotten


def test_a_short_stay_does_not_forget_what_nobody_knows(planned, log):
    log("01T00:00", "01T02:00", "dryer", "temperature_c=65", "humidity_pct=2")
    value, low, high = _water(planned, "01T02:00")
    assert low < 0.05 < value < 0.3 < high


def test_it_drinks_in_a_room_and_rests_sealed(planned, log):
    log("01T00:00", "09T00:00", "dryer", "temperature_c=65", "humidity_pct=2")
    dry = _water(planned, "09T00:00")[0]
    log("09T00:00", "19T00:00", "sealed")
    assert _water(planned, "19T00:00")[0] == pytest.approx(dry, rel=1e-6)
    log("19T00:00", "19T06:00", "shelf", "humidity_pct=60")
    shelf = _water(planned, "19T06:00")[0]
    assert dry < shelf < 0.6 * 0.55
    assert _water(planned, "19T12:00")[0] > shelf  # what nobody wrote down is a room


def test_the_page_of_builds_shows_the_water_at_the_start(voidless, planned, log):
    log("01T00:00", "03T00:00", "dryer", "temperature_c=65", "humidity_pct=2")
    said = log("03T00:00", "03T06:00", "shelf", "humidity_pct=60")
    assert re.search(r"reached about \d+(\.\d+)? mm into a winding", said)
    with open_campaign(planned) as opened:
        build = opened.store.planned()[0].build
    voidless.json("log", planned, "build", f"build={build}", "spool=S1", "started=2031-03-03T06:00")
    with open_campaign(planned) as opened:
        (row,) = [row for row in run_rows(opened) if row["build"] == build]
    assert row["water_pct"]["value"] == pytest.approx(_water(planned, "03T06:00")[0])


def test_half_of_the_air_is_refused(voidless, planned, log):
    stay = ("spool=S1", "start=2031-03-01", "end=2031-03-02", "place=dryer", "temperature_c=65", "room_c=23")
    fault = voidless.json("log", planned, "exposure", *stay, status=2)["error"]
    assert "half said" in fault["what"]


def test_a_spool_is_in_one_place_at_a_time_and_a_stay_is_corrected_by_its_start(voidless, planned, log):
    log("01T00:00", "03T00:00", "shelf", "humidity_pct=55")
    log("03T00:00", "04T00:00", "sealed")  # touches, does not overlap
    spool = ("spool=S1", "place=dryer", "start=2031-03-02T00:00", "end=2031-03-05T00:00")
    fault = voidless.json("log", planned, "exposure", *spool, status=2)["error"]
    assert "two places at once: shelf from 2031-03-01" in fault["what"]
    assert "It corrects shelf" in log("01T00:00", "02T00:00", "shelf", "humidity_pct=55")
    log("02T00:00", "03T00:00", "dryer", "temperature_c=65")
    with open_campaign(planned) as opened:
        kept = [(stay.place, stay.end[:10]) for stay in opened.store.exposures()]
    assert sorted(kept) == [("dryer", "2031-03-03"), ("sealed", "2031-03-04"), ("shelf", "2031-03-02")]
