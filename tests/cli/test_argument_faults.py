"""Every command told something wrong: exit 2, one JSON object that says where, what, what instead and what to do."""

import hashlib
import json
from pathlib import Path

import pytest

from voidless.cli.app import COMMANDS
from voidless.specimens.catalogue import specimen
from voidless.specimens.mesh import mesh_stl

PREDICT = ("predict", "--material", "petg", "--machine", "bench-0.4")
FAULTS = [
    ("plan", "{c}", "--design", "nonesuch"),
    ("plan", "{c}", "--runs", "0"),
    ("plan", "{c}", "--runs", "-3"),
    ("plan", "{c}", "--runs", "2000000"),
    ("plan", "{c}", "--runs", "1e3"),
    ("plan", "{c}", "--sessions", "0"),
    ("plan", "{c}", "--repeats", "-1"),
    ("plan", "{c}", "--model", "cubic"),
    ("plan", "{c}", "--seed", "-1"),
    ("plan", "{c}", "--seed", "nan"),
    ("plan", "{c}"),
    ("make", "{c}", "R99"),
    ("make", "{c}", "../../R01"),
    ("make", "{c}", "[red]R01[/red]"),
    ("make", "{c}", "R01", "--unit", "mm"),
    ("make", "{c}", "R01", "--turn-faces"),
    ("make", "{c}", "R01", "--part", "{s}", "--mark"),
    ("log", "{c}"),
    ("log", "{c}", "nonesuch", "a=b"),
    ("log", "{c}", "build"),
    ("log", "{c}", "build", "outcome=cold"),
    ("log", "{c}", "build", "build=B01"),
    ("log", "{c}", "build", "build=B01", "outcome=burnt"),
    ("log", "{c}", "build", "build=B77", "outcome=cold"),
    ("log", "{c}", "build", "build=B01", "run=R77", "outcome=cold"),
    ("log", "{c}", "build", "build=B01", "exposure_h=nan"),
    ("log", "{c}", "build", "build=B01", "exposure_h=-1"),
    ("log", "{c}", "build", "build=B01", "humidity_pct=140"),
    ("log", "{c}", "build", "build=B01", "order=1.5"),
    ("log", "{c}", "build", "build=B01", "session=1e400"),
    ("log", "{c}", "build", "build=B01", "order=nan"),
    ("log", "{c}", "build", "build=B01", "order=inf"),
    ("log", "{c}", "build", "build=B01", "started=yesterday"),
    ("log", "{c}", "build", "build=B01", "build=B02"),
    ("log", "{c}", "build", "build"),
    ("log", "{c}", "build", "=B01"),
    ("log", "{c}", "build", "build=B01", "spool=nowhere"),
    ("log", "{c}", "realised", "build=B01", "setting=nozle_c", "value=240"),
    ("log", "{c}", "realised", "build=B01", "setting=nozzle_c", "value=9999"),
    ("log", "{c}", "realised", "build=B01", "setting=nozzle_c", "value=240", "sd=-2"),
    ("log", "{c}", "exposure", "spool=S9", "start=2031-05-02T08:00", "end=2031-05-02T14:00", "place=shelf"),
    ("log", "{c}", "exposure", "spool=S1", "start=2031-05-02", "end=2031-05-01", "place=shelf"),
    ("log", "{c}", "session", "session=0"),
    ("log", "{c}", "check", "instrument=none", "at=2031-05-02T08:00", "passed=yes"),
    ("log", "{c}", "check", "instrument=none", "at=2031-05-02T08:00", "passed=perhaps"),
    ("read", "{c}"),
    ("read", "{c}", "none.csv"),
    ("read", "{c}", "{f}", "--section", "xy"),
    ("read", "{c}", "{f}", "--section", "xy=-3"),
    ("read", "{c}", "{f}", "--section", "xy=0"),
    ("read", "{c}", "{f}", "--section", "xy=nan"),
    ("read", "{c}", "{f}", "--section", "xy=1,xy=2"),
    ("read", "{c}", "{f}", "--section", "sideways=4"),
    ("read", "{c}", "{f}", "--unit", "Force"),
    ("read", "{c}", "{f}", "--unit", "Force=furlong"),
    ("read", "{c}", "{f}", "--fact", "nonesuch=1"),
    ("read", "{c}", "{f}", "--fact", "reference_density_g_cm3=heavy"),
    ("read", "{c}", "{f}", "--replaces", "none.csv"),
    ("next", "{c}", "--count", "0"),
    ("next", "{c}", "--count", "201"),
    ("next", "{c}", "--count", "two"),
    ("window", "{c}", "--confidence", "0"),
    ("window", "{c}", "--confidence", "1"),
    ("window", "{c}", "--confidence", "90"),
    ("window", "{c}", "--confidence", "nan"),
    ("window", "{c}", "--confidence", "high"),
    ("sheet", "{c}"),
    ("report", "{c}"),
    ("predict",),
    ("predict", "--material", "petg"),
    (*PREDICT, "--picture", "chain.svg"),
    ("predict", "--material", "unobtainium", "--machine", "bench-0.4"),
    ("predict", "--material", "petg", "--machine", "bench-9"),
    ("predict", "--material", "none.toml", "--machine", "bench-0.4"),
    (*PREDICT, "--set", "flow_pct"),
    (*PREDICT, "--set", "flow_pct=many"),
    (*PREDICT, "--set", "flow_pct=nan"),
    (*PREDICT, "--set", "flow_pct=inf"),
    (*PREDICT, "--set", "flwo_pct=100"),
    (*PREDICT, "--set", "nozzle_c=900"),
    (*PREDICT, "--set", "chamber_c=80"),
    (*PREDICT, "--set", "exposure_h=-1"),
    (*PREDICT, "--set", "humidity_pct=300"),
    (*PREDICT, "--set", "rate_mm3_s=10"),
    (*PREDICT, "--set", "layer_mm=0"),
    (*PREDICT, "--set", "contours=1.5"),
    ("part",),
    ("part", "none.gcode"),
    ("part", "{c}"),
    ("part", "{g}", "--machine", "bench-9"),
    ("part", "{g}", "--material", "petg"),
    ("part", "{g}", "--machine", "bench-0.4", "--set", "bed_c=70"),
    ("part", "{g}", "--layer", "2"),
    ("part", "{g}", "--show", "speed"),
    ("part", "{g}", "--machine", "bench-0.4", "--material", "unobtainium"),
    ("part", "{g}", "--machine", "bench-0.4", "--material", "petg", "--set", "bed_c=many"),
    ("part", "{g}", "--machine", "bench-0.4", "--material", "petg", "--set", "clarity=1"),
    ("serve", "nowhere"),
    ("serve", "{c}", "--port", "70000"),
    ("serve", "{c}", "--port", "-1"),
    ("demo",),
    ("demo", "{c}"),
    ("demo", "{e}", "--seed", "one"),
    ("demo", "{e}", "--seed", "-1"),
    ("new", "{e}"),
    ("new", "{c}", "--from", "{t}"),
    ("new", "{f}", "--from", "{t}"),
    ("new", "{e}", "--from", "{c}"),
    ("new", "{e}", "--from", "none.toml"),
    ("new", "{e}", "{e}", "--from", "{t}"),
    ("", "{c}"),
    ("--nonesuch",),
    ("PLAN", "{c}"),
]
ON_A_CAMPAIGN = ("plan", "make", "learn", "next", "window", "sheet", "report")


def digest(folder):
    """Return a checksum of the content of every file, and the counts of the records."""
    from voidless.records.store import Store

    found = {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file() and not path.name.startswith("records.sqlite")
    }
    with Store.open(folder) as store:
        return found, dict(store.counts())


@pytest.fixture(scope="module")
def places(planned_once, tmp_path_factory):
    """Where the faults point: a planned campaign, a result table, G-code, a campaign file, a folder not yet there."""
    place = tmp_path_factory.mktemp("faults")
    table = place / "r.csv"
    table.write_text("run,build,specimen,response,value,unit\nR01,B01,,clarity,0.6,\n", encoding="utf-8")
    path = place / "g.gcode"
    path.write_text("M83\nG1 F600\nG1 Z0.2\nG1 X9 E1\n", encoding="utf-8")
    solid = place / "s.stl"
    solid.write_bytes(mesh_stl(specimen("block")))
    toml = planned_once / "campaign.toml"
    return {
        "c": str(planned_once),
        "f": str(table),
        "g": str(path),
        "s": str(solid),
        "t": str(toml),
        "e": str(place / "empty"),
    }


@pytest.mark.parametrize("arguments", FAULTS, ids=" ".join)
def test_wrong_argument_is_one_error_of_four_parts(voidless, places, tmp_path, monkeypatch, arguments):
    monkeypatch.chdir(tmp_path)
    campaign = Path(places["c"])
    before = digest(campaign)
    status, out, err = voidless(*(argument.format_map(places) for argument in arguments), "--json")
    assert status == 2, (status, out, err)
    assert out.count("\n") == 1
    error = json.loads(out)["error"]
    assert set(error) == {"where", "what", "expected", "remedy"}
    assert all(isinstance(text, str) for text in error.values())
    assert error["what"], error
    assert error["expected"], error
    assert error["where"], error
    assert digest(campaign) == before
    assert not Path(places["e"]).exists()
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("verb", [*ON_A_CAMPAIGN, "read", "log"])
def test_no_campaign_there(voidless, tmp_path, verb):
    extra = {"read": ["r.csv"], "log": ["note", "text=x"]}.get(verb, [])
    for folder in (tmp_path, tmp_path / "nowhere"):
        error = voidless.json(verb, folder, *extra, status=2)["error"]
        assert error["what"], error
        assert error["remedy"], error
    assert list(tmp_path.iterdir()) == []


def test_every_command_refuses_an_option_it_does_not_have(voidless, tmp_path):
    for verb in COMMANDS:
        assert voidless.json(verb, tmp_path / "x", "--nonesuch", status=2)["error"]["what"], verb


def test_faults_for_people_are_plain_text_on_standard_error(voidless, planned):
    status, out, err = voidless("window", planned, "--confidence", "90")
    assert (status, out) == (2, "")
    assert "confidence" in err
    assert "Traceback" not in err
