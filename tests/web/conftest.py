from __future__ import annotations

import asyncio
import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

pytest.importorskip("fastapi", reason="the extra `web` is not installed")

import httpx

from voidless.web import app
from voidless.web.app import create_app

_FACTS = Path(__file__).parents[1] / "data" / "invented-facts" / "facts.json"
HOST = "http://127.0.0.1:8642"
SIGHT_GLASS = """
[campaign]
name = "sight glass"
material = "petg"
machine = "bench-0.4"
[factors.flow_pct]
low = 90.0
high = 110.0
[objective]
minimise = "build_min"
"""
"""The campaign file of pages that need a campaign, whatever it asks for."""


class Client:
    """Asks an application in process, as a browser on this machine would."""

    def __init__(self, app: Any, base: str = HOST) -> None:
        self._app = app
        self._base = base

    def request(self, method: str, path: str, headers: Mapping[str, str] | None = None) -> httpx.Response:
        async def ask() -> httpx.Response:
            way = httpx.ASGITransport(self._app, raise_app_exceptions=False)
            async with httpx.AsyncClient(transport=way, base_url=self._base) as client:
                return await client.request(method, path, headers=headers)

        return asyncio.run(ask())

    def get(self, path: str, headers: Mapping[str, str] | None = None) -> httpx.Response:
        return self.request("GET", path, headers)


@pytest.fixture(autouse=True)
def patient(monkeypatch: pytest.MonkeyPatch) -> None:
    """Pages wait for their facts, however busy the machine is; a test that is about waiting says otherwise."""
    monkeypatch.setattr(app, "_PATIENCE_S", 60.0)


@pytest.fixture
def facts() -> dict[str, Any]:
    """An invented campaign, read anew for each test."""
    return json.loads(_FACTS.read_text(encoding="utf-8"))


@pytest.fixture
def ask(tmp_path: Path) -> Callable[..., Client]:
    """Return a client of an application whose facts come from a function."""
    return lambda work, base=HOST: Client(create_app(tmp_path, work), base)


@pytest.fixture
def client(facts: dict[str, Any], ask: Callable[..., Client]) -> Client:
    return ask(lambda _: facts)
