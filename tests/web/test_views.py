"""Pages of toolpaths: what was given out, its beads as data, and the one script that draws them."""

from __future__ import annotations

import base64
import hashlib
import re

import pytest

from voidless.errors import InputError
from voidless.web.app import create_app
from voidless.web.views import Views
from voidless.workflows.new import new_campaign
from voidless.workflows.viewing import one_toolpath, toolpath_list

from .conftest import SIGHT_GLASS, Client

_HTML = {"accept": "text/html"}
_GCODE = (
    "M83\nG0 Z0.2 F6000\n"
    + "".join(f"G0 X0 Y{0.5 * k} F6000\nG1 X10 E{0.4 + 0.01 * k:.2f} F1200\n" for k in range(5))
    + "G0 Z0.4\n"
    + "".join(f"G0 X0 Y{0.5 * k} F6000\nG1 X10 E0.40 F1800\n" for k in range(3))
)


@pytest.fixture
def campaign(tmp_path):
    """A campaign with one file among its parts, and one that is none of its own."""
    (tmp_path / "c.toml").write_text(SIGHT_GLASS, encoding="utf-8")
    folder = tmp_path / "campaign"
    new_campaign(folder, tmp_path / "c.toml")
    parts = folder / "out" / "parts"
    parts.mkdir(parents=True)
    (parts / "lid & rim_R01.gcode").write_text(_GCODE, encoding="utf-8")
    (folder / "out" / "elsewhere.gcode").write_text(_GCODE, encoding="utf-8")
    return folder


def test_what_was_given_out_is_listed(campaign):
    client = Client(create_app(campaign))
    rows = client.get("/toolpaths.json").json()["toolpaths"]
    assert rows == [{"name": "lid & rim_R01.gcode", "kind": "parts", "size_mb": len(_GCODE) / 1e6}]
    page = client.get("/toolpaths", _HTML).text
    assert 'href="/toolpaths/lid%20%26%20rim_R01.gcode"' in page
    assert 'href="/toolpaths" aria-current="page"' in page


def test_beads_and_scales(campaign):
    found = Client(create_app(campaign)).get("/toolpaths/lid%20%26%20rim_R01.gcode.json").json()
    beads = found["beads"]
    assert len(beads["x0_mm"]) == 8
    assert found["tops_mm"] == [0.2, 0.4]
    assert [found["layer_numbers"].index(n) for n in beads["layer"]] == [0] * 5 + [1] * 3
    filament = 3.14159265 * 1.75**2 / 4.0
    assert beads["width_mm"][4] == pytest.approx(0.44 * filament / (10.0 * 0.2), rel=1e-6)
    assert set(found["scales"]) == {"width", "speed"}
    width = found["scales"]["width"]
    assert width["low"] < beads["width_mm"][4] <= width["high"]
    assert all(0.0 <= tick["place"] <= 1.0 for tick in width["ticks"])
    assert len(found["colours"]) == 64


@pytest.mark.slow
def test_welds_are_followed_when_asked_for(campaign):
    found = one_toolpath(campaign, "lid & rim_R01.gcode", welds=True)
    assert found["scales"]["weld"]["column"] == "through_share"
    shares = found["beads"]["through_share"]
    assert shares[:5] == [None] * 5  # on the bed
    assert all(0.0 < share <= 1.0 for share in shares[5:])


def test_fill_is_told_when_asked_for(campaign):
    client = Client(create_app(campaign))
    found = client.get("/toolpaths/lid%20%26%20rim_R01.gcode.json?fill").json()
    assert found["scales"]["fill"]["column"] == "fill"
    assert all(0.0 < share < 2.0 for share in found["beads"]["fill"])
    offer = 'href="/toolpaths/lid%20%26%20rim_R01.gcode?fill"'
    assert offer in client.get("/toolpaths/lid%20%26%20rim_R01.gcode", _HTML).text
    page = client.get("/toolpaths/lid%20%26%20rim_R01.gcode?fill", _HTML).text
    assert offer not in page
    assert 'data-source="/toolpaths/lid%20%26%20rim_R01.gcode.json?fill"' in page
    assert 'href="/toolpaths/lid%20%26%20rim_R01.gcode?fill&amp;welds"' in page


def test_the_page_of_a_toolpath_carries_one_script_and_its_policy(campaign):
    client = Client(create_app(campaign))
    answer = client.get("/toolpaths/lid%20%26%20rim_R01.gcode", _HTML)
    (script,) = re.findall(r"<script>(.*?)</script>", answer.text, re.DOTALL)
    checksum = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    policy = answer.headers["content-security-policy"]
    assert f"script-src 'sha256-{checksum}'; connect-src 'self';" in policy
    assert "unsafe" not in policy
    assert 'data-source="/toolpaths/lid%20%26%20rim_R01.gcode.json"' in answer.text
    for name in set(re.findall(r'part\("([a-z]+)"\)', script)):
        assert f"view-{name}" in answer.text, name
    assert "script-src" not in client.get("/toolpaths", _HTML).headers["content-security-policy"]


@pytest.mark.parametrize(
    "wanted", ["none.gcode", "elsewhere.gcode", "..%2Felsewhere.gcode", "..%2F..%2Fcampaign.toml"]
)
def test_no_other_file_is_shown(campaign, wanted):
    client = Client(create_app(campaign))
    for path in (f"/toolpaths/{wanted}", f"/toolpaths/{wanted}.json"):
        answer = client.get(path)
        assert answer.status_code == 404
        assert "no " in answer.json()["error"]["what"]


def test_a_file_without_beads_is_told_as_data(campaign):
    (campaign / "out" / "parts" / "empty.gcode").write_text("G0 X1\n", encoding="utf-8")
    answer = Client(create_app(campaign)).get("/toolpaths/empty.gcode.json")
    assert answer.status_code == 404
    assert answer.json()["error"]["what"] == "no bead"


def test_too_many_beads_are_refused(campaign, monkeypatch):
    monkeypatch.setattr("voidless.workflows.viewing._MOST_BEADS", 7)
    with pytest.raises(InputError, match=r"8 beads .expected at most 7"):
        one_toolpath(campaign, "lid & rim_R01.gcode")
    assert len(toolpath_list(campaign)["toolpaths"]) == 1


def test_names_are_escaped(tmp_path):
    nasty = '<b onclick="x">.gcode'
    listed = {
        "campaign": {"name": "c"},
        "toolpaths": [{"name": nasty, "kind": "parts", "size_mb": 1.0}],
        "provenance": {"code_version": "0"},
    }
    client = Client(create_app(tmp_path, views=Views(lambda _: listed, lambda *_: {})))
    for path in ("/toolpaths", "/toolpaths/%3Cb%20onclick=%22x%22%3E.gcode"):
        page = client.get(path, _HTML)
        assert page.status_code == 200
        assert "<b onclick" not in page.text
