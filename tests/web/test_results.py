"""The page of a single result: value, uncertainty, picture, flags, raw file, answers, and what stood before it."""

from __future__ import annotations

import hashlib
import re
from datetime import UTC, datetime

import pytest

from voidless.web.app import create_app
from voidless.workflows import reductions
from voidless.workflows.log import log_fact
from voidless.workflows.new import new_campaign
from voidless.workflows.opening import open_campaign
from voidless.workflows.read import read_files
from voidless.workflows.results import one_result, result_rows

from .conftest import SIGHT_GLASS, Client

_HTML = {"accept": "text/html"}
_CURVE = "Time [s],Force [N],Travel [mm]\n" + "".join(
    f"{0.1 * k:.1f},{min(12.0 * k, 600.0):.1f},{0.01 * k:.2f}\n" for k in range(60)
)
_NOW = datetime(2031, 3, 9, tzinfo=UTC)


@pytest.fixture
def campaign(tmp_path):
    """A campaign with two curves and a failed check of the force cell."""
    (tmp_path / "c.toml").write_text(SIGHT_GLASS, encoding="utf-8")
    folder, trials = tmp_path / "campaign", tmp_path / "trials"
    trials.mkdir()
    for name, steep in (("z_1.csv", "12.0"), ("z_2.csv", "11.0")):
        (trials / name).write_text(_CURVE.replace("12.0", steep), encoding="utf-8")
    new_campaign(folder, tmp_path / "c.toml")
    read_files(folder, [trials], sections={"z": "30"}, now=_NOW)
    log_fact(folder, "instrument", {"instrument": "CELL"}, _NOW)
    log_fact(
        folder, "used", {"instrument": "CELL", "file": "z_1.csv", "power": "1", "at": "2031-03-05"}, _NOW
    )
    log_fact(folder, "check", {"instrument": "CELL", "at": "2031-03-01", "passed": "yes"}, _NOW)
    log_fact(
        folder, "check", {"instrument": "CELL", "at": "2031-03-09", "passed": "no", "gain": "1.02"}, _NOW
    )
    return folder


def _rows(folder):
    with open_campaign(folder) as opened:
        return {row["specimen"]: row for row in result_rows(opened) if row["response"] == "strength_z_mpa"}


def test_a_result_tells_where_it_comes_from_and_what_stood_before_it(campaign):
    row = _rows(campaign)["z_1"]
    found = one_result(campaign, row["id"])
    raw = (campaign.parent / "trials" / "z_1.csv").read_bytes()
    assert found["result"]["sha256"] == hashlib.sha256(raw).hexdigest()
    assert found["result"]["value"] == pytest.approx(20.0 / 1.02)
    assert (found["result"]["standing"], found["result"]["instruments"]) == ("corrected", ["CELL"])
    assert [old["value"] for old in found["history"]] == [pytest.approx(20.0)]
    assert found["answers"] == {"--section z": "30 mm2"}
    (drawn,) = found["reductions"]
    assert drawn["name"] == "z_1"
    assert max(drawn["picture"]["curves"][0]["y"]) == pytest.approx(600.0)
    old = one_result(campaign, found["history"][0]["id"])
    assert not old["result"]["stands"]


def test_the_page_shows_it_and_its_neighbours(campaign):
    client = Client(create_app(campaign))
    row = _rows(campaign)["z_1"]
    page = client.get(f"/results/{row['id']}", headers=_HTML)
    assert page.status_code == 200
    assert "content-security-policy" in page.headers
    for words in (
        row["sha256"],
        "corrected by what the check",
        "--section z",
        "<svg",
        "z_1",
        "What stood before it",
    ):
        assert words in page.text
    assert not re.search(r"<[^>]*\sstyle=|<script", page.text)
    (before,) = re.findall(r'rel="prev" href="([^"]+)"', page.text)
    assert client.get(before).status_code == 200
    assert client.get(f"/results/{row['id']}.json").json()["result"]["id"] == row["id"]


def test_a_result_tells_the_answers_that_its_kind_of_file_may_use(campaign, tmp_path):
    """Read together with one set of answers, a curve is shown with force and section, callipers with their own."""
    (tmp_path / "z_5.csv").write_text(_CURVE.replace("12.0", "10.0"), encoding="utf-8")
    sizes = "feature,nominal_mm,measured_mm\nx,20,20.05\n"
    (tmp_path / "sizes.csv").write_text(sizes, encoding="utf-8")
    said = {"force_uncertainty_pct": 0.5, "size_uncertainty_mm": 0.02, "volume_cm3": 100.0}
    facts = {name: f"{value}" for name, value in said.items()}
    read_files(
        campaign, [tmp_path / "z_5.csv", tmp_path / "sizes.csv"], sections={"z": "30"}, facts=facts, now=_NOW
    )
    with open_campaign(campaign) as opened:
        ids = {row["file"]: row["id"] for row in result_rows(opened)}
    curve, block = (
        next(one_result(campaign, each)["answers"] for file, each in ids.items() if file.endswith(name))
        for name in ("z_5.csv", "sizes.csv")
    )
    assert curve == {
        "--section z": "30 mm2",
        "--fact force_uncertainty_pct": "0.5",
        "--fact size_uncertainty_mm": "0.02",
    }
    assert block == {"--fact size_uncertainty_mm": "0.02"}


def test_a_size_is_shown_with_the_readings_of_its_own_feature(campaign, tmp_path):
    rows = "".join(
        f"block,{name},{size},{size + 0.05 * k}\n" for k, (name, size) in enumerate((("x", 20), ("y", 30)))
    )
    (tmp_path / "sizes.csv").write_text("specimen,feature,nominal_mm,measured_mm\n" + rows, encoding="utf-8")
    read_files(campaign, [tmp_path / "sizes.csv"], now=_NOW)
    with open_campaign(campaign) as opened:
        ids = {row["feature"]: row["id"] for row in result_rows(opened) if row["response"] == "size_error_mm"}
    for feature, each in ids.items():
        (drawn,) = one_result(campaign, each)["reductions"]
        assert drawn["numbers"]["feature"] == feature


def test_no_such_result(campaign):
    client = Client(create_app(campaign))
    assert client.get("/results/nothing", headers=_HTML).status_code == 404
    answer = client.get("/results/nothing.json")
    assert answer.status_code == 404
    assert "there is no such result" in answer.json()["error"]["what"]


def test_a_picture_that_was_not_kept_is_drawn_again(campaign, tmp_path, monkeypatch):
    """Of three specimens in one file one picture is kept; the others come from the raw file and the answers."""
    monkeypatch.setattr(reductions, "MOST", 1)
    parts = "".join(_CURVE.replace("Time", f"Specimen: z_{k}\nTime") for k in (7, 8, 9))
    (tmp_path / "many.csv").write_text(parts, encoding="utf-8")
    read_files(campaign, [tmp_path / "many.csv"], sections={"z": "30"}, now=_NOW)
    many = [row for row in _rows(campaign).values() if row["file"].endswith("many.csv")]
    assert len(many) == 3
    for row in many:
        (drawn,) = one_result(campaign, row["id"])["reductions"]
        assert drawn["name"] == row["specimen"]


def test_results_of_the_report_lead_to_their_pages(client, facts, ask):
    facts["results"] = [
        {
            "id": "abc",
            "response": "clarity",
            "value": 0.7,
            "uncertainty": 0.01,
            "bound": "lower",
            "standing": "doubtful",
        }
    ]
    text = ask(lambda _: facts).get("/results").text
    assert '<a href="/results/abc">clarity</a>' in text
    assert "≥ 0.7" in text
    assert "doubtful" in text
