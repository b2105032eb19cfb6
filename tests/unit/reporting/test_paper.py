"""How many pages the paper documents take, counted in a real browser where there is one."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from voidless.reporting.runsheet import run_sheet_html
from voidless.reporting.sheet import settings_sheet

_BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")
pytestmark = pytest.mark.skipif(_BROWSER is None, reason="no Chromium on this machine to lay pages out")
_QUIET = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-pdf-header-footer",
)


def _pages(html: str, folder: Path) -> int:
    (folder / "page.html").write_text(html, encoding="utf-8")
    target = folder / "page.pdf"
    command = [_BROWSER, *_QUIET, f"--user-data-dir={folder / 'profile'}", f"--print-to-pdf={target}"]
    subprocess.run([*command, (folder / "page.html").as_uri()], capture_output=True, check=True, timeout=60)
    return len(re.findall(rb"/Type\s*/Page\b", target.read_bytes()))


def test_the_settings_sheet_is_one_page_even_when_full(facts, tmp_path):
    facts["files"] *= 4
    facts["campaign"]["name"] = "A campaign with quite a long name for the sight glass of the second pump"
    predicted = facts["window"]["recipe"]["predicted"]
    for name in ("haze_pct", "void_pct", "strength_xy_mpa", "strength_z_mpa", "strength_across_mpa"):
        predicted[name] = {"mean": 44.4, "low": 40.1, "high": 49.0, "part_low": 35.0, "part_high": 54.1}
    facts["proof"] = {"verdict": "not proven", "reason": "At least one specification is not shown to hold.",
        "builds": [f"B{n}" for n in range(30, 42)], "words": ["long"] * 9, "same": False}  # fmt: skip
    assert _pages(settings_sheet(facts), tmp_path) == 1


def test_the_run_sheet_is_one_page_for_the_printer_and_one_for_the_tester(build_facts, tmp_path):
    assert _pages(run_sheet_html(build_facts), tmp_path) == 2
