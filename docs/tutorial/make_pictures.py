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
from voidless.reporting.layer import bead_drawing
from voidless.toolpath.build import plan_build
from voidless.toolpath.motion import MotionLimits, profile_moves
from voidless.toolpath.view import view_beads
from voidless.workflows.facts import campaign_facts
from voidless.workflows.opening import open_campaign

SHOWN = (SpecimenOrder("plaque", 1), SpecimenOrder("bar_z", 1))
HERE = Path(__file__).parent / "pictures"


def layer_picture(campaign: Path) -> str:
    """Return the third layer of a plaque and an upright bar, beads at their true width."""
    with open_campaign(campaign) as opened:
        settings = opened.settings(opened.space.settings(opened.usual))
        moves = plan_build(SHOWN, settings, opened.machine).moves
        beads = view_beads(moves, profile_moves(moves, MotionLimits.of(opened.machine)), 3)
    ends = {"0": beads.start_mm, "1": beads.end_mm}
    columns = {
        f"{axis}{end}_mm": points[:, at] for end, points in ends.items() for at, axis in enumerate("xy")
    }
    return bead_drawing(
        {**columns, "width_mm": beads.width_mm},
        key="tour",
        alt="The third layer of a plaque and an upright bar, beads at their true width.",
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
