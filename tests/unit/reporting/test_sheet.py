from __future__ import annotations

import pytest

from voidless.reporting.sheet import settings_sheet
from voidless.reporting.verdict import MEANINGS, verdict


def _text(marks, facts) -> str:
    return marks(settings_sheet(facts)).text.replace("\u00a0", " ")


def test_the_sheet_states_settings_prediction_and_evidence(facts, marks):
    text = _text(marks, facts)
    assert "nozzle temperature (°C) 261 252.8 – 265" in text
    assert "bed temperature (°C) 75 fixed" in text
    assert "clarity at least 0.66 0.750 0.715 to 0.786 0.711 to 0.790" in text
    assert "size error (mm) −0.15 to 0.15" in text
    assert "14 builds, 180 observations, 11 files, 3 sessions" in text
    assert facts["files"][0]["sha256"][:12] in text
    assert "not a certificate" in text
    assert "0.1.0, schema 1" in text
    assert "burn" in text


def test_material_and_machine_by_title_where_known(facts, marks):
    assert "material: petg · machine: bench-0.4" in _text(marks, facts)
    facts |= {"material": {"title": "PETG"}, "machine": {"title": "Bench machine"}}
    assert "material: PETG · machine: Bench machine" in _text(marks, facts)


def test_files_that_do_not_fit_are_counted_not_dropped_in_silence(facts, marks):
    facts["files"] *= 4
    page = marks(settings_sheet(facts))
    assert "32 more files are listed" in page.text
    assert len(facts["files"]) == 44


def test_a_chamber_that_is_not_heated_is_nothing_to_set(facts, marks):
    for celsius, told in ((0.0, False), (60.0, True)):
        facts["campaign"]["settings"]["chamber_c"] = celsius
        assert ("chamber temperature" in _text(marks, facts)) == told


def test_a_varied_setting_without_tolerance_says_so(facts, marks):
    facts["window"]["tolerances"] = []
    assert "nozzle temperature (°C) 261 not known" in _text(marks, facts)


def test_without_a_recipe_no_settings_are_printed(facts, marks):
    del facts["window"]
    text = _text(marks, facts)
    assert "There are no settings to state yet" in text
    assert "bed temperature" not in text


def test_names_are_text(facts, marks):
    facts["campaign"]["name"] = "<img src=x onerror=alert(1)>"
    page = marks(settings_sheet(facts))
    assert page.named("img") == []
    assert "<img src=x onerror=alert(1)>" in page.text


@pytest.mark.parametrize(
    ("change", "state", "said"),
    [
        ({"claim": True}, "claim", "96 %; 90 % was asked"),
        ({"claim": False, "probability_pass": 0.61}, "no_claim", "61 %; 90 % was asked"),
        (
            {"claim": False, "blocked_by": ["clarity", "z_ratio"]},
            "blocked",
            "clarity, strength ratio Z over XY",
        ),
        ({"claim": False, "basis": "prior"}, "no_claim", "physics model alone"),
    ],
)
def test_the_verdict(facts, change, state, said):
    facts["window"]["recipe"] |= change
    found = verdict(facts)
    assert found.state == state
    assert said in found.sentence.replace("\u00a0", " ")
    assert (found.heading == "Claim") == (state == "claim")


def test_few_builds_are_blocked_only_so_far(facts):
    """`next` goes on until four builds a factor; the words on the page must not say more than it believes."""
    facts["window"]["recipe"] |= {"claim": False, "blocked_by": ["clarity"]}
    assert verdict(facts).sentence.startswith("Nothing in the studied range is likely to meet: clarity.")
    facts["window"]["early"] = True
    found = verdict(facts)
    assert found.heading == "No claim: so far blocked"
    assert found.sentence.startswith("Builds are still few; so far nothing in the studied range is likely")


@pytest.mark.parametrize("kind", MEANINGS)
def test_the_verdict_says_what_its_probability_speaks_of(facts, kind):
    facts["window"]["kind"] = kind
    assert MEANINGS[kind] in verdict(facts).sentence


def test_no_window_no_claim():
    assert verdict({"campaign": {}, "window": {}}).state == "nothing"


def test_without_specifications_nothing_is_claimed(facts):
    facts["campaign"]["specifications"] = []
    found = verdict(facts)
    assert found.state == "no_claim"
    assert "No specification" in found.sentence


def test_a_computed_number_has_no_interval(facts, marks):
    facts["window"]["recipe"]["predicted"]["build_min"] = dict.fromkeys(
        ("mean", "low", "high", "part_low", "part_high"), 26.1
    )
    assert "build time (min) – 26.1 computed computed" in _text(marks, facts)


def test_a_limit_without_feature_holds_for_every_feature(facts, marks):
    predicted = facts["window"]["recipe"]["predicted"]
    predicted["size_error_mm:bore"] = predicted.pop("size_error_mm")
    assert "size error [bore] (mm) −0.15 to 0.15" in _text(marks, facts)


def test_the_sheet_tells_what_confirmation_builds_show(facts, marks):
    assert "Confirmed" not in _text(marks, facts)
    proof = {
        "verdict": "proven",
        "reason": "Every one holds.",
        "builds": ["B30"],
        "words": ["shown"],
        "same": True,
    }
    told = _text(marks, facts | {"proof": proof})
    assert "Confirmed by builds of their own: proven" in told
    assert "Builds: B30." in told
    assert "other settings" not in told
    assert "Printed at other settings" in _text(marks, facts | {"proof": proof | {"same": False}})
    none = {"verdict": "not tested", "reason": "", "builds": [], "words": [], "same": False}
    assert "No build was printed only to confirm" in _text(marks, facts | {"proof": none})


def test_the_sheet_says_whether_its_files_are_still_what_was_read(facts, marks):
    kept = "All were read again when this sheet was made"
    assert kept not in _text(marks, facts)
    facts["evidence"] = {"checked": 11, "lost": []}
    assert kept in _text(marks, facts)
    facts["evidence"] = {"checked": 11, "lost": ["Evidence is lost: the raw file of a.csv is damaged."]}
    text = _text(marks, facts)
    assert "Evidence is lost: the raw file of a.csv is damaged." in text
    assert kept not in text
