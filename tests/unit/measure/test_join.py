"""Summaries and the curves of their folder: joined, compared, asked about."""

import pytest

from voidless.measure.results import Answers, Kind, RawFile, Status
from voidless.measure.take import take_files

BLOCK = """=== Session ===
Axis: {axis}
{section}
Results:
  Trial 1: {first:.2f} N
  Trial 2: {second:.2f} N
Average max force: {mean:.2f} N
Tensile strength: {strength:.2f} MPa

"""


def _block(axis="z", section="Cross-section: 50 mm²", first=500.0, second=600.0, strength=11.0):
    return BLOCK.format(
        axis=axis, section=section, first=first, second=second, mean=(first + second) / 2, strength=strength
    )


def _curve(top):
    rows = "".join(f"{10 * step},{top * step / 20:.4f}\n" for step in range(21)) + "220,0.1\n"
    return ("time_ms,force_N\n" + rows).encode()


def _take(summary, curves, **answers):
    files = [RawFile("f/summary.txt", summary.encode())]
    files += [RawFile(f"f/{name}.csv", _curve(top)) for name, top in curves.items()]
    return take_files(files, Answers(**answers))


def test_curves_take_section_and_direction_from_their_folder():
    summary, first, second = _take(_block(), {"z-trial-1": 500.0, "z-trial-2": 600.0})
    assert [item.status for item in (summary, first, second)] == [Status.OK] * 3
    assert first.observations[0].value == pytest.approx(10.0)
    assert first.observations[0].key.quantity == "strength_z_mpa"
    assert first.reduced[0]["section_from"] == "stated in the summary, line 1"
    assert first.reduced[0]["direction_from"] == "from the file's name"
    assert summary.observations == ()
    assert summary.reduced[0]["strength_mpa"] == pytest.approx(11.0)
    assert summary.reduced[0]["disagreements"] == []


def test_the_order_of_files_makes_no_difference():
    files = [RawFile("f/z-trial-1.csv", _curve(500.0)), RawFile("f/summary.txt", _block().encode())]
    curve, summary = take_files(files)
    assert curve.observations[0].value == pytest.approx(10.0)
    assert summary.reduced[0]["curves"] == 1


def test_a_trial_without_a_curve_counts_as_printed():
    summary, _ = _take(_block(), {"z-trial-2": 600.0})
    assert [(item.specimen, item.value) for item in summary.observations] == [
        ("z_trial_1", pytest.approx(10.0))
    ]
    assert "no curve was read" in summary.observations[0].extra["source"]


def test_disagreements_are_listed():
    summary, *_ = _take(_block(strength=11.5), {"z-trial-1": 500.03, "z-trial-2": 600.0, "z-trial-3": 550.0})
    words = " ".join(summary.reduced[0]["disagreements"])
    assert "trial 1: 500.00 N printed, 500.03 N in the curve" in words
    assert "trial 3: a curve and no printed force" in words
    assert "strength 11.5 MPa printed" in words
    assert all(
        any(word in warning for warning in summary.warnings) for word in summary.reduced[0]["disagreements"]
    )
    near, *_ = _take(_block(), {"z-trial-1": 500.019, "z-trial-2": 599.981})
    assert near.reduced[0]["disagreements"] == []


def test_earlier_sessions_are_listed_and_not_pooled():
    summary, curve = _take(
        _block(first=100.0, second=110.0, section="Cross-section: 10 mm2") + _block(), {"z-trial-1": 500.0}
    )
    assert curve.observations[0].value == pytest.approx(10.0)
    earlier = summary.reduced[0]["earlier"]
    assert [(item["line"], item["section_mm2"], item["trials"]) for item in earlier] == [(1, 10.0, 2)]
    assert any("not pooled" in word for word in summary.warnings)


def test_a_missing_section_is_asked_for_and_answered():
    text = _block(section="Threshold: 50 N") + _block("xy", section="Threshold: 50 N")
    asked = _take(text, {"z-trial-1": 500.0, "xy-trial-1": 500.0})
    assert [item.status for item in asked] == [Status.QUESTION] * 3
    assert [question.option for question in asked[0].questions] == ["--section z=MM2", "--section xy=MM2"]
    assert asked[2].questions[0].option == "--section xy=MM2"
    assert not any(item.observations for item in asked)
    told = _take(text, {"z-trial-1": 500.0, "xy-trial-1": 500.0}, sections={"xy": 20.0, "z": 30.0})
    assert [item.status for item in told] == [Status.OK] * 3
    assert told[1].observations[0].value == pytest.approx(500 / 30)
    assert told[2].observations[0].value == pytest.approx(500 / 20)
    half = _take(text, {"z-trial-1": 500.0, "xy-trial-1": 500.0}, sections={"z": 30.0})
    assert [item.status for item in half] == [Status.QUESTION, Status.OK, Status.QUESTION]
    assert half[0].observations == ()


def test_two_summaries_in_one_folder_are_not_guessed_between():
    files = [RawFile("f/a.txt", _block().encode()), RawFile("f/b.txt", _block().encode())]
    first, second = take_files(files)
    assert first.status is Status.OK
    assert second.status is Status.REFUSED
    assert "a second summary" in str(second.error)
    apart = take_files([RawFile("f/a.txt", _block().encode()), RawFile("g/b.txt", _block().encode())])
    assert [item.status for item in apart] == [Status.OK, Status.OK]


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("Axis: z", "Axis: up", "direction 'up'"),
        ("Trial 1: 500.00 N", "Trial 1: none", "'none'"),
        ("Trial 1: 500.00 N", "Trial 1: 500.00 mm", "mm is a length"),
        ("50 mm²", "0 mm²", "a number above 0"),
    ],
)
def test_a_summary_that_cannot_be_right_is_refused(old, new, words):
    summary = take_files([RawFile("f/summary.txt", _block().replace(old, new).encode())])[0]
    assert summary.taken_for is Kind.STRENGTH_SUMMARY
    assert summary.status is Status.REFUSED
    assert words in str(summary.error)


def test_a_force_without_a_unit_is_asked_for():
    summary = take_files([RawFile("summary.txt", _block().replace("500.00 N", "500.00").encode())])[0]
    assert summary.status is Status.QUESTION
