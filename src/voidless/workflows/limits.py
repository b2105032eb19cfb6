"""What a build asks of a machine beside what the machine allows, as plain data."""

from __future__ import annotations

from typing import Any

from voidless.toolpath.limits import LimitRow
from voidless.workflows.plain import plain

__all__ = ["limit_dict"]


def limit_dict(row: LimitRow) -> dict[str, Any]:
    """Return a row of the listing of limits as plain data."""
    return {
        "quantity": row.name,
        "unit": row.unit,
        "lowest": plain(row.lowest),
        "highest": plain(row.highest),
        "least": plain(row.least),
        "most": plain(row.most),
        "within": row.within,
    }
