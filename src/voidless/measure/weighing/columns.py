"""Columns of a table of weighings."""

from __future__ import annotations

import difflib

from voidless.quantities import Role, names

__all__ = ["COLUMNS", "is_weighings", "near_column"]

LABELS = ("run", "build", "specimen")
MASSES = ("mass_g", "mass_air_g", "mass_water_g", "mass_after_g")
CONDITIONS = ("water_c", "air_c", "pressure_hpa", "humidity_pct", "bubbles_mm3", "wire_mm")
UNCERTAINTIES = ("mass_air_uncertainty_g", "mass_water_uncertainty_g", "water_uncertainty_c")
REFERENCE = ("reference_density_g_cm3", "reference_uncertainty_g_cm3")
KINSHIP = ("role", "spool", "lot", "bath", "history")
"""What ties a piece to its reference: piece or reference, same spool, same water, same thermal history."""
NOTES = (
    "operator",
    "instrument",
    "conditioning",
    "date",
    "note",
    "notes",
    "order",
    "session",
)
COLUMNS = (*LABELS, *MASSES, *CONDITIONS, *UNCERTAINTIES, *REFERENCE, *KINSHIP, *NOTES)
_NEAR = 0.8
_OTHERS = frozenset(names(Role.RESPONSE)) - {"mass_g"}


def is_weighings(header: tuple[str, ...]) -> bool:
    """
    Return whether column names head a table of weighings.

    Parameters
    ----------
    header : tuple of str
        Normalised column names.

    Returns
    -------
    weighings : bool
        True where a mass in air or water has its column, or a mass alone beside labels; weighings over
        time are those of `voidless.measure.moisture`.
    """
    found = set(header)
    if {"response", "value", "time_h"} & found:
        return False
    return bool(found & {"mass_air_g", "mass_water_g"}) or ("mass_g" in found and not found & _OTHERS)


def near_column(column: str) -> str:
    """
    Return the known column that an unknown one is nearly, empty where none is.

    Parameters
    ----------
    column : str
        Normalised column name.

    Returns
    -------
    known : str
        For example `mass_air_g` for `mass_air`.
    """
    stems = [known for known in COLUMNS if "_" in known and known.rsplit("_", 1)[0] == column]
    near = difflib.get_close_matches(column, COLUMNS, n=1, cutoff=_NEAR)
    return (stems or near or [""])[0]
