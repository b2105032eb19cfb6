"""The same reading is not counted twice by itself, and a folder can be read again."""

import json
import shlex

import numpy as np
import pytest

HEAD = "run,build,specimen,response,value,unit\n"
ROWS = "R01,B91,a,strength_z_mpa,30.12,MPa\nR01,B91,b,strength_z_mpa,31.45,MPa\n"
MORE = "R01,B91,c,strength_z_mpa,29.87,MPa\n"


def _curve(name):
    force = np.linspace(0.0, 1203.7, 300)
    rows = "".join(f"{0.1 * n:.1f},{f:.2f}\n" for n, f in enumerate(force)) + "30.0,0.0\n30.1,0.0\n"
    return f"Bar: {name}\nSection: 40 mm2\n\ntime_s,force_n\n{rows}"


def test_a_list_that_has_grown_is_asked_about_and_replaces_the_old_one(voidless, planned, tmp_path):
    voidless.json("read", planned, _written(tmp_path / "list.csv", HEAD + ROWS))
    grown = _written(tmp_path / "list-2.csv", HEAD + ROWS + MORE)
    code, out, _ = voidless("read", planned, grown, "--json")
    assert code == 2
    assert "2 of 3 readings are stored already, from " in out
    assert "list.csv where this file corrects or completes it, --distinct list-2.csv" in out
    assert _specimens(planned) == ["a", "b"]
    voidless.json("read", planned, grown, "--replaces", "list.csv")
    assert _specimens(planned) == ["a", "b", "c"]


def test_several_lists_that_have_grown_are_replaced_by_one_command(voidless, planned, tmp_path):
    """What is asked of each file is answered for it by the words that are offered, day after day under one name."""
    lists = {
        tmp_path / "strength.csv": ROWS + MORE,
        tmp_path / "size of bars.csv": (ROWS + MORE)
        .replace("strength_z_mpa", "size_error_mm")
        .replace("MPa", "mm"),
    }
    for day in (2, 3, 4):
        for path, rows in lists.items():
            _written(path, HEAD + "".join(f"{row}\n" for row in [*rows.splitlines(), "", ""][:day] if row))
        if day == 2:
            assert voidless.json("read", planned, *lists)["answer_with"] == []
            continue
        code, out, _ = voidless("read", planned, *lists, "--json")
        assert code == (2 if day == 3 else 0)  # on the fourth day they are the same
        if day == 3:
            told = " ".join(voidless("read", planned, *lists)[1].split())
            assert "strength.csv@" in told[told.index("To answer") :]
        words = [word for option in json.loads(out)["answer_with"] for word in shlex.split(option)]
        assert words.count("--replaces") == (2 if day == 3 else 0)
        if words:
            found = voidless.json("read", planned, *lists, *words)
            assert [file["status"] for file in found["files"]] == ["stored", "stored"]
    assert _specimens(planned) == ["a", "a", "b", "b", "c", "c"]


def test_a_list_that_grows_under_one_name_is_the_one_that_stands(voidless, planned, tmp_path):
    """After it was replaced once, its name means the file whose results stand."""
    path = tmp_path / "list.csv"
    voidless.json("read", planned, _written(path, HEAD + ROWS))
    last = MORE.replace(",c,", ",d,").replace("29.87", "30.01")
    for rows in (ROWS + MORE, ROWS + MORE + last):
        found = voidless.json("read", planned, _written(path, HEAD + rows), "--replaces", "list.csv")
        assert found["files"][0]["status"] == "stored"
    assert _specimens(planned) == ["a", "b", "c", "d"]


def test_which_file_corrects_which_is_named(voidless, planned, tmp_path):
    """One new file for one stored: anything else is refused before something is stored."""
    one = _written(tmp_path / "one.csv", HEAD + ROWS)
    voidless.json("read", planned, one)
    grown = [_written(tmp_path / f"{name}.csv", HEAD + ROWS + MORE) for name in ("two", "three")]
    for words, told in (
        (["one.csv"], "2 files would correct one.csv"),
        (["one.csv@four.csv"], "0 files would correct one.csv"),
        (["one.csv@two.csv", "one.csv@three.csv"], "one.csv stands twice"),
    ):
        options = [part for word in words for part in ("--replaces", word)]
        error = voidless.json("read", planned, *grown, *options, status=2)["error"]
        assert error["what"] == told
    assert _specimens(planned) == ["a", "b"]


def test_a_list_of_builds_without_specimens_that_has_grown_is_asked_about_too(voidless, planned, tmp_path):
    """Single repeats of a build may be equal; a list that holds all of an earlier one is that list."""
    rows, more = (
        text.replace(",a,", ",,").replace(",b,", ",,").replace(",c,", ",,") for text in (ROWS, MORE)
    )
    voidless.json("read", planned, _written(tmp_path / "list.csv", HEAD + rows))
    code, out, _ = voidless("read", planned, _written(tmp_path / "grown.csv", HEAD + rows + more), "--json")
    assert code == 2
    assert "2 of 3 readings are stored already" in out
    first = rows.splitlines()[0] + "\n"
    repeat = _written(tmp_path / "repeat.csv", HEAD + first + more)
    assert voidless.json("read", planned, repeat)["files"][0]["status"] == "stored"


def test_readings_of_their_own_are_stored_on_a_persons_word(voidless, planned, tmp_path):
    voidless.json("read", planned, _written(tmp_path / "list.csv", HEAD + ROWS))
    again = _written(tmp_path / "second-day.csv", HEAD + ROWS.replace("MPa", "MPa "))
    assert voidless("read", planned, again)[0] == 2
    assert voidless.json("read", planned, again, "--distinct", "second-*")["files"][0]["status"] == "stored"
    assert _specimens(planned) == ["a", "a", "b", "b"]


def test_equal_values_of_other_builds_in_a_table_are_no_copy(voidless, planned, tmp_path):
    voidless.json("read", planned, _written(tmp_path / "one.csv", HEAD + ROWS))
    other = _written(tmp_path / "two.csv", HEAD + ROWS.replace("R01,B91", "R02,B92"))
    assert voidless.json("read", planned, other)["files"][0]["status"] == "stored"


def test_a_curve_under_another_label_is_asked_about(voidless, planned, tmp_path):
    voidless.json("read", planned, _written(tmp_path / "R01_B91_z_1.csv", _curve("x")))
    code, out, _ = voidless("read", planned, _written(tmp_path / "R02_B92_z_1.csv", _curve("y")), "--json")
    assert code == 2
    assert "R01_B91_z_1.csv, as R01 B91 z_1" in out
    same = _written(tmp_path / "R03_B93_z_1.csv", _curve("x"))
    found = voidless.json("read", planned, same)["files"][0]
    assert found["status"] == "already_stored"
    words = "R01_B91_z_1.csv, which is stored as R01 B91; if that is wrong, add --replaces"
    assert any(words in note for note in found["warnings"])


def test_a_stored_file_is_not_asked_about_again(voidless, planned, tmp_path):
    bare = _written(tmp_path / "R01_B91_z_1.csv", _curve("x").replace("Section: 40 mm2\n", ""))
    assert voidless("read", planned, bare)[0] == 2
    voidless.json("read", planned, bare, "--section", "z=40")
    found = voidless.json("read", planned, bare)
    assert found["files"][0]["status"] == "already_stored"
    assert found["files"][0]["results"][0]["value"] == pytest.approx(1203.7 / 40, rel=1e-6)
    assert found["answer_with"] == []


def _written(path, text):
    path.write_text(text, encoding="utf-8")
    return path


def _specimens(folder):
    from voidless.records.store import Store

    with Store.open(folder) as store:
        return sorted(seen.specimen for seen in store.observations())
