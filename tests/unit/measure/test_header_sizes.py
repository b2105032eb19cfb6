"""Sizes that a curve's header states: how sure they are, and whose they are where specimens lie side by side."""

import numpy as np
import pytest

from voidless.measure.curves.read import read_curves
from voidless.measure.results import Answers, RawFile
from voidless.measure.take import take_files

FORCE = np.linspace(0.0, 1600.0, 400)
LAST = 12**-0.5


def _bar(header, name="z_1.csv", facts=None):
    """A straight pull to 1600 N without noise, and its break: what is unsure of the strength is its section."""
    rows = [f"{0.1 * n:.1f};{f:.3f};{1e-3 * n:.4f}" for n, f in enumerate(FORCE)]
    rows += [f"{40 + 0.1 * n:.1f};0.000;{0.4 + 1e-3 * n:.4f}" for n in range(30)]
    data = (header + "Time [s];Force [N];Travel [mm]\n" + "\n".join(rows) + "\n").encode()
    (found,) = take_files([RawFile(name, data)], Answers(facts=facts or {}))
    return found


def _section_share(found):
    return found.reduced[0]["budget"].get("section")


@pytest.mark.parametrize(
    ("header", "facts", "share", "said"),
    [
        ("Width: 10.02 mm\nThickness: 4.01 mm\n", {}, LAST * np.hypot(0.01 / 10.02, 0.01 / 4.01), False),
        ("Breite;10,0;mm\nDicke;4,0;mm\n", {}, LAST * np.hypot(0.1 / 10, 0.1 / 4), False),
        ("Width: 10 mm\nThickness: 4 mm\n", {}, LAST * np.hypot(0.1 / 10, 0.1 / 4), False),
        ("Width: 0.394 in\nThickness: 0.158 in\n", {}, LAST * np.hypot(1 / 394, 1 / 158), False),
        ("Section: 40.2 mm2\n", {}, LAST * 0.1 / 40.2, False),
        (
            "Width: 10 mm\nThickness: 4 mm\n",
            {"size_uncertainty_mm": 0.02},
            np.hypot(0.02 / 10, 0.02 / 4),
            True,
        ),
        ("Width: 10 mm\nThickness: 4 mm\n", {"section_uncertainty_pct": 0.5}, 0.005, True),
        ("Section: 40.2 mm2\n", {"section_uncertainty_pct": 0.5}, 0.005, True),
    ],
)
def test_what_a_header_states_is_as_sure_as_its_last_digit_unless_somebody_says(header, facts, share, said):
    found = _bar(header, facts=facts)
    assert _section_share(found) == pytest.approx(share, rel=1e-9)
    strength = found.observations[0]
    assert strength.uncertainty >= share * strength.value
    assert any("last digit alone counts" in word for word in found.warnings) is not said


def test_thickness_counts_twice_in_a_flexural_strength():
    header = "Support span: 64.0 mm\nWidth: 10.02 mm\nThickness: 4.01 mm\n"
    stated, said = (_bar(header, "R01_bend_1.csv", facts) for facts in ({}, {"size_uncertainty_mm": 0.03}))
    shares = [found.observations[0].uncertainty / found.observations[0].value for found in (stated, said)]
    sizes = [np.hypot(unsure / 10.02, 2 * unsure / 4.01) for unsure in (0.01 * LAST, 0.03)]
    # What else is unsure (reading interval, last digit of the force) is the same in both.
    assert shares[1] ** 2 - shares[0] ** 2 == pytest.approx(sizes[1] ** 2 - sizes[0] ** 2, rel=1e-6)
    assert shares[0] > sizes[0]
    assert any("last digit" in word for word in stated.warnings)
    assert not any("last digit" in word for word in said.warnings)


@pytest.mark.parametrize(
    ("lines", "sections"),
    [
        ("Width [mm];10.0;;12.0;\nThickness [mm];4.0;;5.0;\n", (40.0, 60.0)),
        ("Width;10.0;mm;;Width;12.0;mm;\nThickness;4.0;mm;;Thickness;5.0;mm;\n", (40.0, 60.0)),
        ("Width [mm];10.0;;;\nThickness [mm];4.0;;5.0;\n", (40.0, 50.0)),
    ],
)
def test_specimens_side_by_side_have_their_own_sizes(lines, sections):
    columns = 4 if lines.startswith("Width [") else 8
    names = "Time A [s];Force A [N];Time B [s];Force B [N]"
    rows = [f"{0.1 * n:.1f};{f:.3f};{0.1 * n:.1f};{f:.3f}" for n, f in enumerate(FORCE)]
    if columns == 8:
        names = "Time A [s];Force A [N];Ext A [mm];Grip A;Time B [s];Force B [N];Ext B [mm];Grip B"
        rows = [f"{0.1 * n:.1f};{f:.3f};{n};1;{0.1 * n:.1f};{f:.3f};{n};1" for n, f in enumerate(FORCE)]
    curves = read_curves((lines + names + "\n" + "\n".join(rows) + "\n").encode(), "z.csv")
    found = [curve.facts["width_mm"] * curve.facts["thickness_mm"] for curve in curves]
    assert found == pytest.approx(sections)
