"""
Draw the pictures of the README from a finished demo, with the program's own functions.

    python docs/tutorial/make_pictures.py DEMO_FOLDER
"""

from __future__ import annotations

import sys
from pathlib import Path

from voidless.campaign.types import SpecimenOrder
from voidless.reporting.draw import draw
from voidless.reporting.figures.check import check
from voidless.reporting.figures.profiles import profiles
from voidless.reporting.figures.window import maps
from voidless.reporting.layer import layer_drawing
from voidless.toolpath.build import plan_build
from voidless.toolpath.drawing import draw_layer
from voidless.workflows.facts import campaign_facts
from voidless.workflows.opening import open_campaign

SHOWN = (SpecimenOrder("plaque", 1), SpecimenOrder("bar_z", 1))
HERE = Path(__file__).parent / "pictures"


def layer_picture(campaign: Path) -> str:
    """Return the third layer of a plaque and an upright bar, beads at their true width."""
    names = ("x0_mm", "y0_mm", "x1_mm", "y1_mm", "width_mm")
    with open_campaign(campaign) as opened:
        settings = opened.settings(opened.space.settings(opened.usual))
        layer = draw_layer(plan_build(SHOWN, settings, opened.machine), 3)
    # Rounded, so that beads that meet within a micrometre are one line of the drawing.
    beads = [
        {name: round(float(value), 3) for name, value in zip(names, (*a, *b, width), strict=True)}
        for (a, b), width in zip(layer.segments.tolist(), layer.width_mm.tolist(), strict=True)
        if width > 0.0
    ]
    return layer_drawing(
        beads, key="tour", alt="The third layer of a plaque and an upright bar, beads at their true width."
    )


def main(demo: Path) -> None:
    """Write the pictures beside this file."""
    campaign = demo / "campaign"
    facts = campaign_facts(campaign)
    plates = {"window": maps(facts), "measured": check(facts), "profile": next(iter(profiles(facts)))}
    HERE.mkdir(exist_ok=True)
    for name, plate in plates.items():
        if plate is not None:
            (HERE / f"{name}.svg").write_text(draw(plate.charts[0]), encoding="utf-8")
    (HERE / "layer.svg").write_text(layer_picture(campaign), encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
