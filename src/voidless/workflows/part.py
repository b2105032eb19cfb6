"""Judge the G-code of a part: what the machine will really do."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from voidless.errors import InputError
from voidless.toolpath.part import part_summary
from voidless.toolpath.reader import read_gcode
from voidless.workflows.opening import SCHEMA_VERSION
from voidless.workflows.predict import load_named_machine

__all__ = ["judge_part"]


def judge_part(
    file: str | Path, machine: str | None = None, progress: Callable[[str], None] = lambda _: None
) -> dict[str, Any]:
    """
    Return what a G-code file holds: amounts, layers, box, time by kind and layer, real speeds, problems.

    Parameters
    ----------
    file : path
        G-code.
    machine : str or None
        Library name or TOML file; its filament diameter and limits are used. None: 1.75 mm, and the
        limits that the file states.

    Raises
    ------
    InputError
        The file cannot be read or holds no move.
    """
    path = Path(file)
    if not path.is_file():
        raise InputError(str(path), "there is no such file", "a G-code file", "Check the name.")
    printer = load_named_machine(machine) if machine else None
    progress("reading moves")
    summary = part_summary(read_gcode(path), printer)
    return {"schema_version": SCHEMA_VERSION, "file": path.name, "machine": machine, **summary}
