"""What a person must know before starting a build; shown in G-code headers and on run sheets."""

from __future__ import annotations

__all__ = ["BUILD_CAUTIONS"]

BUILD_CAUTIONS: tuple[str, ...] = (
    "Hot end, bed and dryer burn: keep hands away until they have cooled.",
    "Molten polymer emits fumes and particles: ventilate, and heed the material's data sheet.",
    "Do not leave the running printer alone; long builds need attended hours or a safe enclosure.",
    "Check by hand that start and end code fit your machine before the first build.",
)
"""Sentences of at most one line each."""
