"""Results under blind codes: each goes to the run, build and specimen that its code stands for, or is refused."""

import zipfile

import numpy as np
import pytest

from voidless.design.blinding import specimen_test_order
from voidless.records.store import Store
from voidless.specimens.codes import ALPHABET, BLIND_CODE, looks_like_code
from voidless.workflows import blinding
from voidless.workflows.opening import open_campaign

CURVE = "Time [s],Force [N],Travel [mm]\n" + "".join(
    f"{0.1 * k:.1f},{min(12.0 * k, 600.0):.1f},{0.01 * k:.2f}\n" for k in range(60)
)
HEAD = "specimen,response,value,unit\n"
WHOLE = "run,build,specimen,response,value,unit\n"


@pytest.fixture
def codes(planned):
    """Run, build and specimen by blind code, as the test sheets have them."""
    with open_campaign(planned) as opened:
        return {
            code: (build.run, build.label, specimen)
            for build in opened.store.builds()
            for code, specimen in blinding.test_order(opened.store, opened.orders, build)
        }


@pytest.fixture
def read(voidless, planned, tmp_path):
    """Write a file, read it and return its entry of the answer."""

    def reads(name, text, *more, status=0):
        (tmp_path / name).write_text(text, encoding="utf-8")
        found = voidless.json("read", planned, tmp_path / name, "--section", "z=30", *more, status=status)
        return found["files"][0]

    return reads


def _places(entry):
    return [(row["run"], row["build"], row["specimen"]) for row in entry["results"]]


def _stored(folder):
    with Store.open(folder) as store:
        return [(row.run, row.build, row.specimen, row.extra.get(BLIND_CODE)) for row in store.observations()]


def _unused(codes):
    """Return a code of digits and letters that stands for no specimen."""
    return next(code for sign in ALPHABET[:8] for last in "XYAC" if (code := f"{sign}K7{last}") not in codes)


@pytest.mark.parametrize("spelt", [str.upper, str.lower])
def test_a_table_by_codes_alone(codes, read, planned, spelt):
    first, second = list(codes)[3:5]
    text = f"{HEAD}{spelt(first)},mass_g,9.5,g\n{spelt(second)},mass_g,9.6,g\n"
    assert _places(read("masses.csv", text)) == [codes[first], codes[second]]
    assert sorted(_stored(planned)) == sorted([(*codes[first], first), (*codes[second], second)])


def test_a_table_by_codes_with_run_and_build(codes, read, planned):
    code, (run, build, _) = list(codes.items())[-1]
    text = f"{WHOLE}{run},{build},{code},mass_g,9.5,g\n{run},{build},,clarity,0.7,\n"
    assert _places(read("masses.csv", text)) == [codes[code], (run, build, "")]


def test_weighings_and_sizes_by_code(codes, read):
    code = next(iter(codes))
    (mass,) = _places(read("weighed.csv", f"specimen,mass_g\n{code},9.51\n"))
    assert mass == codes[code]
    sizes = read(
        "sizes.csv",
        f"specimen,feature,nominal_mm,measured_mm\n{code},width,20.0,20.05\n{code},width,20.0,20.07\n",
    )
    assert set(_places(sizes)) == {codes[code]}


@pytest.mark.parametrize("name", ["{code}_z.csv", "z {code}.csv", "{run}_{build}_{code}_z.csv"])
def test_a_curve_by_the_code_in_its_name(codes, read, planned, name):
    code, (run, build, _) = next(item for item in codes.items() if item[0][0] != "R")
    entry = read(name.format(code=code, run=run, build=build), CURVE)
    assert set(_places(entry)) == {codes[code]}
    assert {row[3] for row in _stored(planned)} == {code}


def test_read_again_gives_the_same(codes, read, planned, voidless):
    code = next(iter(codes))
    read("masses.csv", f"{HEAD}{code},mass_g,9.5,g\n")
    (again,) = voidless.json("read", planned, "--again")["files"]
    assert (again["status"], again["changes"]) == ("same", [])


@pytest.fixture
def sharing(monkeypatch, codes, planned):
    """Let two builds share each code, and return one with its two places."""
    monkeypatch.setattr(
        blinding,
        "specimen_test_order",
        lambda labels, _: specimen_test_order(labels, blinding_rng()),
    )
    with open_campaign(planned) as opened:
        builds = opened.store.builds()[:2]
        (code, specimen), *_ = blinding.test_order(opened.store, opened.orders, builds[0])
    return code, [(build.run, build.label, specimen) for build in builds]


def blinding_rng():
    """Return the same generator for every build."""
    return np.random.default_rng(1)


def test_a_shared_code_is_asked_about(sharing, read, planned):
    code, places = sharing
    entry = read("masses.csv", f"{HEAD}{code},mass_g,9.5,g\n", status=2)
    assert entry["status"] == "question"
    assert all(f"{build} ({run})" in entry["questions"][0]["what"] for run, build, _ in places)
    assert _stored(planned) == []
    run, build, _ = places[1]
    assert _places(read("named.csv", f"{WHOLE}{run},{build},{code},mass_g,9.5,g\n")) == [places[1]]
    assert _places(read("half.csv", f"{WHOLE},{places[0][1]},{code},mass_g,9.4,g\n")) == [places[0]]


@pytest.mark.parametrize("name", ["table.csv", "weighed.csv", "curve"])
def test_a_code_of_no_specimen_is_refused(codes, read, planned, name):
    code = _unused(codes)
    file, text = {
        "table.csv": (name, f"{HEAD}{next(iter(codes))},mass_g,9.4,g\n{code},mass_g,9.5,g\n"),
        "weighed.csv": (name, f"specimen,mass_g\n{code},9.51\n"),
        "curve": (f"{code}_z.csv", CURVE),
    }[name]
    error = read(file, text, status=2)["error"]
    assert error["what"] == f"no specimen has the code {code}"
    assert "test sheets" in error["expected"]
    assert _stored(planned) == []


def test_a_code_beside_another_run_is_refused_and_does_not_tell_its_own(codes, read, planned):
    code, (own, _, _) = next(iter(codes.items()))
    run, build, _ = next(place for place in codes.values() if place[0] != own)
    error = read("masses.csv", f"{WHOLE}{run},{build},{code},mass_g,9.5,g\n", status=2)["error"]
    assert f"code {code} stands beside {run} {build}" in error["what"]
    assert own not in "".join(error.values())
    assert _stored(planned) == []


def test_labels_of_ones_own_stay(codes, read):
    run, build, _ = next(iter(codes.values()))
    assert {"REAR", "2345", "A2C3"}.isdisjoint(codes)
    rows = "".join(f"{run},{build},{label},mass_g,9.5,g\n" for label in ("REAR", "2345", "A2C3", "left 2"))
    own = [(run, build, label) for label in ("REAR", "2345", "A2C3", "left 2")]
    assert _places(read("own.csv", WHOLE + rows)) == own
    assert {place[2] for place in _places(read("REAR_z.csv", CURVE))} == {"REAR_z"}


def test_a_label_like_a_code_among_codes_is_taken_for_a_misread_one(codes, read):
    code, (run, build, _) = next(iter(codes.items()))
    rows = "".join(f"{run},{build},{label},mass_g,9.5,g\n" for label in (code, _unused(codes)))
    assert read("masses.csv", WHOLE + rows, status=2)["error"]["what"].endswith(f"the code {_unused(codes)}")


def test_one_code_names_no_file_of_several_specimens(codes, read):
    rows = CURVE.splitlines()[1:]
    text = "".join(
        f"Specimen {number}\nTime [s],Force [N],Travel [mm]\n" + "\n".join(rows) + "\n" for number in (1, 2)
    )
    code = next(iter(codes))
    error = read(f"{code}_z.csv", text, status=2)["error"]
    assert error["what"] == f"code {code} names several specimens"


def test_curves_of_an_archive(codes, voidless, planned, tmp_path):
    names = list(codes)[2:4]
    with zipfile.ZipFile(tmp_path / "day 3.zip", "w") as archive:
        for place, code in enumerate(names):
            archive.writestr(f"{code}_z.csv", CURVE.replace("600.0", f"{500.0 + place}"))
    (entry,) = voidless.json("read", planned, tmp_path / "day 3.zip", "--section", "z=30")["files"]
    assert _places(entry) == [codes[code] for code in names]


def test_a_code_that_looks_like_a_run(read, planned, monkeypatch):
    with open_campaign(planned) as opened:
        builds = [(build.run, build.label) for build in opened.store.builds()]
    drawn = iter(["R234", *(f"{ALPHABET[k // 24]}X{ALPHABET[k % 24]}Y" for k in range(500))])
    monkeypatch.setattr(
        blinding, "specimen_test_order", lambda labels, _: [(next(drawn), each) for each in labels]
    )
    (place,) = set(_places(read("R234_z.csv", CURVE)))
    assert place[:2] == builds[0]


def test_without_a_code_run_and_build_are_still_needed(read):
    error = read("own.csv", f"{HEAD}left,mass_g,9.5,g\n", status=2)["error"]
    assert "no run; expected a label such as R03" in "".join(error.values())


@pytest.mark.parametrize("column", ["exposure_h", "build_outcome", "flow_pct"])
def test_facts_of_a_build_need_run_and_build(codes, read, column):
    value = {"exposure_h": "3", "build_outcome": "ok", "flow_pct": "100"}[column]
    text = f"specimen,response,value,unit,{column}\n{next(iter(codes))},mass_g,9.5,g,{value}\n"
    error = read("masses.csv", text, status=2)["error"]
    assert f"{column} beside a blind code alone" in error["what"]


def test_codes_look_like_codes(codes):
    assert all(looks_like_code(code) for code in codes)
