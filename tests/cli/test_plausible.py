"""A unit that slipped a thousandfold is said when the file is read, and stands until a person corrects it."""

import pytest

HEAD = "run,build,specimen,response,value,unit\n"


@pytest.mark.parametrize(
    ("row", "doubted"),
    [
        ("R01,B01,bar_z-1,strength_z_mpa,4200,MPa", True),
        ("R01,B01,bar_z-1,strength_z_mpa,0.038,MPa", True),
        ("R01,B01,bar_z-1,strength_z_mpa,2,MPa", False),  # a weld that hardly holds
        ("R01,B01,bar_z-1,strength_z_mpa,0,MPa", False),  # one that fell apart
        ("R01,B01,bar_xy-1,strength_xy_mpa,48,MPa", False),
        ("R01,B01,bar_xy-1,modulus_gpa,600,GPa", True),
        ("R01,B01,block-1,density_g_cm3,0.127,g/cm3", True),
        ("R01,B01,plaque-1,clarity,0.001,", False),
    ],
)
def test_values_far_from_the_bulk_are_doubted_aloud(voidless, planned, tmp_path, row, doubted):
    (tmp_path / "a.csv").write_text(HEAD + row + "\n", encoding="utf-8")
    (file,) = voidless.json("read", planned, tmp_path / "a.csv")["files"]
    assert file["status"] == "stored"
    assert any("Is the unit right?" in note for note in file["warnings"]) == doubted


def test_one_sentence_names_the_first_and_counts_the_rest(voidless, planned, tmp_path):
    rows = "".join(f"R01,B01,bar_z-{k},strength_z_mpa,{38000 + k},MPa\n" for k in range(3))
    (tmp_path / "a.csv").write_text(HEAD + rows.replace("380", "4"), encoding="utf-8")
    (file,) = voidless.json("read", planned, tmp_path / "a.csv")["files"]
    (note,) = file["warnings"]
    assert note.startswith("strength_z_mpa 400 of R01 B01 bar_z-0 and 2 more: the bulk of PETG")
