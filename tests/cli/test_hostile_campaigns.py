"""Campaign files and folders that are wrong, hostile or damaged: one clear error, nothing made, nothing changed."""

import json
import shutil

import pytest

GOOD = '[campaign]\nname = "x"\nmaterial = "petg"\nmachine = "bench-0.4"\n[factors.nozzle_c]\nlow = 220\nhigh = 250\n'
HOSTILE = {
    "empty": b"",
    "binary": bytes(range(256)),
    "not-toml": b"[campaign\nname = ",
    "utf16": GOOD.encode("utf-16"),
    "nul": GOOD.replace("x", "x\x00", 1).encode(),
    "no-name": GOOD.replace('name = "x"', "").encode(),
    "name-empty": GOOD.replace('"x"', '""').encode(),
    "name-a-list": GOOD.replace('"x"', "[1]").encode(),
    "unknown-material": GOOD.replace("petg", "petq").encode(),
    "material-climbs": GOOD.replace('"petg"', '"../../../etc/passwd.toml"').encode(),
    "material-nul": GOOD.replace('"petg"', '"a\\u0000.toml"').encode(),
    "unknown-machine": GOOD.replace("bench-0.4", "[red]x[/red]").encode(),
    "unknown-table": (GOOD + "[wishes]\na = 1\n").encode(),
    "twice": (GOOD + "[factors.nozzle_c]\nlow = 1\nhigh = 2\n").encode(),
    "derived-factor": (GOOD + "[factors.rate_mm3_s]\nlow = 1\nhigh = 2\n").encode(),
    "misspelt-factor": (GOOD + "[factors.flwo_pct]\nlow = 90\nhigh = 110\n").encode(),
    "turned-round": GOOD.replace("low = 220", "low = 290").encode(),
    "nan": GOOD.replace("low = 220", "low = nan").encode(),
    "inf": GOOD.replace("high = 250", "high = inf").encode(),
    "huge": GOOD.replace("high = 250", "high = " + "9" * 500).encode(),
    "too-hot": GOOD.replace("high = 250", "high = 450").encode(),
    "cold": GOOD.replace("low = 220", "low = 20").replace("high = 250", "high = 30").encode(),
    "spec-empty": (GOOD + "[specifications.clarity]\n").encode(),
    "spec-crossed": (GOOD + "[specifications.clarity]\nmin = 0.9\nmax = 0.1\n").encode(),
    "spec-of-setting": (GOOD + "[specifications.nozzle_c]\nmin = 200\n").encode(),
    "spec-beyond": (GOOD + "[specifications.clarity]\nmin = 2.0\n").encode(),
    "both-senses": (GOOD + '[objective]\nminimise = "build_min"\nmaximise = "clarity"\n').encode(),
    "no-builds": (GOOD + "[limits]\nbuilds = 0\n").encode(),
    "no-specimen": (GOOD + "[specimens]\nteapot = 1\n").encode(),
    "fixed-and-varied": (GOOD + "[settings]\nnozzle_c = 240\n").encode(),
    "no-rate": (GOOD + "[limits]\nrate_mm3_s = 1e-6\n").encode(),
    "deep": (GOOD + "a = " + "[" * 5000 + "]" * 5000).encode(),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_campaign_file_makes_nothing(voidless, tmp_path, name):
    source, folder = tmp_path / f"{name}.toml", tmp_path / "campaign"
    source.write_bytes(HOSTILE[name])
    error = voidless.json("new", folder, "--from", source, status=2)["error"]
    assert error["what"], error
    assert error["expected"], error
    assert error["where"], error
    assert len(json.dumps(error)) < 3000
    assert not folder.exists()


def test_campaign_file_that_is_no_file(voidless, tmp_path):
    assert "no file" in voidless.json("new", tmp_path / "a", "--from", tmp_path, status=2)["error"]["what"]
    huge = tmp_path / "huge.toml"
    with huge.open("wb") as file:
        file.truncate(5_000_000_000)
    assert voidless.json("new", tmp_path / "a", "--from", huge, status=2)["error"]["expected"]


def test_new_into_a_folder_that_is_taken_changes_nothing(voidless, planned, tmp_path):
    source = tmp_path / "c.toml"
    source.write_text(GOOD, encoding="utf-8")
    taken = tmp_path / "taken"
    taken.mkdir()
    (taken / "campaign.toml").write_text("mine", encoding="utf-8")
    for folder in (planned, taken):
        before = {path: path.stat().st_mtime_ns for path in folder.rglob("*") if path.is_file()}
        assert voidless.json("new", folder, "--from", source, status=2)["error"]["remedy"]
        kept = {path: path.stat().st_mtime_ns for path in folder.rglob("*") if path.is_file()}
        assert {p: t for p, t in kept.items() if not p.name.startswith("records.sqlite")} == {
            p: t for p, t in before.items() if not p.name.startswith("records.sqlite")
        }


def _damage_truncated(folder):
    path = folder / "records.sqlite"
    path.write_bytes(path.read_bytes()[:5000])


def _damage_half(folder):
    path = folder / "records.sqlite"
    data = path.read_bytes()
    path.write_bytes(data[: len(data) // 2])


def _damage_emptied(folder):
    (folder / "records.sqlite").write_bytes(b"")


def _damage_zeroed(folder):
    path = folder / "records.sqlite"
    path.write_bytes(path.read_bytes()[:100] + bytes(path.stat().st_size - 100))


def _damage_no_campaign_file(folder):
    (folder / "campaign.toml").unlink()


def _damage_campaign_file(folder):
    (folder / "campaign.toml").write_bytes(b"\x00\xff\xfe[")


def _damage_records_a_folder(folder):
    (folder / "records.sqlite").unlink()
    (folder / "records.sqlite").mkdir()


DAMAGES = [
    _damage_truncated,
    _damage_half,
    _damage_emptied,
    _damage_zeroed,
    _damage_no_campaign_file,
    _damage_campaign_file,
    _damage_records_a_folder,
]


@pytest.mark.parametrize("damage", DAMAGES, ids=lambda function: function.__name__[8:])
def test_damaged_campaign_is_said_with_a_remedy(voidless, planned, tmp_path, damage):
    table = tmp_path / "r.csv"
    table.write_text("run,build,specimen,response,value,unit\nR01,B01,,clarity,0.6,\n", encoding="utf-8")
    for suffix in ("-wal", "-shm"):
        (planned / f"records.sqlite{suffix}").unlink(missing_ok=True)
    damage(planned)
    arguments = {"log": ["note", "text=x"], "read": [table]}
    for verb in ("plan", "make", "log", "read", "learn", "next", "window", "sheet", "report"):
        status, out, err = voidless(verb, planned, *arguments.get(verb, []), "--json")
        assert status in (1, 2), (verb, out, err)
        assert out.count("\n") == 1
        error = json.loads(out)["error"]
        assert error["what"], (verb, error)
        assert error["remedy"], (verb, error)
        assert "Traceback" not in err


def test_raw_file_lost_or_changed_is_noticed(voidless, planned, tmp_path):
    """Reading the same file again does not build on a damaged copy."""
    table = tmp_path / "r.csv"
    table.write_text("run,build,specimen,response,value,unit\nR01,B01,,clarity,0.6,\n", encoding="utf-8")
    voidless.json("read", planned, table)
    (stored,) = (planned / "raw").glob("*/*")
    stored.chmod(0o644)
    stored.write_bytes(b"something else")
    from voidless.records.store import Store

    with Store.open(planned) as store:
        assert [problem.harmless for problem in store.verify()] == [False]
    shutil.rmtree(planned / "raw")
    with Store.open(planned) as store:
        assert [problem.harmless for problem in store.verify()] == [False]
