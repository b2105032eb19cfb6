"""Runs, builds and facts: labels never come back, the latest fact rules, open proposals stay open."""

import math

import pytest

from voidless.campaign.types import BuildOutcome
from voidless.errors import InputError
from voidless.records.facts import Session, Spool


def test_labels_are_numbered_on(printed, now):
    with printed.writing(now) as writer:
        assert writer.add_run({"flow_pct": 99.0}) == "R04"
        assert writer.add_run({"flow_pct": 98.0}, label="r120") == "R120"
        assert writer.add_run({"flow_pct": 98.0}, label="corner") == "corner"
        assert writer.add_run({"flow_pct": 97.0}) == "R121"
        assert writer.add_build("corner") == "B04"
        assert writer.add_build("R121", label="left-2") == "left-2"
        assert writer.add_build("R121") == "B05"
    assert [run.label for run in printed.runs()] == ["R01", "R02", "R03", "R04", "R120", "R121", "corner"]


@pytest.mark.parametrize("label", ["R01", "r1", "R001"])
def test_a_label_is_not_used_twice(printed, now, label):
    with pytest.raises(InputError, match="R01 is already used"), printed.writing(now) as writer:
        writer.add_run({"flow_pct": 99.0}, label=label)


def fail_half_way(store, now, seen):
    with store.writing(now) as writer:
        writer.add_build(writer.add_run({"flow_pct": 99.0}))
        writer.add_observation(seen("R04", "B04"))
        raise ZeroDivisionError


def test_an_undone_transaction_leaves_nothing(printed, now, seen):
    before = printed.counts()
    with pytest.raises(ZeroDivisionError):
        fail_half_way(printed, now, seen)
    assert printed.counts() == before
    with printed.writing(now) as writer:
        assert writer.add_run({"flow_pct": 99.0}) == "R04"  # never seen by anyone, so not used up


def test_settings_come_back_exactly(store, now):
    settings = {"flow_pct": 0.1 + 0.2, "nozzle_c": 1e-300, "speed_mm_s": 33.333333333333336}
    with store.writing(now) as writer:
        writer.add_run(settings, reason="usual settings", origin="next")
    (run,) = store.runs()
    assert run.settings == settings
    assert run.reason == "usual settings"


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_settings_that_are_no_numbers_are_refused(store, now, value):
    with pytest.raises(InputError, match="flow_pct"), store.writing(now) as writer:
        writer.add_run({"flow_pct": value})
    assert store.runs() == []


def test_a_bed_with_several_runs_appears_once_per_run(printed, now):
    with printed.writing(now) as writer:
        writer.add_layout("two bars", {"places": [[10, 20], [60, 20]]})
        label = writer.add_build(["R01", "R03"], session=2, positions=[4, 2], layout="two bars")
    mine = [build for build in printed.builds() if build.label == label]
    assert [(build.run, build.position, build.session, build.order) for build in mine] == [
        ("R03", 2, 2, 4),
        ("R01", 4, 2, 4),
    ]
    assert [build.settings["flow_pct"] for build in mine] == [105.0, 95.0]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ({"runs": "R09"}, "run 'R09' is not known"),
        ({"runs": ["R01", "R01"]}, "different runs"),
        ({"runs": []}, "one or more"),
        ({"runs": ["R01"], "positions": [1, 2]}, "one position each"),
        ({"runs": ["R01"], "positions": [0]}, "position = 0"),
        ({"runs": ["R01"], "order": 0}, "order = 0"),
        ({"runs": ["R01"], "session": 0}, "session = 0"),
        ({"runs": ["R01"], "layout": "none"}, "layout 'none' is not known"),
        ({"runs": ["R01"], "label": "b1"}, "B01 is already used"),
    ],
)
def test_impossible_builds_are_refused(printed, now, arguments, said):
    with pytest.raises(InputError, match=said), printed.writing(now) as writer:
        writer.add_build(**arguments)
    assert printed.counts()["builds"] == 3


def test_an_unknown_run_names_the_nearest(printed, now):
    with pytest.raises(InputError, match="Did you mean R01"), printed.writing(now) as writer:
        writer.add_build("RO1")


def test_an_unknown_build_of_a_known_run_is_made_once(printed, now):
    with printed.writing(now) as writer:
        assert writer.ensure_build("R01", "b1") == ("B01", False)
        assert writer.ensure_build("R01", "17", order=9, session=2) == ("17", True)
        assert writer.ensure_build("R01", "17") == ("17", False)
        assert writer.ensure_build("R02", "B11") == ("B11", True)
        assert writer.add_build("R02") == "B12"
    assert [open_.build for open_ in printed.planned()] == ["B01", "B02", "B03", "B12"]
    with pytest.raises(InputError, match="B01 did not print run R02"), printed.writing(now) as writer:
        writer.ensure_build("R02", "B01")
    with pytest.raises(InputError, match="run 'R77' is not known"), printed.writing(now) as writer:
        writer.ensure_build("R77", "B20")


def test_the_latest_fact_rules_and_the_earlier_stays(printed, later):
    with printed.writing(later()) as writer:
        writer.set_build_fact("B01", "exposure_h", 3)
        writer.set_build_fact("B01", "note", "first")
    with printed.writing(later()) as writer:
        writer.set_build_fact("b1", "exposure_h", 5.5)
        writer.set_build_fact("B01", "humidity_pct", 40)
        writer.set_build_fact("B01", "order", 8)
        writer.set_build_fact("B01", "session", 2)
    build = next(build for build in printed.builds() if build.label == "B01")
    assert (build.exposure_h, build.humidity_pct, build.order, build.session) == (5.5, 40.0, 8, 2)
    assert [build.label for build in printed.builds()] == ["B02", "B03", "B01"]
    assert [fact.value for fact in printed.build_facts() if fact.name == "exposure_h"] == [3.0, 5.5]


def test_facts_name_the_file_that_says_so(printed, now):
    sha = printed.put_file(b"B01,3", "log.csv", "result_table")
    with printed.writing(now) as writer:
        writer.set_build_fact("B01", "exposure_h", 3, source_sha=sha)
    assert printed.build_facts()[0].source_sha == sha
    assert printed.has_file(sha)


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("outcome", "broken", "outcome 'broken' is not known"),
        ("exposure_h", -1, "exposure_h = -1"),
        ("exposure_h", math.nan, "exposure_h = nan"),
        ("humidity_pct", 101, "humidity_pct = 101 cannot be"),
        ("started", "yesterday", "is not a time"),
        ("order", 0, "order = 0"),
        ("spool", "S9", "spool 'S9' is not known"),
        ("temperature", 3, "is not a fact of a build"),
    ],
)
def test_impossible_facts_are_refused(printed, now, name, value, said):
    with pytest.raises(InputError, match=said), printed.writing(now) as writer:
        writer.set_build_fact("B01", name, value)
    assert printed.build_facts() == []


def test_results_and_failures_spend_builds(printed, now, seen):
    assert printed.builds_spent() == 0
    assert [(open_.build, open_.run, open_.order) for open_ in printed.planned()] == [
        ("B01", "R01", 1),
        ("B02", "R02", 2),
        ("B03", "R03", 3),
    ]
    with printed.writing(now) as writer:
        writer.add_observation(seen("R01", "B01"))
        writer.set_build_fact("B02", "outcome", BuildOutcome.CLOGGED)
        writer.set_build_fact("B03", "outcome", "ok")
    assert printed.spent_labels() == ["B01", "B02"]
    assert [open_.build for open_ in printed.planned()] == ["B03"]
    assert [build.outcome for build in printed.builds()] == [
        BuildOutcome.OK,
        BuildOutcome.CLOGGED,
        BuildOutcome.OK,
    ]


def test_a_build_whose_only_result_is_withdrawn_is_open_again(printed, now, seen):
    with printed.writing(now) as writer:
        wrong = writer.add_observation(seen("R01", "B01"))
    with printed.writing(now) as writer:
        writer.withdraw_observation(wrong, "belongs to another bed")
    assert printed.builds_spent() == 0
    assert len(printed.planned()) == 3


def test_replacing_a_plan_withdraws_what_nobody_began(printed, now, seen):
    with printed.writing(now) as writer:
        writer.add_observation(seen("R01", "B01"))
        writer.set_build_fact("B02", "note", "printing")
    with printed.writing(now) as writer:
        assert writer.drop_plan("another design") == ["B03"]
        assert writer.add_run({"flow_pct": 101.0}) == "R04"
        assert writer.add_build("R04") == "B04"
    assert [run.label for run in printed.runs()] == ["R01", "R02", "R04"]
    assert [run.label for run in printed.runs(withdrawn=True)] == ["R01", "R02", "R03", "R04"]
    assert [build.label for build in printed.builds()] == ["B01", "B02", "B04"]
    assert [open_.build for open_ in printed.planned()] == ["B02", "B04"]


def test_a_withdrawn_build_that_was_printed_after_all_counts(printed, now, seen):
    with printed.writing(now) as writer:
        writer.drop_plan()
    assert printed.builds() == []
    with printed.writing(now) as writer:
        writer.add_observation(seen("R02", "B02"))
    assert [build.label for build in printed.builds()] == ["B02"]
    assert [run.label for run in printed.runs()] == ["R02"]
    assert printed.builds_spent() == 1


def test_realised_settings_carry_uncertainty_and_source(printed, later):
    with printed.writing(later()) as writer:
        writer.set_realised("B01", "nozzle_c", 236.0, 2.0, "thermocouple")
        writer.set_realised("B01", "nozzle_c", 237.5, 1.5, "thermocouple, corrected")
        writer.set_realised("B02", "flow_pct", 98.0)
    found = [(item.build, item.name, item.value, item.sd) for item in printed.realised()]
    assert found == [("B01", "nozzle_c", 237.5, 1.5), ("B02", "flow_pct", 98.0, None)]
    with pytest.raises(InputError, match="uncertainty of nozzle_c"), printed.writing(later()) as writer:
        writer.set_realised("B01", "nozzle_c", 236.0, -1.0)


def test_sessions_are_described_once_or_again(printed, now):
    with printed.writing(now) as writer:
        writer.add_session(Session(2, "tuesday", "A."))
        writer.add_session(Session(1, "monday"))
    assert printed.sessions() == [Session(1, "monday"), Session(2, "tuesday", "A.")]
    assert {build.session for build in printed.builds()} == {1}


def test_exposure_follows_from_intervals_where_it_is_not_logged(printed, now):
    from voidless.campaign.types import Exposure

    with printed.writing(now) as writer:
        writer.add_spool(Spool("S1"))
        writer.add_exposure(Exposure("S1", "2026-03-02T00:00", "2026-03-02T06:00", "dryer"))
        for build, start in (("B01", "2026-03-02T08:30"), ("B02", "2026-03-02T12:00")):
            writer.set_build_fact(build, "spool", "S1")
            writer.set_build_fact(build, "started", start)
        writer.set_build_fact("B02", "exposure_h", 1.0)
    assert [build.exposure_h for build in printed.builds()] == [2.5, 1.0, None]
    assert [build.spool for build in printed.builds()] == ["S1", "S1", ""]


def test_times_with_and_without_zone_are_not_mixed(printed, now):
    with printed.writing(now) as writer:
        writer.set_build_fact("B01", "started", "2026-03-02T08:30")
    with pytest.raises(InputError, match="cannot be compared"), printed.writing(now) as writer:
        writer.set_build_fact("B02", "started", now)
