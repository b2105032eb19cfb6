"""`learn` where results are missing: it says of what, and never that there are none where some are stored."""


def _said(voidless, folder):
    return " ".join(voidless.json("learn", folder)["statements"])


def test_what_is_missing_is_named(voidless, planned, tmp_path):
    assert "No build has a result yet" in _said(voidless, planned)
    blows = tmp_path / "blows.csv"
    blows.write_text("energy_j,width_mm,thickness_mm,method\n0.5,8,4,iso179_1eA\n", encoding="utf-8")
    voidless.json("read", planned, blows)
    said = _said(voidless, planned)
    assert "1 result(s) are stored (charpy_kj_m2), and 1 of them belong to no build" in said
    placed = tmp_path / "placed.csv"
    placed.write_text("run,build,specimen,response,value,unit\nR01,B01,p,clarity,0.6,\n", encoding="utf-8")
    voidless.json("read", planned, placed)
    learned = voidless.json("learn", planned)
    said = " ".join(learned["statements"])
    # One build shows no scatter between builds, and what was assumed of it is no finding.
    assert learned["responses"]["clarity"]["between_build_sd"] is None
    assert (
        "clarity [1]: 1 value of 1 build; scatter between builds not known yet"
        in voidless("learn", planned)[1]
    )
    # The shares are those of what was foretold, and said to be; what they may be is kept beside them.
    clarity = learned["responses"]["clarity"]
    assert clarity["shares_foretold"] is True
    assert all(0.0 <= row["low"] <= row["share"] <= row["high"] <= 1.0 for row in clarity["shares"])
    assert "No build has a result of" in said
    assert "clarity" not in said.partition("No build has a result of")[2].partition(" yet")[0]
