from __future__ import annotations

import re

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.reporting.document import SECTIONS, report_html
from voidless.reporting.figures import shares

_HOSTILE = "<script>alert('x')</script> & \"quoted\" ${7*7} {{7*7}}"


def test_the_whole_campaign_stands_in_one_sound_page(facts, marks):
    page = marks(report_html(facts))
    assert [a["id"] for a in page.named("section")] == [section.key for section in SECTIONS]
    assert len(page.named("h1")) == 1
    assert len(page.named("main")) == 1
    repeated = {name for name in page.ids if page.ids.count(name) > 1}
    assert repeated == set()
    for text in (
        "Claim",
        "96 %",
        "26.1",
        "B07",
        "fell_off",
        "may be either",
        "R19",
        facts["files"][0]["sha256"],
    ):
        assert text in page.text.replace("\u00a0", " ")


def test_nothing_is_fetched_and_nothing_runs(facts, marks):
    text = report_html(facts)
    page = marks(text)
    assert not page.named("script") + page.named("link") + page.named("iframe") + page.named("img")
    for _, attrs in page.tags:
        assert not [name for name in attrs if name.startswith("on") or name in {"style", "src"}]
        assert attrs.get("href", "#").startswith("#")
    addresses = set(re.findall(r"https?://[^\"' <>)]+", text))
    assert addresses == {"http://www.w3.org/2000/svg"}
    assert "@import" not in text
    assert "url(http" not in text


def test_tables_can_be_read_aloud(facts, marks):
    page = marks(report_html(facts))
    assert len(page.named("caption")) == len(page.named("table")) > 10
    assert all(attrs.get("scope") in {"col", "row"} for attrs in page.named("th"))
    assert len(page.named("figcaption")) == len(page.named("figure")) == len(page.named("details"))


def test_every_figure_is_there(facts, marks):
    found = {attrs["id"] for attrs in marks(report_html(facts)).named("figure")}
    responses = {f"figure-profile-{name}" for name in ("clarity", "z_ratio", "size_error_mm")}
    others = {"tolerances", "maps", "profile-probability", "front", "effects", "shares", "check"}
    assert found == responses | {f"figure-{name}" for name in others}


def test_without_facts_every_section_says_so(marks):
    page = marks(report_html({}))
    assert [a["id"] for a in page.named("section")] == [section.key for section in SECTIONS]
    assert page.named("figure") == []
    for sentence in (
        "No recipe yet",
        "No specification was given",
        "No window was computed",
        "Effects were not estimated",
        "Profiles were not computed",
        "Nothing was learned yet",
        "Predictions were not compared",
        "No group has strengths",
        "Next builds were not asked for",
        "Nothing was planned or printed yet",
        "No raw file was read",
    ):
        assert sentence in page.text


@pytest.mark.parametrize(
    "part", ["campaign", "counts", "files", "learn", "next", "provenance", "runs", "strength", "window"]
)
def test_any_part_may_be_missing(facts, marks, part):
    assert part in facts
    del facts[part]
    assert len(marks(report_html(facts)).named("section")) == len(SECTIONS)


def test_hostile_names_are_shown_as_text(facts, marks):
    facts["campaign"]["name"] = facts["campaign"]["material"] = facts["files"][0]["name"] = _HOSTILE
    facts["runs"][0]["outcome"] = facts["learn"]["statements"][0] = _HOSTILE
    facts["learn"]["responses"]["clarity"]["effects"][0]["term"] = "<b>$x$</b>"
    page = marks(report_html(facts))
    assert page.named("script") == []
    assert page.named("b") == []
    assert page.text.count("{{7*7}}") >= 5


@pytest.mark.parametrize(
    ("part", "wrong"),
    [("window", []), ("runs", {}), ("campaign", "petg"), ("schema_version", 2)],
)
def test_facts_of_the_wrong_shape_are_refused(facts, part, wrong):
    facts[part] = wrong
    with pytest.raises(InputError, match=part):
        report_html(facts)


def test_what_is_no_plain_list_is_refused(facts):
    facts["window"]["profiles"][0]["x"] = np.array(facts["window"]["profiles"][0]["x"])
    with pytest.raises(InputError, match="a ndarray"):
        report_html(facts)


def test_features_with_any_name_keep_ids_sound(facts, marks):
    for item in facts["window"]["profiles"]:
        for number in (1, 2):
            item["responses"][f'size_error_mm:bore "{number}" <x>'] = item["responses"]["size_error_mm"]
    page = marks(report_html(facts))
    assert 'Size error [bore "1" <x>]' in page.text
    assert len(page.ids) == len(set(page.ids))
    assert all(re.fullmatch(r"[\w.-]+", name) for name in page.ids)


def test_without_a_claim_no_tolerance_is_drawn(facts, marks):
    facts["window"]["recipe"]["claim"] = False
    for item in facts["window"]["tolerances"]:
        del item["low"], item["high"]
    page = marks(report_html(facts))
    assert "figure-tolerances" not in page.ids
    assert "No tolerance is stated without a claim" in page.text


def test_a_map_that_does_not_fit_its_axes_is_refused(facts):
    facts["window"]["maps"][0]["probability"].pop()
    with pytest.raises(InputError, match=r"map flow_pct x nozzle_c has 14 rows of 15"):
        report_html(facts)


def test_the_check_counts_what_lies_inside(facts, marks):
    rows = facts["learn"]["check"]
    inside = sum(row["low"] <= row["observed"] <= row["high"] for row in rows)
    assert 0 < inside < len(rows)
    assert f"{inside} of {len(rows)} lie inside" in marks(report_html(facts)).text


def test_a_prior_is_called_a_prior(facts, marks):
    facts["window"]["recipe"] |= {"basis": "prior", "claim": False}
    text = marks(report_html(facts)).text
    assert "nothing measured yet" in text
    assert "from the physics model alone" in text


def test_the_same_facts_give_the_same_page(facts):
    assert report_html(facts) == report_html(facts)


def _without_numbers(given):
    if isinstance(given, dict):
        return {name: _without_numbers(item) for name, item in given.items()}
    if isinstance(given, list):
        return [_without_numbers(item) for item in given]
    return None if isinstance(given, float) else given


@pytest.mark.parametrize("part", ["runs", "learn", "strength", "window", "next"])
def test_numbers_that_are_not_known_are_dashes(facts, marks, part):
    facts[part] = _without_numbers(facts[part])
    page = marks(report_html(facts))
    assert page.text.count("–") > marks(report_html({})).text.count("–") + 5
    assert not re.search(r"\bnan\b|\bNone\b|\binf\b", page.text)


def test_a_setting_that_is_hard_to_change_is_called_so(facts, marks):
    assert "hard to change" not in marks(report_html(facts)).text
    facts["campaign"]["factors"][1]["hard_to_change"] = True
    assert "hard to change" in marks(report_html(facts)).text


def test_the_head_names_material_and_machine_by_title_where_known(facts):
    assert "petg on bench-0.4" in report_html(facts)
    facts |= {"material": {"title": "Own PETG"}, "machine": {"title": "Bench machine"}}
    assert "Own PETG on Bench machine" in report_html(facts)


def test_lost_evidence_stands_above_the_report(facts, marks):
    facts["evidence"] = {"checked": 11, "lost": ["Evidence is lost: the raw file of a.csv is damaged."]}
    text = marks(report_html(facts)).text
    assert (
        0
        < text.index("Evidence is lost: the raw file of a.csv is damaged.")
        < text.index("Raw files, as they were read")
    )
    assert "its content is still that of its sha-256" not in text
    facts["evidence"] = {"checked": 11, "lost": []}
    assert "its content is still that of its sha-256" in marks(report_html(facts)).text


def test_a_chamber_that_is_not_heated_is_not_told_as_a_temperature(facts, marks):
    for celsius, told in ((0.0, False), (60.0, True)):
        facts["campaign"]["settings"] = {"bed_c": 75.0, "chamber_c": celsius}
        assert ("chamber temperature" in marks(report_html(facts)).text) == told


def test_shares_are_drawn_with_their_intervals(facts):
    (chart, *_), named = shares(facts).charts, "nozzle temperature"
    (layer,) = chart.layers
    assert layer.mid[0] == pytest.approx(46.0)
    assert (layer.low[0], layer.high[0]) == pytest.approx((38.0, 53.0))
    assert layer.strong == (True, True, False)  # from 1 % up is not told from none
    assert named in layer.labels[0].lower()
    learned = facts["learn"]["responses"][next(iter(facts["learn"]["responses"]))]
    learned["shares"].append({"source": "layer_mm", "share": 0.001, "low": 0.0, "high": 0.02})
    assert len(shares(facts).charts[0].layers[0].labels) == 3  # what surely explains nothing is left out


def test_shares_that_too_few_builds_tell_are_not_drawn(facts, marks):
    """What stands there after three builds is what was foretold, and would read like a finding."""
    found = facts["learn"]["responses"]
    found["clarity"] |= {
        "shares_foretold": True,
        "classical_model": "none",
        "note": "3 builds are too few for 5 factors.",
    }
    plate = shares(facts)
    assert "Clarity" not in [chart.title for chart in plate.charts]
    assert "builds are too few to tell it: clarity." in plate.caption
    assert "Clarity: 3 builds are too few for 5 factors." in marks(report_html(facts)).text
    for item in found.values():
        item["shares_foretold"] = True
    assert shares(facts) is None
    assert "builds are too few to tell it" in marks(report_html(facts)).text
