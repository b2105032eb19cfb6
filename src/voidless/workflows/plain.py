"""Results as JSON's own types."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

__all__ = ["plain"]


def plain(value: Any) -> Any:
    """Return a value made of JSON's own types; numbers that JSON cannot write become None."""
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple, set, frozenset)):
        return [plain(item) for item in value]
    if isinstance(value, (str, bool)) or value is None:
        return value
    if hasattr(value, "tolist"):
        return plain(value.tolist())
    if isinstance(value, (int, float)):
        return value if math.isfinite(value) else None
    return str(value)
