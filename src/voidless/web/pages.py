"""What pages there are, and which part of the facts each shows."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["PAGES", "Page"]


@dataclass(frozen=True)
class Page:
    """
    One page.

    Attributes
    ----------
    name : str
        Last part of its address; `.json` after it gives the same facts.
    title : str
        As the tab reads.
    sections : tuple of (str, str)
        Title and section template of the reports, in order.
    parts : tuple of str
        Parts of the facts that it shows and its JSON holds, beside the campaign.
    verdict : bool
        Whether it says what may be claimed; its JSON then says it too.
    """

    name: str
    title: str
    sections: tuple[tuple[str, str], ...]
    parts: tuple[str, ...]
    verdict: bool = False


PAGES = (
    Page(
        "overview",
        "Overview",
        (("Target", "target"), ("Next builds", "next")),
        ("counts", "next"),
        verdict=True,
    ),
    Page(
        "runs",
        "Builds",
        (("What was printed", "runs"), ("Spool and machine", "ground"), ("Raw files", "files")),
        ("runs", "ground", "files"),
    ),
    Page(
        "results",
        "Results",
        (
            ("What matters", "effects"),
            ("Scatter and drift", "scatter"),
            ("Measured and predicted", "check"),
            ("Strength Z over XY", "strength"),
            ("Single results", "results"),
            ("Instruments", "instruments"),
        ),
        ("learn", "strength", "results", "instruments"),
    ),
    Page("reductions", "Reductions", (("How results were reduced", "reduced"),), ("reduced",)),
    Page(
        "window",
        "Window",
        (("Recipe and window", "window"), ("How each response follows", "profiles")),
        ("window",),
        verdict=True,
    ),
)
