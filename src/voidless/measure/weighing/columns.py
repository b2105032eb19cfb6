"""Columns of a table of weighings."""

from __future__ import annotations

import difflib

from voidless.quantities import Role, names

__all__ = ["COLUMNS", "is_weighings", "near_column"]

LABELS = ("run", "build", "specimen")
MASSES = ("mass_g", "mass_air_g", "mass_water_g")
CONDITIONS = ("water_c", "air_c", "pressure_hpa", "humidity_pct")
UNCERTAINTIES = ("mass_air_uncertainty_g", "mass_water_uncertainty_g", "water_uncertainty_c")
REFERENCE = ("reference_density_g_cm3", "reference_uncertainty_g_cm3")
NOTES = (
    "operator",
    "instrument",
    "conditioning",
    "date",
    "note",
    "notes",
    "spool",
    "lot",
    "order",
    "session",
)
COLUMNS = (*LABELS, *MASSES, *CONDITIONS, *UNCERTAINTIES, *REFERENCE, *NOTES)
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
        True where a mass in air or water has its column, or a mass alone beside labels.
    """
    found = set(header)
    if {"response", "value"} & found:
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
