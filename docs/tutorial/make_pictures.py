"""
Draw the pictures of the README from a finished demo, with the program's own functions.

    python docs/tutorial/make_pictures.py DEMO_FOLDER
"""

from __future__ import annotations

import sys
from pathlib import Path

from voidless.reporting.draw import draw
from voidless.reporting.figures.check import check
from voidless.reporting.figures.profiles import profiles
from voidless.reporting.figures.window import maps
from voidless.reporting.layer import layer_drawing
from voidless.toolpath.build import plan_build
from voidless.toolpath.drawing import draw_layer
from voidless.workflows.facts import campaign_facts
from voidless.workflows.opening import open_campaign

HERE = Path(__file__).parent / "pictures"


def layer_picture(campaign: Path) -> str:
    """Return the third layer of the first build, beads at their true width."""
    with open_campaign(campaign) as opened:
        settings = opened.settings(opened.space.settings(opened.usual))
        layer = draw_layer(plan_build(opened.orders, settings, opened.machine), 3)
    beads = [
        {"x0_mm": a[0], "y0_mm": a[1], "x1_mm": b[0], "y1_mm": b[1], "width_mm": width}
        for (a, b), width in zip(layer.segments.tolist(), layer.width_mm.tolist(), strict=True)
        if width > 0.0
    ]
    return layer_drawing(beads, key="tour", alt="The third layer of a build, beads at their true width.")


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
