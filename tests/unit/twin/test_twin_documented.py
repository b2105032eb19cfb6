"""The methods page shows every parameter, assumed constant and error of the twin as the code has them."""

from dataclasses import fields
from pathlib import Path

import pytest

from voidless.machines import load_machine
from voidless.materials import load_material
from voidless.twin.ground import ASSUMED
from voidless.twin.links import LINKS
from voidless.twin.parameters import PARAMETERS, prior_sd
from voidless.twin.ranges import RANGES

PAGE = Path(__file__).parents[3] / "docs" / "methods" / "twin.md"


def parameter_rows():
    petg, machine = load_material("petg"), load_machine("bench-0.4")
    for item in PARAMETERS:
        learned = "learned" if item.calibrate else "widens"
        sd = prior_sd(item, petg, machine)
        yield f"| `{item.name}` | {item.words} | {sd:.3g} | {learned} | {item.mark} |"


def assumed_rows():
    for field in fields(ASSUMED):
        yield f"| `{field.name}` | {getattr(ASSUMED, field.name):.4g} |"


def error_rows():
    for name, link in LINKS.items():
        yield f"| `{name}` | {link.discrepancy:g} |"


def range_rows():
    for item in RANGES:
        yield f"- {item.sentence}"


@pytest.mark.parametrize(
    "rows", [parameter_rows, assumed_rows, error_rows, range_rows], ids=lambda f: f.__name__
)
def test_page_is_current(rows):
    """When this fails, run this file and paste what it prints."""
    lines = PAGE.read_text(encoding="utf-8").splitlines()
    missing = [row for row in rows() if row not in lines]
    assert not missing, "\n".join(missing)


if __name__ == "__main__":
    for part in (parameter_rows, assumed_rows, error_rows, range_rows):
        print("\n".join(part()), end="\n\n")
