"""What may be said about a recipe, in one sentence."""

from __future__ import annotations

from dataclasses import dataclass

from voidless.reporting.facts import Facts
from voidless.reporting.words import percent, words

__all__ = ["MEANINGS", "Verdict", "verdict"]

MEANINGS = {
    "mean": "the true mean of parts made at these settings meets every specification",
    "next_build": "the mean of the next build at these settings meets every specification",
    "next_part": "the next single part at these settings meets every specification",
}
"""What each kind of probability speaks of."""


@dataclass(frozen=True)
class Verdict:
    """`state` is `claim`, `no_claim`, `blocked` or `nothing`; heading and sentence are for people."""

    state: str
    heading: str
    sentence: str
    meaning: str


def verdict(facts: Facts) -> Verdict:
    """
    Return what may be said about the recipe of a campaign.

    Parameters
    ----------
    facts : mapping
        Complete facts: `campaign` with its specifications, `window` with recipe, confidence and kind.
    """
    window = facts["window"]
    recipe = window.get("recipe") or {}
    meaning = MEANINGS.get(window.get("kind", "next_build"), "every specification is met")
    if not recipe:
        return Verdict(
            "nothing", "No recipe yet", "No window was computed: there is nothing to claim.", meaning
        )
    if not facts["campaign"].get("specifications"):
        return Verdict(
            "no_claim", "No claim", "No specification is stated, so nothing can be claimed.", meaning
        )
    chance = percent(recipe.get("probability_pass"))
    asked = percent(window.get("confidence"))
    blocked = recipe.get("blocked_by") or ()
    if recipe.get("claim"):
        return Verdict(
            "claim",
            "Claim",
            f"The probability that {meaning} is {chance}; {asked} was asked.",
            meaning,
        )
    if blocked:
        names = ", ".join(words(name) for name in blocked)
        early = bool(window.get("early"))
        found = "Builds are still few; so far nothing" if early else "Nothing"
        return Verdict(
            "blocked",
            "No claim: so far blocked" if early else "No claim: blocked",
            f"{found} in the studied range is likely to meet: {names}. The settings below come nearest ({chance}).",
            meaning,
        )
    if recipe.get("basis") == "prior":
        return Verdict(
            "no_claim",
            "No claim: nothing measured yet",
            f"The settings below come from the physics model alone ({chance}), unchecked by this campaign.",
            meaning,
        )
    return Verdict(
        "no_claim",
        "No claim",
        f"The probability that {meaning} is {chance}; {asked} was asked.",
        meaning,
    )
