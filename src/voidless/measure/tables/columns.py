"""Columns of a result table."""

from __future__ import annotations

import difflib

from voidless.errors import InputError
from voidless.quantities import QUANTITIES, Role, names

__all__ = [
    "CONDITION_COLUMNS",
    "EXTRA_COLUMNS",
    "KNOWN",
    "REQUIRED",
    "SETTING_COLUMNS",
    "check_columns",
    "is_result_table",
    "is_wide_table",
]

PLACE = ("run", "build")
REQUIRED = (*PLACE, "response", "value")
OPTIONAL = (
    "specimen",
    "unit",
    "method",
    "uncertainty",
    "feature",
    "bound",
    "break_place",
    "break_mode",
    "order",
    "session",
)
BUILD_COLUMNS = ("exposure_h", "humidity_pct", "build_outcome")
CONDITION_COLUMNS = ("thickness_mm", "gap_mm", "frequency_lp_mm", "viewing_axis", "surface", "section_mm2")
"""Conditions that belong to the key of a response (vocabulary: quantity, method and conditions)."""

EXTRA_COLUMNS = (
    "conditioning",
    "age_h",
    "operator",
    "test_speed_mm_min",
    "instrument",
    "bed_side",
    "first_layer",
    "top",
    "polish",
    "coating",
    "annealing",
    "raster",
    "spool",
    "lot",
    "position",
    "date",
    "time",
    "note",
    "notes",
    "comment",
    "reason",
    "specimen_kind",
    "block",
)
"""Columns that are kept as they are written."""

SETTING_COLUMNS = names(Role.SETTING)
KNOWN = (*REQUIRED, *OPTIONAL, *BUILD_COLUMNS, *CONDITION_COLUMNS, *EXTRA_COLUMNS, *SETTING_COLUMNS)
LONG_FORM = "columns run, build, specimen, response, value, unit: one row a value"
_NEAR = 0.8
_USUAL = 3


def is_result_table(header: tuple[str, ...]) -> bool:
    """
    Return whether column names head a result table.

    Parameters
    ----------
    header : tuple of str
        Normalised column names.

    Returns
    -------
    result_table : bool
        True where three of the usual columns are there, `response` or `value` among them, or the
        table is wide.
    """
    found = set(header)
    usual = len(found & {"run", "build", "specimen", "response", "value", "unit"}) >= _USUAL
    return (usual and bool(found & {"response", "value"})) or is_wide_table(header)


def is_wide_table(header: tuple[str, ...]) -> bool:
    """
    Return whether column names are those of a table with one column per response.

    Parameters
    ----------
    header : tuple of str
        Normalised column names.

    Returns
    -------
    wide : bool
        True where a run or build column stands beside responses and `response` and `value` are missing.
    """
    responses = set(names(Role.RESPONSE)) & set(header)
    return (
        bool(responses) and bool({"run", "build"} & set(header)) and not {"response", "value"} & set(header)
    )


def _near(column: str) -> str:
    stems = {
        known: [known, known.rsplit("_", 1)[0], known.split("_", 1)[0]] for known in KNOWN if "_" in known
    }
    for known, forms in stems.items():
        if known in (*SETTING_COLUMNS, "exposure_h", "humidity_pct", "build_outcome") and column in forms[1:]:
            return known
    near = difflib.get_close_matches(column, KNOWN, n=1, cutoff=_NEAR)
    return near[0] if near else ""


def check_columns(header: tuple[str, ...], where: str) -> tuple[str, ...]:
    """
    Return warnings about columns that are not known.

    Parameters
    ----------
    header : tuple of str
        Normalised column names.
    where : str
        File, for errors.

    Returns
    -------
    warnings : tuple of str
        One per unknown column, whose cells are kept as they are.

    Raises
    ------
    InputError
        A required column is missing, the table is wide, or an unknown column is nearly a known one.
    """
    if is_wide_table(header):
        responses = [column for column in header if column in QUANTITIES and column in names(Role.RESPONSE)]
        raise InputError(
            where,
            f"one column per response ({', '.join(responses)})",
            LONG_FORM,
            "Write one row per value, with the response's name in the column response.",
        )
    unknown = [column for column in header if column not in KNOWN]
    for column in unknown:
        if (near := _near(column)) and near not in header:
            raise InputError(where, f"column {column!r} is not known", LONG_FORM, f"Did you mean {near}?")
    # blind codes of specimens stand for run and build; a row without one is refused for lack of them
    spared = PLACE if "specimen" in header and not {*PLACE} & {*header} else ()
    missing = [column for column in REQUIRED if column not in header and column not in spared]
    if missing:
        raise InputError(where, f"no column {', '.join(missing)}", LONG_FORM, "Add it.")
    warnings = [
        f"{where}: column {column!r} is not known; its cells are kept as written" for column in unknown
    ]
    if "specimen" not in header:
        warnings.append(f"{where}: no column specimen; every value is taken as a fact of its build")
    return tuple(warnings)
