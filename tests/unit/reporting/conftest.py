from __future__ import annotations

import json
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

_FACTS = Path(__file__).parents[2] / "data" / "invented-facts" / "facts.json"


_VOID = {"meta", "link", "br", "hr", "img", "input"}


class Marks(HTMLParser):
    """A strict reader of our own HTML: every tag closed, and what stands where."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.ids: list[str] = []
        self.words: list[str] = []
        self.feed(text)
        self.close()
        assert self.open == [], f"never closed: {self.open}"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._note(tag, attrs)
        if tag not in _VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._note(tag, attrs)

    def _note(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self.ids += [value for name, value in attrs if name == "id" and value]

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag, f"</{tag}> closes another tag"

    def handle_data(self, data: str) -> None:
        if not (self.open and self.open[-1] == "style"):
            self.words.append(data)

    def named(self, tag: str) -> list[dict[str, str | None]]:
        return [attrs for name, attrs in self.tags if name == tag]

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


@pytest.fixture
def marks() -> type[Marks]:
    return Marks


@pytest.fixture
def facts() -> dict[str, Any]:
    """An invented campaign, read anew for each test."""
    return json.loads(_FACTS.read_text(encoding="utf-8"))


@pytest.fixture
def build_facts(facts: dict[str, Any]) -> dict[str, Any]:
    """One invented build with three coded specimens."""
    return {
        "campaign": facts["campaign"],
        "material": {"title": "PETG", "drying": {"temperature_c": 65.0, "hours": 6.0}},
        "build": {
            "build": "B07",
            "run": "R05",
            "order": 7,
            "settings": facts["window"]["recipe"]["settings"],
        },
        "specimens": [
            {
                "specimen": "bar_z-1",
                "kind": "bar_z",
                "code": "KX4",
                "test_order": 3,
                "responses": ["strength_z_mpa"],
            },
            {
                "specimen": "bar_z-2",
                "kind": "bar_z",
                "code": "PD7",
                "test_order": 1,
                "responses": ["strength_z_mpa"],
            },
            {
                "specimen": "block-1",
                "kind": "block",
                "code": "HM9",
                "test_order": 2,
                "responses": ["density_g_cm3", "void_pct"],
            },
        ],
        "provenance": {"code_version": "0.1.0"},
    }
