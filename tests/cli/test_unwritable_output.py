"""Where nothing can be given out, the documents say so before minutes of work, not after."""

import pytest

TABLE = "run,build,specimen,response,value,unit\nR01,B01,plaque-1,clarity,0.58,\n"


@pytest.mark.parametrize("verb", ["sheet", "report"])
def test_a_folder_that_cannot_be_written_is_said_before_the_work(voidless, planned, tmp_path, verb):
    (tmp_path / "t.csv").write_text(TABLE, encoding="utf-8")
    voidless.json("read", planned, tmp_path / "t.csv")
    (planned / "out").write_text("a file in the folder's place", encoding="utf-8")
    status, out, err = voidless(verb, planned)
    assert (status, out) == (1, "")
    assert "out: cannot be written: " in err
    assert "judging settings" not in err
