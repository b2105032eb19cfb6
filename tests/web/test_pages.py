from __future__ import annotations

import base64
import hashlib
import html
import re

import pytest

from voidless.errors import ComputationError, InputError
from voidless.web.app import _html
from voidless.web.pages import PAGES

_HTML = {"accept": "text/html"}
_NAMES = [page.name for page in PAGES] + ["report"]


@pytest.mark.parametrize("name", _NAMES)
def test_every_page_answers_with_its_campaign(client, name):
    answer = client.get(f"/{name}")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "text/html; charset=utf-8"
    assert "Invented sight glass" in answer.text
    assert "<script" not in answer.text
    assert client.request("HEAD", f"/{name}").status_code == 200


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_every_page_has_its_parts_as_json(client, facts, page):
    found = client.get(f"/{page.name}.json").json()
    said = found.pop("verdict", None)
    assert (said is not None) == page.verdict
    assert set(found) == {"schema_version", "campaign", "provenance", *page.parts} & set(facts)
    assert all(found[name] == facts[name] for name in found)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_what_a_page_says_stands_in_its_json(client, facts, page):
    """A page drawn from its own JSON alone is the same page: it shows nothing that the data lack."""
    whole, found = client.get(f"/{page.name}").text, client.get(f"/{page.name}.json").json()
    said = found.pop("verdict", None)
    box = re.compile(r'<div class="verdict [^"]*">.*?</div>', re.DOTALL)
    shown = box.findall(whole)
    assert len(shown) == page.verdict
    for text in shown:
        words = html.unescape(text).replace("\u00a0", " ")
        assert said["heading"] in words
        assert said["sentence"].replace("\u00a0", " ") in words
    assert box.sub("", whole) == box.sub("", _html(page, found))


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_a_page_marks_itself_and_leads_to_every_other(client, page):
    text = client.get(f"/{page.name}").text
    assert re.findall(r'<a href="([^"]+)" aria-current="page">', text) == [f"/{page.name}"]
    assert {f"/{name}" for name in _NAMES} <= set(re.findall(r'<a href="([^"]+)"', text))


def test_the_report_as_json_is_all_facts(client, facts):
    assert client.get("/report.json").json() == facts


def test_the_first_address_leads_to_the_overview(client):
    answer = client.get("/")
    assert (answer.status_code, answer.headers["location"]) == (307, "/overview")


def test_what_a_page_shows(client):
    assert "R19" in client.get("/overview").text
    assert "fell_off" in client.get("/runs").text
    assert "figure-effects" in client.get("/results").text
    assert "figure-maps" in client.get("/window").text


@pytest.mark.parametrize("name", _NAMES)
def test_the_policy_admits_the_one_style_sheet_and_nothing_else(client, name):
    answer = client.get(f"/{name}")
    policy = answer.headers["content-security-policy"]
    (style,) = re.findall(r"<style>(.*?)</style>", answer.text, flags=re.DOTALL)
    digest = base64.b64encode(hashlib.sha256(style.encode("utf-8")).digest()).decode("ascii")
    assert f"style-src 'sha256-{digest}'" in policy
    assert policy.startswith("default-src 'none'")
    assert "unsafe" not in policy
    assert not re.search(r"<[^>]*\sstyle=", answer.text)


@pytest.mark.parametrize(
    ("error", "status"),
    [
        (InputError("campaign", "there is no campaign here", "campaign.toml", "Run new."), 400),
        (ComputationError("fit", "it did not converge", "a fit", "Add builds."), 500),
    ],
)
def test_an_error_keeps_its_parts_and_its_status(ask, error, status):
    def fail(_folder):
        raise error

    failing = ask(fail)
    answer = failing.get("/window.json")
    assert answer.status_code == status
    assert answer.json() == {"error": error.to_dict()}
    page = failing.get("/window", headers=_HTML)
    assert page.status_code == status
    assert error.what in page.text
    assert error.remedy in page.text


def test_an_unforeseen_fault_has_the_same_shape_and_tells_no_secret(ask):
    def fail(_folder):
        raise KeyError("secret")

    answer = ask(fail).get("/runs.json")
    assert answer.status_code == 500
    assert set(answer.json()["error"]) == {"where", "what", "expected", "remedy"}
    assert "secret" not in answer.text
    assert "content-security-policy" in answer.headers


def test_no_such_page(client):
    answer = client.get("/nothing", headers=_HTML)
    assert answer.status_code == 404
    assert "there is no such page" in answer.text
    answer = client.get("/nothing.json")
    assert answer.status_code == 404
    assert answer.json()["error"]["where"] == "/nothing.json"


def test_names_are_text(client, facts):
    facts["campaign"]["name"] = "<script>alert(1)</script>"
    assert "<script" not in client.get("/overview").text
    assert "<script" not in client.get("/%3Cscript%3E", headers=_HTML).text


def test_pages_of_documentation_of_the_framework_are_off(client):
    assert [client.get(path).status_code for path in ("/docs", "/redoc", "/openapi.json")] == [404] * 3
