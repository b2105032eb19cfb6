"""How many specimens of which kind a run prints."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["SpecimenOrder"]


@dataclass(frozen=True)
class SpecimenOrder:
    """How many specimens of one kind a run prints; `kind` is a name of the specimen catalogue."""

    kind: str
    count: int = 1
