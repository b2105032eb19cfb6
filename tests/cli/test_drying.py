"""When to dry is said with the plan; builds that were printed wet are named."""

import re

import pytest

from voidless.workflows.drying import drying_notes, wet_statements
from voidless.workflows.opening import open_campaign

LIMIT_PCT = 0.01 * (5.6 + 0.5 * (50.0 - 5.6)) * 0.55
"""Half of the way from air of the dryer (5.6 % humidity) to a room of 50 %, of 0.55 % at saturation. [%]"""


@pytest.fixture
def spool(voidless, planned):
    """A spool that was dried for two days, then left on a humid shelf for four."""
    voidless.json("log", planned, "spool", "spool=S1")
    for start, end, *where in (
        ("01T00:00", "03T00:00", "place=dryer", "temperature_c=65"),
        ("03T02:00", "07T00:00", "place=shelf", "humidity_pct=70"),
    ):
        stay = ("spool=S1", f"start=2031-03-{start}", f"end=2031-03-{end}", *where)
        voidless.json("log", planned, "exposure", *stay)
    return planned


def started(voidless, folder, build, at):
    facts = (f"build={build}", "outcome=ok", "spool=S1", f"started=2031-03-{at}")
    return voidless.json("log", folder, "build", *facts)["said"]


def test_a_build_says_what_its_filament_held_and_a_wet_one_what_to_do(voidless, spool):
    fresh = started(voidless, spool, "B01", "03T00:30")
    wet = started(voidless, spool, "B02", "07T00:10")
    assert re.search(r"its filament held 0\.0\d+ % water", fresh)
    assert "It was wet" not in fresh
    assert re.search(r"its filament held 0\.3\d* % water", wet)
    assert "It was wet: dry it (65 °C, 5 h) before the next build." in wet


def test_builds_that_were_printed_wet_are_named_once(voidless, spool):
    for build, at in (("B01", "03T00:30"), ("B02", "07T00:10"), ("B03", "07T01:00")):
        started(voidless, spool, build, at)
    voidless.json("log", spool, "build", "build=B04", "outcome=ok", "exposure_h=200", "humidity_pct=60")
    voidless.json("log", spool, "build", "build=B05", "outcome=ok", "exposure_h=1")
    with open_campaign(spool) as opened:
        builds = opened.store.builds()
        (said,) = wet_statements(opened, builds)
        assert said.startswith("B02, B03, B04: printed wet")
        assert not wet_statements(opened, [b for b in builds if b.label in ("B01", "B05", "B06")])


def test_the_plan_says_when_to_dry_and_how_long_a_strand_stays_dry(voidless, planned):
    """The stated hours bring a dried strand to the stated water; a session beyond them asks for more."""
    from voidless.workflows.spool_water import water_after_hours

    with open_campaign(planned) as opened:
        rows = [{"build": f"B{k}", "block": 1 + k % 2, "build_min": 60.0} for k in range(4)]
        (said,) = drying_notes(opened, rows)
        kept = float(re.search(r"for ([\d.]+) h, half", said)[1])
        assert f"under {LIMIT_PCT:.2g} % water" in said
        assert water_after_hours(opened, kept, None) == pytest.approx(LIMIT_PCT, rel=0.02)
        assert "the longest session prints for 2 h" in said
        assert "dry box" not in said
        (long,) = drying_notes(opened, [{**row, "build_min": 60.0 * kept} for row in rows])
        assert "Feed it from a dry box, or dry it again" in long
        assert drying_notes(opened, []) == []


def test_runs_of_one_bed_take_their_time_each(planned):
    with open_campaign(planned) as opened:
        (said,) = drying_notes(opened, [{"build": "B1", "block": 1, "build_min": 60.0}] * 3)
        assert "the longest session prints for 3 h" in said


def test_a_material_that_is_not_dried_gets_no_note(voidless, planned, tmp_path):
    file = tmp_path / "pp.toml"
    file.write_text(
        (planned / "campaign.toml").read_text(encoding="utf-8").replace('"petg"', '"pp"'), encoding="utf-8"
    )
    voidless.json("new", tmp_path / "pp", "--from", file)
    with open_campaign(tmp_path / "pp") as opened:
        assert drying_notes(opened, [{"build": "B1", "block": 1, "build_min": 60.0}]) == []
        assert wet_statements(opened, []) == []


def test_next_says_each_note_once(voidless, planned):
    _, out, _ = voidless("next", planned)
    assert " ".join(out.split()).count("Dry the filament before each session") == 1
