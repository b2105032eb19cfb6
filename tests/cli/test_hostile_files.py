"""Files that are broken, hostile or too large: one clear error each, nothing stored, nothing changed."""

import io
import json
import os
import re
import zipfile

import pytest

from voidless.cli.progress import stages
from voidless.measure.files.limits import MAX_FILE_BYTES


def _zip(members):
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return buffer.getvalue()


HEAD = b"run,build,specimen,response,value,unit\n"
HOSTILE = {
    "empty.csv": b"",
    "blank.csv": b"\n\n\n",
    "header-only.csv": HEAD,
    "binary.csv": bytes(range(256)) * 50,
    "nul.csv": HEAD + b"R01,B01,,clar\x00ity,0.5,\n",
    "utf16.csv": (HEAD + b"R01,B01,,clarity,0.5,\n").decode().encode("utf-16-le"),
    "wide.csv": b",".join([b"x"] * 100_000) + b"\n",
    "long-line.csv": HEAD + b"R01,B01,," + b"a" * 3_000_000 + b",0.5,\n",
    "formula.csv": HEAD + b"R01,B01,,=1+1,0.5,\n",
    "markup.csv": HEAD + b"R01,B01,,[red]<script>alert(1)</script>,0.5,\n",
    "truncated.zip": _zip({"a.csv": HEAD * 100})[:60],
    "bomb.zip": _zip({"a.csv": b"0" * 60_000_000}),
    "nested.zip": _zip({"inner.zip": _zip({"deep.zip": _zip({"a.csv": HEAD})})}),
    "climbing.zip": _zip({"../../outside.csv": HEAD + b"R99,B01,,clarity,0.5,\n"}),
    "broken.xlsx": b"PK\x03\x04" + b"\x00" * 200,
    "not-a-sheet.xlsx": _zip({"hello.txt": b"hello"}),
    "prose.txt": b"The quick brown fox jumps over the lazy dog.\n" * 20,
    "missing-column.csv": b"run,build,response,unit\nR01,B01,clarity,\n",
    "[red]name.csv": b"nothing in it\n",
}


def _content(folder):
    """Return everything in a folder but the database's own side files."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and not path.name.endswith(("-wal", "-shm", "records.sqlite"))
    }


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_file_gives_one_clear_error_and_changes_nothing(voidless, planned, tmp_path, name):
    path = tmp_path / name
    path.write_bytes(HOSTILE[name])
    before, counts = _content(planned), _counts(planned)
    answer = voidless.json("read", planned, path, status=2)
    error = answer["error"]
    assert error["what"], error
    assert error["expected"], error
    assert name in json.dumps(answer["files"])
    assert answer["files"][0]["status"] in ("refused", "question")
    assert len(error["what"]) < 3000
    assert _content(planned) == before
    assert _counts(planned) == counts


def test_file_over_the_limit_is_refused_unread(voidless, planned, tmp_path):
    path = tmp_path / "huge.csv"
    with path.open("wb") as file:
        file.truncate(MAX_FILE_BYTES + 1)
    error = voidless.json("read", planned, path, status=2)["error"]
    assert "MiB" in error["expected"]


def test_missing_file_and_empty_folder(voidless, planned, tmp_path):
    assert (
        "cannot be read" in voidless.json("read", planned, tmp_path / "none.csv", status=2)["error"]["what"]
    )
    (tmp_path / "empty").mkdir()
    assert "no file" in voidless.json("read", planned, tmp_path / "empty", status=2)["error"]["what"]


def test_good_and_bad_file_in_one_batch_have_their_own_status(voidless, planned, tmp_path):
    good, bad = tmp_path / "good.csv", tmp_path / "bad.csv"
    good.write_bytes(HEAD + b"R01,,s1,clarity,0.61,\n".replace(b"R01,,", b"R01,B91,"))
    bad.write_bytes(b"")
    answer = voidless.json("read", planned, bad, good)
    assert [entry["status"] for entry in answer["files"]] == ["refused", "stored"]
    assert answer["files"][0]["error"]["what"]


def test_damaged_records_are_said_without_a_traceback(voidless, planned):
    (planned / "records.sqlite").write_bytes(b"this is not a database, it is a text" * 100)
    for suffix in ("-wal", "-shm"):
        (planned / f"records.sqlite{suffix}").unlink(missing_ok=True)
    for verb in ("plan", "learn", "window", "next", "report"):
        status, out, err = voidless(verb, planned, "--json")
        assert status in (1, 2), (verb, out, err)
        assert json.loads(out)["error"]["what"]
        assert "Traceback" not in err


def _counts(folder):
    from voidless.records.store import Store

    with Store.open(folder) as store:
        return dict(store.counts())


@pytest.mark.parametrize(
    "name",
    [
        "with space.csv",
        "méthode – 測定 🧪.csv",
        "two\nlines.csv",
        "[bold]x <b>&.csv",
        "-dash.csv",
        "R01_B01.csv",
        "x" * 200 + ".csv",
        "no ending",
        "wrong.xlsx",
        "\x1b[31mred.csv",
    ],
)
@pytest.mark.skipif(os.name == "nt", reason="Windows allows fewer names")
def test_odd_names_do_not_stand_in_the_way(voidless, planned, tmp_path, name):
    """A good table is stored under any name, and a bad one is refused; what is printed for people is no markup."""
    path = tmp_path / name
    path.write_bytes(HEAD + b"R01,B01,,clarity,2,\n")
    answer = voidless.json("read", planned, path, status=2)
    assert answer["files"][0]["file"].endswith(name)
    assert "2" in answer["error"]["what"]
    path.write_bytes(HEAD + b"R01,B01,,clarity,0.6,\n")
    assert voidless.json("read", planned, path)["files"][0]["status"] == "stored"
    status, out, err = voidless("read", planned, path)
    assert status == 0
    assert re.fullmatch(r"(\[ *[0-9.]+ s\] [^\n\x1b]*\n)*", err)  # a busy machine says what it is at
    assert "clarity" in out or "already_stored" in out


@pytest.mark.skipif(os.name == "nt", reason="links and rights are other on Windows")
def test_links_in_a_circle_and_files_that_may_not_be_read(voidless, planned, tmp_path):
    place = tmp_path / "bench"
    place.mkdir()
    (place / "loop").symlink_to(place / "loop2")
    (place / "loop2").symlink_to(place / "loop")
    (place / "round").symlink_to(place, target_is_directory=True)
    before = _counts(planned)
    assert "cannot be read" in voidless.json("read", planned, place / "loop", status=2)["error"]["what"]
    assert "no file" in voidless.json("read", planned, place, status=2)["error"]["what"]
    closed = place / "closed.csv"
    closed.write_bytes(HEAD + b"R01,B01,,clarity,0.6,\n")
    closed.chmod(0)
    if not os.access(closed, os.R_OK):
        assert "cannot be read" in voidless.json("read", planned, closed, status=2)["error"]["what"]
    assert _counts(planned) == before


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="the system has no pipes with names")
def test_a_pipe_is_refused_without_waiting(voidless, planned, tmp_path):
    """Reading a pipe that nobody writes to would never end."""
    os.mkfifo(tmp_path / "pipe.csv")
    assert voidless.json("read", planned, tmp_path / "pipe.csv", status=2)["error"]["what"]


def test_the_campaign_itself_is_no_measurement(voidless, planned):
    before, counts = _content(planned), _counts(planned)
    error = voidless.json("read", planned, planned, status=2)["error"]
    assert error["what"]
    assert _content(planned) == before
    assert _counts(planned) == counts


@pytest.mark.slow
def test_a_line_of_a_million_columns(voidless, planned, tmp_path):
    path = tmp_path / "million.csv"
    path.write_bytes(b",".join([b"1"] * 1_000_000) + b"\n" + b",".join([b"2"] * 1_000_000) + b"\n")
    assert voidless.json("read", planned, path, status=2)["error"]["what"]


def test_a_stage_is_one_line_that_no_terminal_obeys(capsys):
    stages(quiet_s=0.0)("storing two\nlines \x1b[31mred – 測定.csv")
    said = capsys.readouterr().err
    assert said.endswith("s] storing two\\nlines \\x1b[31mred – 測定.csv\n")
    assert said.count("\n") == 1
