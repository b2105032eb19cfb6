"""How blind codes of specimens look."""

from __future__ import annotations

__all__ = ["ALPHABET", "BLIND_CODE", "WIDTH", "looks_like_code"]

ALPHABET = "23456789ACDEFHJKMNPRTWXY"
"""Signs that are not mistaken for one another when written by hand."""
WIDTH = 4
BLIND_CODE = "blind_code"
"""Name under which a result says by which code it came."""


def looks_like_code(label: str) -> bool:
    """
    Return whether a label may be a blind code; words and numbers of one's own may look like one.

    Examples
    --------
    >>> looks_like_code("k7xm"), looks_like_code("REAR"), looks_like_code("Z1")
    (True, True, False)
    """
    return len(label) == WIDTH and set(label.upper()) <= set(ALPHABET)
