"""Observations keep their provenance; corrections supersede; checks and ties of instruments are kept."""

import math

import pytest

from voidless.campaign.types import Bound, BreakMode, BreakPlace, Observation, ResponseKey
from voidless.errors import InputError, RecordsError
from voidless.records.facts import Check, Instrument, Specimen, Use

FULL = Observation(
    run="R01",
    build="B01",
    specimen="Z3",
    key=ResponseKey("strength_z_mpa", "maximum", "", (("direction", "Z"), ("speed_mm_min", "5"))),
    value=31.4,
    uncertainty=0.3,
    bound=Bound.LOWER,
    break_place=BreakPlace.RADIUS,
    break_mode=BreakMode.BETWEEN_LAYERS,
    order=12,
    session="tuesday",
    assumed=True,
    extra={"operator": "A.", "conditioning": "23 °C, 50 %"},
)


def test_an_observation_comes_back_as_it_was_given(printed, now):
    sha = printed.put_file(b"force,travel", "z 3.csv", "machine_curve")
    with printed.writing(now) as writer:
        writer.add_instrument(Instrument("rig", "tensile", "0.1 N"))
        written = writer.add_observation(
            FULL, source_sha=sha, method_version="tensile 1", unit="N/mm²", instrument="rig", measured_at=now
        )
    assert printed.observations() == [FULL]
    (row,) = printed.rows()
    assert (row.id, row.unit, row.source_sha, row.source_name) == (written, "MPa", sha, "z 3.csv")
    assert (row.method_version, row.instrument, row.time, row.measured_at) == ("tensile 1", "rig", now, now)
    assert row.code_version
    assert row.current


def test_what_was_not_recorded_stays_empty(store, now, seen):
    with store.writing(now) as writer:
        writer.add_observation(seen("", "", specimen="bar 1"))
    (found,) = store.observations()
    assert (found.run, found.build, found.specimen) == ("", "", "bar 1")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"run": "R09"}, "run 'R09' is not known"),
        ({"build": "B09"}, "build 'B09' is not known"),
        ({"build": "B02"}, "B02 did not print run R01"),
        ({"value": math.nan}, "clarity = nan"),
        ({"uncertainty": -0.1}, "uncertainty of clarity"),
        ({"uncertainty": math.inf}, "uncertainty of clarity"),
        ({"quantity": "nozzle_c"}, "'nozzle_c' is not a response"),
        ({"quantity": "clarty"}, "Did you mean clarity"),
    ],
)
def test_impossible_observations_are_refused(printed, now, seen, change, said):
    with pytest.raises(InputError, match=said), printed.writing(now) as writer:
        writer.add_observation(seen(**change))
    assert printed.observations(current=False) == []


@pytest.mark.parametrize(("unit", "said"), [("MPa", "clarity in MPa"), ("furlong", "not known")])
def test_a_unit_that_is_not_the_quantitys_is_refused(printed, now, seen, unit, said):
    with pytest.raises(InputError, match=said), printed.writing(now) as writer:
        writer.add_observation(seen(), unit=unit)


def test_sources_that_are_not_there_are_refused(printed, now, seen):
    with pytest.raises(InputError, match=r"no file .* was stored"), printed.writing(now) as writer:
        writer.add_observation(seen(), source_sha="0" * 64)
    with pytest.raises(InputError, match="instrument 'rig' is not known"), printed.writing(now) as writer:
        writer.add_observation(seen(), instrument="rig")


def test_a_correction_supersedes_and_the_old_stays(printed, later, seen):
    with printed.writing(later()) as writer:
        first = writer.add_observation(seen(value=0.5))
        other = writer.add_observation(seen(value=0.9))
    with printed.writing(later()) as writer:
        second = writer.supersede(first, seen(value=0.6))
    with printed.writing(later()) as writer:
        third = writer.supersede(second, seen(value=0.7))
    assert [row.id for row in printed.rows()] == [other, third]
    assert [found.value for found in printed.observations()] == [0.9, 0.7]
    rows = {row.id: row for row in printed.rows(current=False)}
    assert [row.observation.value for row in rows.values()] == [0.5, 0.9, 0.6, 0.7]
    assert (rows[first].superseded_by, rows[second].supersedes, rows[second].superseded_by) == (
        second,
        first,
        third,
    )
    assert [row.current for row in rows.values()] == [False, True, False, True]


def test_only_what_rules_can_be_corrected(printed, now, seen):
    with printed.writing(now) as writer:
        first = writer.add_observation(seen())
        writer.supersede(first, seen(value=0.6))
        wrong = writer.add_observation(seen())
        writer.withdraw_observation(wrong, "another bed")
    for target, said in (
        (first, "already superseded by"),
        (wrong, "was withdrawn"),
        ("gone", "is not known"),
    ):
        with pytest.raises(InputError, match=said), printed.writing(now) as writer:
            writer.supersede(target, seen(value=0.7))
        with pytest.raises(InputError, match=said), printed.writing(now) as writer:
            writer.withdraw_observation(target, "again")


def test_a_withdrawal_needs_a_reason_and_keeps_the_observation(printed, now, seen):
    with printed.writing(now) as writer:
        wrong = writer.add_observation(seen())
    with pytest.raises(InputError, match="no reason"), printed.writing(now) as writer:
        writer.withdraw_observation(wrong, " ")
    with printed.writing(now) as writer:
        writer.withdraw_observation(wrong, "another bed")
    assert printed.observations() == []
    assert [row.withdrawn for row in printed.rows(current=False)] == ["another bed"]


def test_observations_are_found_by_what_they_are(printed, now, seen):
    sha = printed.put_file(b"a", "a.csv", "result_table")
    with printed.writing(now) as writer:
        writer.add_observation(seen("R01", "B01", 0.1, "S1"), source_sha=sha)
        writer.add_observation(seen("R01", "B01", 0.2, feature="hole", quantity="size_error_mm"))
        writer.add_observation(seen("R02", "B02", 0.3, "S1", method="maximum"))

    def values(**wanted):
        return [row.observation.value for row in printed.find_observations(**wanted)]

    assert values(build="B01") == [0.1, 0.2]
    assert values(specimen="S1") == [0.1, 0.3]
    assert values(specimen="S1", run="R02") == [0.3]
    assert values(specimen="") == [0.2]
    assert values(feature="hole", run=None) == [0.2]
    assert values(method="maximum") == [0.3]
    assert values(source_sha=sha) == [0.1]
    assert [row.observation.value for row in printed.observations_from(sha)] == [0.1]
    with pytest.raises(InputError, match="'colour' is not known"):
        printed.find_observations(colour="red")


def test_reading_the_same_file_again_can_be_noticed(printed, now, seen):
    sha = printed.put_file(b"a", "a.csv", "result_table")
    assert not printed.has_file(sha)
    assert [problem.kind for problem in printed.verify()] == ["orphan"]
    with printed.writing(now) as writer:
        writer.add_observation(seen(), source_sha=sha)
        writer.add_observation(seen(), source_sha=sha)
    assert printed.has_file(sha)
    assert len(printed.files()) == 1
    again = printed.put_file(b"a", "renamed.csv", "result_table")
    assert again == sha
    with printed.writing(now) as writer:
        writer.add_file(sha)
    assert [(stored.name, stored.size) for stored in printed.files()] == [("a.csv", 1), ("renamed.csv", 1)]
    assert printed.verify() == []


def test_a_file_whose_content_is_gone_is_reported(printed, now):
    sha = printed.put_file(b"a", "a.jpg", "photo")
    other = printed.put_file(b"b", "b.jpg", "photo")
    with printed.writing(now) as writer:
        writer.add_file(sha)
        writer.add_file(other)
    printed.file_path(sha).unlink()
    printed.file_path(other).write_bytes(b"c")
    found = printed.verify()
    assert [(problem.kind, problem.harmless) for problem in found] == [("missing", False), ("damaged", False)]
    assert "a.jpg" in found[0].what
    with pytest.raises(RecordsError, match="cannot be read"):
        printed.read_file(sha)


def test_specimens_are_completed_and_corrected(printed, later, seen):
    with printed.writing(later()) as writer:
        writer.add_observation(seen("R01", "B01", specimen="Z1"))
    assert printed.specimens() == [Specimen("Z1", "R01", "B01")]
    with printed.writing(later()) as writer:
        writer.add_specimen(
            Specimen(
                "Z1",
                "R01",
                "B01",
                "bar_z",
                "ZX",
                section_mm2=40.0,
                break_place=BreakPlace.RADIUS,
                polish="none",
            )
        )
    with printed.writing(later()) as writer:
        writer.add_specimen(
            Specimen("Z1", "R01", "b1", break_place=BreakPlace.GAUGE, break_mode=BreakMode.MIXED, age_h=24.0)
        )
        writer.add_observation(seen("R01", "B01", specimen="Z1", value=0.7))
    (found,) = printed.specimens()
    assert found == Specimen(
        "Z1",
        "R01",
        "B01",
        "bar_z",
        "ZX",
        section_mm2=40.0,
        break_place=BreakPlace.GAUGE,
        break_mode=BreakMode.MIXED,
        age_h=24.0,
        polish="none",
    )
    assert [row.observation.specimen for row in printed.rows()] == ["Z1", "Z1"]


@pytest.mark.parametrize(
    ("specimen", "said"),
    [
        (Specimen(" "), "no label"),
        (Specimen("Z1", section_mm2=-1.0), "section_mm2 = -1.0"),
        (Specimen("Z1", "R01", "B02"), "did not print"),
    ],
)
def test_impossible_specimens_are_refused(printed, now, specimen, said):
    with pytest.raises(InputError, match=said), printed.writing(now) as writer:
        writer.add_specimen(specimen)


def test_checks_and_ties_come_back_as_they_were_given(printed, now, seen):
    sha = printed.put_file(b"x", "bars.csv", "result_table")
    with printed.writing(now) as writer:
        writer.add_instrument(Instrument("rig", "tensile"))
        writer.add_observation(seen(), sha)
        check = Check("rig", now, False, 0.1, "N", "", 1.02, 0.5, 0.001, 0.1)
        writer.add_check(check)
        writer.add_use(Use("rig", sha, power=2.0))
        writer.add_use(Use("rig", sha, power=1.0, reading=500.0, measured_at=now))
        assert writer.checks("rig") == [check]
        assert printed.checks("rig") == []
    assert printed.checks() == [check]
    assert printed.uses() == [Use("rig", sha, "", 1.0, 500.0, now)]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"gain": 0.0}, "gain = 0"),
        ({"gain": float("nan")}, "gain"),
        ({"offset_uncertainty": -1.0}, "offset_unc"),
    ],
)
def test_impossible_checks_are_refused(printed, now, change, said):
    with printed.writing(now) as writer:
        writer.add_instrument(Instrument("rig"))
    with pytest.raises(InputError, match=said), printed.writing(now) as writer:
        writer.add_check(Check("rig", now, False, **change))


def test_the_tree_of_scatter_is_kept_down_to_the_reading(printed, now, seen):
    with printed.writing(now) as writer:
        for value in (0.50, 0.52):
            writer.add_observation(seen("R02", "B02", value, "P1"))
    readings = printed.find_observations(run="R02", build="B02", specimen="P1", quantity="clarity")
    assert [row.observation.value for row in readings] == [0.50, 0.52]
    assert len(printed.specimens()) == 1
