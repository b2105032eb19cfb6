from __future__ import annotations

import pytest

from voidless.web.guard import local, refusal


@pytest.mark.parametrize("host", ["127.0.0.1", "127.0.0.1:8642", "localhost:80", "[::1]:8642", "LOCALHOST"])
def test_names_of_this_machine(host):
    assert local(host)


@pytest.mark.parametrize(
    "host",
    [
        None,
        "",
        "example.org",
        "127.0.0.1.example.org",
        "localhost.example.org:8642",
        "example.org@127.0.0.2",
        "0.0.0.0",
        "localhost:port",
        "[::1",
        "192.168.1.4:8642",
    ],
)
def test_names_of_others(host):
    assert not local(host)


@pytest.mark.parametrize(
    ("method", "host", "origin", "status"),
    [
        ("GET", "localhost:1", None, None),
        ("HEAD", "localhost:1", "http://localhost:1", None),
        ("GET", "localhost:1", "http://localhost:2", 403),
        ("GET", "localhost:1", "https://localhost:1", 403),
        ("GET", "localhost:1", "null", 403),
        ("GET", "evil.example", None, 403),
        ("POST", "localhost:1", None, 405),
        ("POST", "evil.example", None, 403),
    ],
)
def test_refusal(method, host, origin, status):
    found = refusal(method, host, origin)
    assert (found[0] if found else None) == status


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH", "OPTIONS"])
def test_nothing_can_be_changed(client, method):
    answer = client.request(method, "/overview")
    assert answer.status_code == 405
    assert answer.headers["allow"] == "GET, HEAD"
    assert answer.json()["error"]["expected"] == "GET or HEAD"


def test_another_site_is_refused_before_any_fact_is_read(ask, tmp_path):
    asked = []

    def note(folder):
        asked.append(folder)
        return {}

    assert ask(note, "http://rebound.example").get("/overview").status_code == 403
    own = ask(note, "http://localhost")
    assert own.get("/overview", headers={"origin": "http://evil.example"}).status_code == 403
    assert asked == []
    assert own.get("/overview", headers={"origin": "http://localhost"}).status_code == 200
    assert asked == [tmp_path]


@pytest.mark.parametrize("path", ["/overview", "/overview.json", "/nothing"])
def test_every_answer_carries_the_headers(client, path):
    found = client.get(path).headers
    assert found["x-content-type-options"] == "nosniff"
    assert found["cache-control"] == "no-store"
    assert found["referrer-policy"] == "no-referrer"
    assert "frame-ancestors 'none'" in found["content-security-policy"]
