"""What files told of spool or machine, in a line for people."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from voidless.quantities import QUANTITIES
from voidless.workflows.readings import FINDINGS

__all__ = ["finding_rows", "told_of", "without_name"]

Numbers = Mapping[str, Any]


def told_of(reduced: Sequence[Numbers]) -> list[str]:
    """Return what reduced entries tell that is neither a result of a build nor a finding."""
    told = [_TOLD[item["kind"]](item) for item in reduced if item.get("kind") in _TOLD]
    return [words for words in told if words]


def finding_rows(reduced: Sequence[Numbers]) -> list[dict[str, str]]:
    """
    Return the findings among reduced entries.

    Parameters
    ----------
    reduced : sequence of mapping
        As a file gave them.

    Returns
    -------
    rows : list of dict
        `kind`, `subject` (spool or setting, empty for the machine), `words`.
    """
    return [
        {
            "kind": str(item["kind"]),
            "subject": str(item.get(FINDINGS[item["kind"]]) or ""),
            "words": _WORDS[item["kind"]](item),
        }
        for item in reduced
        if item.get("kind") in FINDINGS
    ]


def _moisture(item: Numbers) -> str:
    of = " ".join(filter(None, (item["spool"] and f"spool {item['spool']}", item["piece"]))) or "filament"
    text = (
        f"{of}: water diffusivity {item['water_diffusivity_m2_s']:.3g} m2/s at 23 degC (95 %: "
        f"{item['water_diffusivity_low_m2_s']:.3g} to {item['water_diffusivity_high_m2_s']:.3g})"
    )
    if item["water_saturation_pct"] is not None:
        text += f", saturation {item['water_saturation_pct']:.3g} ± {item['water_saturation_uncertainty_pct']:.2g} %"
    return text


def _realised(item: Numbers) -> str:
    unit = QUANTITIES[item["setting"]].unit if item["setting"] in QUANTITIES else ""
    return (
        f"{item['setting']}: {item['center']:g} {unit} commanded gave {item['value']:.4g} {unit} ± "
        f"{(item['value_uncertainty'] ** 2 + item['common_uncertainty'] ** 2) ** 0.5:.2g}, "
        f"{item['slope']:.3g} {unit} more per {unit} more"
    )


def _feed(item: Numbers) -> str:
    flow, unsure, rate = (item[name][0] for name in ("flow_pct", "uncertainty_pct", "rate_mm3_s"))
    text, most = f"true flow {flow:.4g} ± {unsure:.2g} % at {rate:g} mm3/s", item["rate_limit_mm3_s"]
    return text + (f"; it falls short above {most:g} mm3/s" if most else "; it keeps up at every rate read")


def _filament(item: Numbers) -> str:
    section = f"{item['area_mm2']:.4g} ± {item['area_uncertainty_mm2']:.2g} mm2"
    return f"filament of {item['diameter_mm']:.4g} mm, section {section}"


def _fan(item: Numbers) -> str:
    return f"fan stands still up to {item['stall_pct']:g} %, turns from {item['start_pct']:g} %"


def _gap(item: Numbers) -> str:
    return (
        f"first layer {item['offset_mm']:+.3g} ± {item['uncertainty_mm']:.2g} mm from where it was commanded, tilt "
        f"{item['tilt_x_mm_m']:.2f} and {item['tilt_y_mm_m']:.2f} mm/m along x and y"
    )


def _lag(item: Numbers) -> str:
    return f"pressure lag {item['lag_s']:.3g} ± {item['uncertainty_s']:.2g} s"


def _vessel(item: Numbers) -> str:
    return (
        f"vessel {item['vessel'] or '-'}: {item['volume_cm3']:.5g} ± {item['volume_uncertainty_cm3']:.2g} cm3"
    )


def _roughness(item: Numbers) -> str:
    heights = ", ".join(
        f"{name[:2].capitalize()} {item[name]:.3g} um" for name in ("ra_um", "rq_um", "rz_um")
    )
    return f"roughness {heights} (cutoff {item['cutoff_mm']:g} mm)"


def _precision(item: Numbers) -> str:
    return (
        f"precision: mean {item['mean']:.4g}, repeatability {item['s_r']:.2g}, reproducibility {item['s_R']:.2g} "
        "(standard deviations)"
    )


def _gauge(item: Numbers) -> str:
    return (
        f"gauge: {item['gauge_pct']:.3g} % of the variance is the gauge's, and it tells {item['distinct']} classes of "
        f"parts apart (standard deviations: reading {item['repeat'] ** 0.5:.2g}, operator "
        f"{item['operator'] ** 0.5:.2g}, parts {item['part'] ** 0.5:.2g})"
    )


def _true_flow(item: Numbers) -> str:
    build = item["build"]
    of = " ".join(filter(None, (item["run"], build))) or item["specimen"]
    text = (
        f"{of}: true flow {item['flow_pct']:.4g} ± {item['uncertainty_pct']:.2g} % of what the toolpath says"
    )
    return text + (
        f"; log it times the commanded flow: voidless log DIR realised build={build} setting=flow_pct value=..."
        if build
        else ""
    )


def _size_trend(item: Numbers) -> str:
    of = " ".join(filter(None, (item["run"], item["build"], item["side"])))
    return (
        f"{of}: sizes off by {item['scale_pct']:+.2g} ± {item['scale_uncertainty_pct']:.1g} % of size (shrinkage) and "
        f"{item['offset_mm']:+.2g} ± {item['offset_uncertainty_mm']:.1g} mm for all (bead width)"
    )


def _scale(item: Numbers) -> str:
    return f"scale {1e3 * item['mm_per_px']:.5g} ± {1e3 * item['uncertainty_mm']:.2g} um a pixel, by the grid"


def _matched(item: Numbers) -> str:
    inside = f"{item['inside_pct']:.3g} ± {item['inside_uncertainty_pct']:.2g} %"
    of = item["specimen"] or "plaque"
    return f"{of}: haze inside {inside}, of the faces {item['faces_pct']:.3g} %; {item['verdict']}"


def _bubbles(item: Numbers) -> str:
    """Return what a photo of bubbles shows; a bubble test of tightness, which has no `count`, tells its results."""
    if "count" not in item:
        return ""
    text = f"{item['count']} bubbles"
    if "bubbles_per_mm3" in item:
        share = f"{item['void_pct_if_round']:.2g} % of the volume if they are round"
        text += f", {item['bubbles_per_mm3']:.3g} a mm3; {share}"
    return text


def _layer_photo(item: Numbers) -> str:
    return f"{item['pores']} pores, {100 * item['share_of_surface']:.2g} % of the surface"


_TOLD: Mapping[str, Callable[[Numbers], str]] = {
    "roughness": _roughness,
    "precision": _precision,
    "gauge": _gauge,
    "true_flow": _true_flow,
    "size_trend": _size_trend,
    "matched": _matched,
    "scale": _scale,
    "bubbles": _bubbles,
    "layer_photo": _layer_photo,
}
_WORDS: Mapping[str, Callable[[Numbers], str]] = {
    "moisture": _moisture,
    "realised": _realised,
    "feed": _feed,
    "filament": _filament,
    "fan": _fan,
    "gap": _gap,
    "lag": _lag,
    "vessel": _vessel,
}


def without_name(note: str, name: str) -> str:
    """Return a note of a file without the file's name, which stands beside it."""
    for own in (name, name.replace("\\", "/").rpartition("/")[2]):
        note = note.removeprefix(f"{own}: ").removeprefix(f"{own}, ")
        rest = note.removeprefix(f"{own}:")
        note = f"line {rest}" if rest != note and rest[:1].isdigit() else note
    return note
