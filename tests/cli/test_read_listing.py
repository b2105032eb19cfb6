"""What a folder was taken for is shown before anything is stored, and a person corrects it."""

import json

import pytest

BLOWS = "energy_j,width_mm,thickness_mm,method,specimen,run,build\n0.5,8,4,iso179_1eA,a,R01,B01\n"
SIZES = "feature,nominal_mm,measured_mm,run,build,specimen\nx,20,20.06,R01,B01,a\n"


@pytest.fixture
def dropped(tmp_path):
    """A folder of mixed files."""
    folder = tmp_path / "dropped"
    folder.mkdir()
    (folder / "blows.csv").write_text(BLOWS, encoding="utf-8")
    (folder / "sizes.csv").write_text(SIZES, encoding="utf-8")
    rows = "".join(f"{0.1 * n:.1f},{4.0 * n},{0.01 * n:.2f}\n" for n in range(1, 40))
    (folder / "bar_1.csv").write_text("Time [s],Force [N],Travel [mm]\n" + rows, encoding="utf-8")
    return folder


def _stored(campaign):
    return sorted(path.name for path in (campaign / "raw").glob("*/*"))


def test_a_dry_run_lists_and_stores_nothing(voidless, planned, dropped):
    answer = voidless.json("read", planned, dropped, "--dry")
    kinds = {entry["file"].split("/")[-1]: (entry["taken_for"], entry["status"]) for entry in answer["files"]}
    assert kinds == {
        "blows.csv": ("impact", "not_stored"),
        "sizes.csv": ("sizes", "not_stored"),
        "bar_1.csv": ("machine_curve", "question"),
    }
    assert answer["dry"] is True
    assert _stored(planned) == []
    assert json.dumps(answer, allow_nan=False)


def test_a_kind_is_corrected_by_a_pattern(voidless, planned, dropped):
    facts = ("--fact", "span_mm=64", "--fact", "width_mm=10", "--fact", "thickness_mm=4")
    answer = voidless.json("read", planned, dropped, "--as", "flexure_curve=bar_*", *facts)
    found = {entry["file"].split("/")[-1]: entry for entry in answer["files"]}
    assert {entry["status"] for entry in found.values()} == {"stored"}
    assert found["bar_1.csv"]["taken_for"] == "flexure_curve"
    assert found["bar_1.csv"]["reduced"][0]["picture"]["curves"]
    assert [row["response"] for row in found["blows.csv"]["results"]] == ["charpy_kj_m2"]
    assert [row["feature"] for row in found["sizes.csv"]["results"]] == ["x"]
    assert len(_stored(planned)) == 3


@pytest.mark.parametrize(
    ("option", "value", "words"),
    [
        ("--as", "flexure=*", "Did you mean flexure_curve"),
        ("--as", "sizes", "KIND=PATTERN"),
        ("--fact", "volume=3", "Did you mean volume_cm3"),
        ("--fact", "volume_cm3=-1", "volume of the gas"),
        ("--fact", "volume_cm3=nan", "a number"),
    ],
)
def test_a_wrong_answer_is_refused(voidless, planned, dropped, option, value, words):
    answer = voidless.json("read", planned, dropped, option, value, status=2)
    assert words in " ".join(answer["error"].values())
    assert _stored(planned) == []
