"""The campaign file of the demo: an imaginary workshop, an imaginary client."""

from __future__ import annotations

from voidless.campaign.file import parse_campaign
from voidless.campaign.types import Campaign

__all__ = ["CAMPAIGN", "MACHINE", "MARK", "MATERIAL", "factor_ranges", "limits"]

MARK = "INVENTED DEMO DATA"
"""Stands in every raw file of the demo."""

MATERIAL, MACHINE = "pctg", "bench-0.4"

CAMPAIGN = f"""# {MARK}: an imaginary workshop prints inspection windows for beehive monitors.
[campaign]
name = "beehive window (invented demo)"
material = "{MATERIAL}"
machine = "{MACHINE}"

[factors.flow_pct]
low = 94.0
high = 108.0
[factors.nozzle_c]
low = 225.0
high = 260.0
[factors.speed_mm_s]
low = 15.0
high = 70.0
[settings]
fan_pct = 0.0

[responses.clarity]
thickness_mm = "3"
gap_mm = "10"
surface = "as printed"

[specifications.clarity]
min = 0.62
[specifications.z_ratio]
min = 0.80
[specifications.size_error_mm]
min = -0.15
max = 0.15

[objective]
minimise = "build_min"
[limits]
builds = 30
[specimens]
bar_xy = 2
bar_z = 2
plaque = 1
block = 1
"""


def factor_ranges() -> dict[str, tuple[float, float]]:
    """Return the lowest and highest value of each factor of the campaign. [unit in the name]"""
    return {item.name: (item.low, item.high) for item in _campaign().factors}


def limits() -> dict[str, tuple[float, float]]:
    """Return the lowest and highest value that each specification allows. [unit of the response]"""
    return {item.response: item.bounds for item in _campaign().specifications}


def _campaign() -> Campaign:
    return parse_campaign(CAMPAIGN, "the demo's campaign file")
