"""The report of a whole campaign as one HTML file that needs nothing else."""

from __future__ import annotations

from dataclasses import dataclass

from voidless.reporting.cautions import WHOLE_JOB
from voidless.reporting.facts import Facts, complete
from voidless.reporting.page import render
from voidless.reporting.verdict import verdict

__all__ = ["SECTIONS", "Section", "report_html"]


@dataclass(frozen=True)
class Section:
    """One section of the report: its anchor, its title and the template that fills it."""

    key: str
    title: str
    template: str


SECTIONS = (
    Section("target", "Target", "sections/target.html.j2"),
    Section("window", "Window and recipe", "sections/window.html.j2"),
    Section("effects", "What matters", "sections/effects.html.j2"),
    Section("profiles", "How each response follows", "sections/profiles.html.j2"),
    Section("scatter", "Scatter and drift", "sections/scatter.html.j2"),
    Section("check", "Measured and predicted", "sections/check.html.j2"),
    Section("reduced", "How results were reduced", "sections/reduced.html.j2"),
    Section("strength", "Strength Z over XY", "sections/strength.html.j2"),
    Section("next", "Next builds", "sections/next.html.j2"),
    Section("runs", "What was printed", "sections/runs.html.j2"),
    Section("ground", "Spool and machine", "sections/ground.html.j2"),
    Section("instruments", "Instruments", "sections/instruments.html.j2"),
    Section("files", "Raw files", "sections/files.html.j2"),
    Section("methods", "Methods and versions", "sections/methods.html.j2"),
    Section("cautions", "Cautions", ""),
)


def report_html(facts: Facts) -> str:
    """
    Return the report of a campaign as one HTML document: style and drawings inside, no script.

    Parameters
    ----------
    facts : mapping
        What the workflows found, as plain JSON types. A part that is missing leaves a sentence in its place.

    Raises
    ------
    InputError
        A part has the wrong shape.
    """
    found = complete(facts)
    return render(
        "document.html.j2",
        facts=found,
        verdict=verdict(found),
        sections=SECTIONS,
        counts=[(name, many) for name, many in found["counts"].items() if many is not None],
        cautions=WHOLE_JOB,
    )
