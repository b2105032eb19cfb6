"""What must be shown of a response."""

from __future__ import annotations

from dataclasses import dataclass

from voidless.campaign.types import Probability
from voidless.errors import InputError

__all__ = ["Requirement"]


@dataclass(frozen=True)
class Requirement:
    """
    A specification, and how surely it has to be shown.

    Attributes
    ----------
    response : str
        Quantity, with its feature after a colon where it has one.
    low, high : float
        Limits; infinite where there is none. [unit of the response]
    kind : Probability
        What must lie within: the mean of builds, the next build's mean, or the next part.
    content : float
        Share of further builds or parts that must lie within; without meaning for the mean. [1]
    confidence : float
        Probability of the statement. [1]
    ratio : bool
        Whether the response is a ratio, whose logarithm is judged.
    """

    response: str
    low: float
    high: float
    kind: Probability
    content: float = 0.9
    confidence: float = 0.95
    ratio: bool = False

    def __post_init__(self) -> None:
        for name, value in (("content", self.content), ("confidence", self.confidence)):
            if not 0.5 <= value < 1.0:
                raise InputError(
                    f"proof of {self.response}", f"{name} {value}", "0.5 to below 1", "Choose another."
                )

    @property
    def content_each(self) -> float:
        """Share that must lie on the right side of each limit: half of the rest may lie beyond either of two. [1]"""
        two = self.low > float("-inf") and self.high < float("inf")
        return 0.5 + 0.5 * self.content if two else self.content
