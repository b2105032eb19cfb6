"""What to change first: the biggest loss, and the single change that the twin finds helps it most."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from voidless.twin.chain import Chain, responses_of
from voidless.twin.explain import chain_picture, stage_factors

__all__ = ["advice_of"]

_NOTABLE = 0.03  # a stage that costs less than this share is not worth a sentence
_HELPS = 0.005  # a change that mends less than this of the whole is not offered

_WORDS: Mapping[str, str] = {
    "gaps": "Gaps between beads cost",
    "bubbles": "Bubbles cost",
    "roughness": "The rough top face costs",
    "colour": "Colour of the bulk costs",
    "unhealed": "Welds that are not healed cost",
    "notches": "Notches and orientation at the layer lines cost",
    "softness": "A section that stays soft costs",
}
_TRIALS: Mapping[str, tuple[tuple[str, float], ...]] = {
    "gaps": (("flow_pct", 2.0), ("nozzle_c", 10.0), ("fan_pct", -20.0), ("speed_mm_s", -5.0)),
    "unhealed": (("nozzle_c", 10.0), ("fan_pct", -20.0), ("bed_c", 5.0), ("speed_mm_s", 5.0)),
    "roughness": (("flow_pct", -2.0), ("nozzle_c", 10.0), ("width_mm", 0.05)),
    "softness": (("fan_pct", 20.0), ("speed_mm_s", -10.0), ("bed_c", -10.0)),
    "colour": (("nozzle_c", -10.0), ("speed_mm_s", 5.0)),
}
_REMEDIES: Mapping[str, str] = {
    "bubbles": "Dry the spool longer, keep it less in the air; then lower nozzle_c or raise speed_mm_s.",
    "colour": "The polymer's own: thinner parts or a clearer grade.",
    "roughness": "Wet or polish the faces to see what lies inside.",
    "notches": "No setting changes this part much; its size is assumed.",
    "softness": "Print more sections in one layer: each gets time to firm up.",
}
_OF: Mapping[str, tuple[str, str, str]] = {
    "clarity": ("straight light", "clarity", ""),
    "strength_z_mpa": ("the strength through the layers", "strength", " MPa"),
    "strength_across_mpa": ("the strength across the beads", "strength", " MPa"),
}


def advice_of(chain: Chain, moved: Callable[[str, float], Chain | None], row: int = 0) -> list[str]:
    """
    Return what to change first, biggest loss first, one sentence or two per stage.

    Parameters
    ----------
    chain : Chain
        The run to explain.
    moved : function of (setting, change)
        The run with one setting changed, None where that cannot be set.
    row : int
        Which case.
    """
    picture = chain_picture(chain, row)
    losses = [
        (share, response, stage)
        for response in _OF.keys() & picture.keys()
        for stage, share in picture[response].items()
        if share >= _NOTABLE
    ]
    lines, told = [], set()
    for share, response, stage in sorted(losses, reverse=True):
        if stage in told:
            continue
        told.add(stage)
        remedy = _best_change(chain, moved, response, stage, row) or _REMEDIES.get(stage, "")
        text = f"{_WORDS[stage]} {100.0 * share:.0f} % of {_OF[response][0]}."
        lines.append(f"{text} {remedy}".rstrip())
    short = float(chain.inputs.nozzle[row] - chain.melt.temperature[row])
    if short > 5.0:
        lines.append(f"The melt leaves {short:.0f} K short of the nozzle: slow down or heat more.")
    return lines


def _best_change(
    chain: Chain, moved: Callable[[str, float], Chain | None], response: str, stage: str, row: int
) -> str:
    """Return the change that mends most of one stage without harming the response, as a sentence."""
    left, value = stage_factors(chain, row)[response][stage], float(responses_of(chain)[response][row])
    best, gain, after = "", _HELPS, value
    for setting, change in _TRIALS.get(stage, ()):
        other = moved(setting, change)
        if other is None:
            continue
        mended = stage_factors(other, row)[response][stage] - left
        whole = float(responses_of(other)[response][row])
        if mended > gain and whole > value:
            best, gain, after = f"{setting} {change:+g}", mended, whole
    if not best:
        return ""
    _, name, unit = _OF[response]
    return f"{best} alone helps most: {name} from {value:.3g} to {after:.3g}{unit} at the model's expected constants."
