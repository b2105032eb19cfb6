"""What docs/exchange.md promises to outside programs, command by command."""

import json

import numpy as np
import pytest

FACTORS = {"flow_pct", "nozzle_c"}


def test_plan_rows_have_the_exchange_keys(voidless, campaign):
    plan = voidless.json("plan", campaign, "--seed", 3)
    assert plan["schema_version"] == 1
    assert plan["seed"] == 3
    for order, row in enumerate(plan["runs"], 1):
        assert set(row) >= {"run", "build", "position", "order", "block", "settings", "build_min", "grams"}
        assert set(row["settings"]) == FACTORS
        assert row["order"] == order
        assert row["build_min"] > 0
        assert row["grams"] > 0
        assert 90 <= row["settings"]["flow_pct"] <= 110
        assert 210 <= row["settings"]["nozzle_c"] <= 260
    assert "layer_mm" in plan["fixed"]
    assert len({row["build"] for row in plan["runs"]}) == len(plan["runs"])


def test_same_seed_same_plan(voidless, campaign):
    first = voidless.json("plan", campaign, "--design", "space-filling", "--runs", 6, "--seed", 3)
    second = voidless.json(
        "plan", campaign, "--design", "space-filling", "--runs", 6, "--seed", 3, "--replace"
    )
    assert [r["settings"] for r in first["runs"]] == [r["settings"] for r in second["runs"]]
    assert not {r["run"] for r in first["runs"]} & {r["run"] for r in second["runs"]}


def test_plan_with_results_is_not_replaced(voidless, campaign, bench, tmp_path):
    plan = voidless.json("plan", campaign, "--seed", 1)
    results = tmp_path / "r.csv"
    results.write_text(bench(plan["runs"][:1], np.random.default_rng(0)), encoding="utf-8")
    voidless.json("read", campaign, results)
    fault = voidless.json("plan", campaign, "--replace", status=2)["error"]
    assert "results" in fault["what"]


def test_campaign_loop_ends_in_a_recipe(voidless, campaign, bench, tmp_path):
    rng = np.random.default_rng(5)
    rows = voidless.json("plan", campaign, "--seed", 1)["runs"]
    assert voidless.json("window", campaign)["recipe"]["basis"] == "prior"
    for step in range(2):
        path = tmp_path / f"results-{step}.csv"
        path.write_text(bench(rows, rng), encoding="utf-8")
        read = voidless.json("read", campaign, path)
        assert read["files"][0]["status"] == "stored"
        assert len(read["files"][0]["results"]) == 3 * len(rows)
        again = voidless.json("next", campaign, "--count", 2)
        rows = again["runs"]
        assert set(again) >= {"runs", "stop", "reason", "probability_pass"}
        assert voidless.json("next", campaign, "--count", 2)["runs"] == rows
        if again["stop"]:
            break
    window = voidless.json("window", campaign, "--confidence", 0.8)
    recipe = window["recipe"]
    assert set(recipe) >= {
        "settings",
        "probability_pass",
        "build_min",
        "predicted",
        "claim",
        "blocked_by",
        "basis",
    }
    assert recipe["basis"] == "data"
    assert set(recipe["settings"]) == FACTORS
    assert recipe["claim"] == (recipe["probability_pass"] >= 0.8)
    for response in ("clarity", "z_ratio", "size_error_mm"):
        predicted = recipe["predicted"][response]
        assert (
            predicted["part_low"]
            <= predicted["low"]
            <= predicted["mean"]
            <= predicted["high"]
            <= predicted["part_high"]
        )
    learned = voidless.json("learn", campaign)
    assert set(learned["responses"]) >= {"clarity", "z_ratio", "size_error_mm"}


def test_reading_twice_stores_once(voidless, campaign, bench, tmp_path):
    plan = voidless.json("plan", campaign, "--seed", 1)
    path = tmp_path / "r.csv"
    path.write_text(bench(plan["runs"], np.random.default_rng(0)), encoding="utf-8")
    first = voidless.json("read", campaign, path)
    second = voidless.json("read", campaign, path)
    assert first["files"][0]["status"] == "stored"
    assert second["files"][0]["status"] == "already_stored"


@pytest.mark.parametrize(
    ("row", "word"),
    [
        ("R99,B01,,clarity,0.5,", "R99"),
        ("R01,B01,,strength_z_mpa,40,", "unit"),
        ("R01,B01,,strength_z_mpa,40,psi", "psi"),
        ("R01,B01,,clarity,1.5,", "1.5"),
        ("R01,B01,,clarty,0.5,", "clarity"),
        ("R01,B01,,clarity,abc,", "abc"),
        ("R01,B01,,clarity,nan,", "nan"),
        ("R01,B01,,clarity,,", "value"),
    ],
)
def test_bad_row_refuses_the_whole_file(voidless, planned, tmp_path, row, word):
    path = tmp_path / "bad.csv"
    path.write_text(
        "run,build,specimen,response,value,unit\nR01,B01,,clarity,0.6,\n" + row + "\n", encoding="utf-8"
    )
    answer = voidless.json("read", planned, path, status=2)
    assert set(answer["error"]) == {"where", "what", "expected", "remedy"}
    assert word in json.dumps(answer["error"])
    assert answer["files"][0]["status"] == "refused"
    from voidless.records.store import Store

    with Store.open(planned) as store:
        assert not store.observations()


def test_repeat_makes_a_new_build(voidless, planned, tmp_path):
    path = tmp_path / "repeat.csv"
    path.write_text("run,build,specimen,response,value,unit\nR01,B90,,clarity,0.6,\n", encoding="utf-8")
    assert voidless.json("read", planned, path)["files"][0]["status"] == "stored"


def test_campaign_without_plan_takes_factor_columns(voidless, campaign, tmp_path):
    path = tmp_path / "old.csv"
    rows = [f"R{i:02d},B{i:02d},,clarity,{0.5 + 0.01 * i},,{95 + i},{220 + 3 * i}" for i in range(1, 8)]
    path.write_text(
        "run,build,specimen,response,value,unit,flow_pct,nozzle_c\n" + "\n".join(rows), encoding="utf-8"
    )
    assert voidless.json("read", campaign, path)["files"][0]["status"] == "stored"
    assert voidless.json("window", campaign)["recipe"]["basis"] == "data"


@pytest.mark.parametrize(
    "arguments",
    [
        ("plam",),
        ("plan",),
        ("plan", "x", "--runs", "many"),
        ("window", "nowhere"),
        ("new", "x", "--from", "none.toml"),
    ],
)
def test_argument_faults_are_json_too(voidless, tmp_path, monkeypatch, arguments):
    monkeypatch.chdir(tmp_path)
    fault = voidless.json(*arguments, status=2)["error"]
    assert all(isinstance(fault[key], str) for key in ("where", "what", "expected", "remedy"))
    assert fault["what"]


def test_predict_names_its_responses(voidless):
    found = voidless.json(
        "predict",
        "--material",
        "petg",
        "--machine",
        "bench-0.4",
        "--set",
        "flow_pct=102",
        "--set",
        "fan_pct=0",
    )
    for name in (
        "clarity",
        "void_pct",
        "strength_z_mpa",
        "z_ratio",
        "build_min",
        "rate_mm3_s",
        "residence_s",
    ):
        response = found["responses"][name]
        assert response["low"] <= response["mean"] <= response["high"], name
    assert isinstance(found["outside_range"], list)


def test_help_of_every_command_has_an_example(voidless):
    from voidless.cli.app import COMMANDS

    for verb in COMMANDS:
        status, out, _ = voidless(verb, "--help")
        assert status == 0
        assert "Example" in out, verb
