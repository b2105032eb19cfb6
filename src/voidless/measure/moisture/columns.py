"""Columns of a table of weighings over time."""

from __future__ import annotations

from voidless.quantities import Role, names

__all__ = ["COLUMNS", "is_moisture_table"]

NEEDED = ("time_h", "mass_g")
CLIMATE = ("temperature_c", "humidity_pct", "room_c", "room_humidity_pct")
STRAND = ("diameter_mm", "diameter_uncertainty_mm", "start_pct", "start_uncertainty_pct")
SPREAD = (
    "humidity_uncertainty_pct",
    "temperature_uncertainty_c",
    "activation_kj_mol",
    "activation_uncertainty_kj_mol",
)
BALANCE = ("check_g", "core_g")
LABELS = ("piece", "spool", "material", "form", "core")
NOTES = ("operator", "instrument", "date", "note", "notes", "place")
COLUMNS = (*NEEDED, *CLIMATE, *STRAND, *SPREAD, *BALANCE, *LABELS, *NOTES)
NUMBERS = (*NEEDED, *CLIMATE, *STRAND, *SPREAD, *BALANCE)
_OTHERS = frozenset(names(Role.RESPONSE)) - {"mass_g"}


def is_moisture_table(header: tuple[str, ...]) -> bool:
    """
    Return whether column names head a table of weighings over time.

    Parameters
    ----------
    header : tuple of str
        Normalised column names.

    Returns
    -------
    weighings : bool
        True where time and mass have their columns and no other result has.
    """
    found = set(header)
    return set(NEEDED) <= found and not found & (_OTHERS | {"response", "value", "mass_air_g"})
