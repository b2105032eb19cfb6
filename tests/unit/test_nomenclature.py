"""
The public page of names is made from the table of quantities.

Run this file as a program to write the page again: `python tests/unit/test_nomenclature.py`.
"""

from math import isinf
from pathlib import Path

from voidless.materials.properties import PROPERTIES
from voidless.quantities import QUANTITIES, Role

PAGE = Path(__file__).parents[2] / "docs" / "methods" / "nomenclature.md"
HEADINGS = {
    Role.SETTING: ("Settings", "What a person sets. Only these can be factors of a campaign."),
    Role.DERIVED: ("Derived quantities", "What follows from settings, specimens and storage."),
    Role.NUISANCE: ("Nuisance quantities", "What varies without being chosen."),
    Role.RESPONSE: ("Responses", "What is measured, and what specifications and the objective can name."),
}


def number(value):
    return "no limit" if isinf(value) else f"{value:g}"


def table(rows):
    head = ["| name | unit | possible values | words |", "|---|---|---|---|"]
    return head + [
        f"| `{row.name}` | {row.unit} | {number(row.low)} to {number(row.high)}"
        + (", whole" if getattr(row, "integer", False) else "")
        + f" | {row.words} |"
        for row in rows
    ]


def page():
    lines = [
        "# Names",
        "",
        "One name per thing, the same in code, columns, JSON, pages and plots; the unit stands in the name.",
        "Values outside the possible ones are refused as errors of entry. This page is made from",
        "`voidless.quantities` and `voidless.materials.properties` by `tests/unit/test_nomenclature.py`.",
    ]
    for role, (heading, words) in HEADINGS.items():
        rows = [known for known in QUANTITIES.values() if known.role is role]
        lines += ["", f"## {heading}", "", words, "", *table(rows)]
    words = "What a material file can state; every value carries spread, validity, source and mark."
    lines += ["", "## Material properties", "", words, "", *table(PROPERTIES.values())]
    return "\n".join(lines) + "\n"


def test_the_page_of_names_is_current():
    assert PAGE.read_text(encoding="utf-8") == page(), "run python tests/unit/test_nomenclature.py"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8", newline="\n")
