"""The print that shows a machine's pressure lag, and the sheet to write its widths on."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from shlex import quote
from typing import Any

import numpy as np

from voidless.toolpath.build import grams
from voidless.toolpath.cautions import BUILD_CAUTIONS
from voidless.toolpath.lag_print import LINES, MARGIN_MM, SPACING_MM, LagPrint, plan_lag_print
from voidless.toolpath.listing import limits_listing, own_code_notes
from voidless.toolpath.motion import build_time
from voidless.toolpath.writer import write_gcode
from voidless.workflows.limits import limit_dict
from voidless.workflows.opening import SCHEMA_VERSION, code_version, open_campaign
from voidless.workflows.solid import factors_of
from voidless.workflows.writing import output_folder, write_text

__all__ = ["make_lag_print"]

_PLACES = 14
_LONGEST_S = 0.1
"""Lag up to which the sheet's distances reach four times; a longer one needs more of them. [s]"""
_LEAST_MM = 0.3


def make_lag_print(
    folder: str | Path,
    run: str | None = None,
    dry: bool = False,
    progress: Callable[[str], None] = lambda _: None,
) -> dict[str, Any]:
    """
    Return the files of a lag print, and what it asks of the machine.

    Parameters
    ----------
    folder : path
        The campaign's folder.
    run : str or None
        Run whose settings are used; None takes the usual ones.
    dry : bool
        Whether to write nothing.
    progress : callable
        Told of each stage.

    Raises
    ------
    InputError
        The run is not there, or the bed is too small.
    """
    with open_campaign(folder) as opened:
        factors = opened.space.settings(opened.usual) if run is None else factors_of(opened, run)
        settings, machine = opened.settings(factors), opened.machine
        progress("lag print")
        planned = plan_lag_print(settings, machine)
        label = run or "usual"
        header = ["Lag print", f"Settings of {label}", f"Voidless {code_version()}"]
        text = write_gcode(planned.toolpath, machine, settings, header)
        rows = limits_listing(text, planned.toolpath, settings, machine)
        place = output_folder(opened) / "lag"
        files = [
            {"build": "", "kind": kind, "path": str(write_text(place / f"lag_{label}.{ending}", content))}
            for kind, ending, content in (("gcode", "gcode", text), ("widths", "csv", _sheet(planned)))
            if not dry
        ]
        return {
            "schema_version": SCHEMA_VERSION,
            "files": files,
            "settings": settings,
            **_described(planned),
            "build_min": build_time(planned.toolpath, machine).total_s / 60.0,
            "grams": grams(planned.toolpath, opened.material.property("density_g_cm3").value),
            "limits": [limit_dict(row) for row in rows],
            "notes": [*own_code_notes(rows, machine), *_notes(planned, str(folder), files)],
            "dry": dry,
            "cautions": list(BUILD_CAUTIONS),
        }


def _described(planned: LagPrint) -> dict[str, Any]:
    slow, fast = planned.speeds_mm_s
    return {
        "lines": LINES,
        "length_mm": planned.length_mm,
        "speed_rises_mm": planned.steps_mm[0],
        "speed_falls_mm": planned.steps_mm[1],
        "slow_mm_s": slow,
        "fast_mm_s": fast,
    }


def _sheet(planned: LagPrint) -> str:
    """Return a table of distances behind the fall of the speed, closest where widths change most, without widths."""
    reach = 4.0 * _LONGEST_S * planned.speeds_mm_s[0]
    places = np.unique(np.round(np.geomspace(_LEAST_MM, max(reach, 20.0 * _LEAST_MM), _PLACES), 1))
    return "distance_mm,width_mm\n" + "".join(f"{place:.1f},\n" for place in places)


def _notes(planned: LagPrint, folder: str, files: Sequence[Mapping[str, str]]) -> list[str]:
    """Return what is printed, where to measure, and how to read it in, in words."""
    slow, fast = planned.speeds_mm_s
    falls, end = planned.steps_mm[1], MARGIN_MM + planned.length_mm
    sheet = next((item["path"] for item in files if item["kind"] == "widths"), "widths.csv")
    lines = (
        f"{LINES} lines along X, {SPACING_MM:g} mm apart, from X {MARGIN_MM:g} to {end:g} mm; the line before them, "
        f"at Y {MARGIN_MM:g} mm, fills the nozzle and is not measured"
    )
    change = (
        f"the speed falls from {fast:.4g} to {slow:.4g} mm/s at X {MARGIN_MM + falls:.4g} mm, {falls:.4g} mm from the "
        "start of each line: behind it the bead is too wide until the melt has settled"
    )
    return [
        lines,
        change,
        "measure one line's width at distances behind that place, and write them on the sheet",
        f"then: voidless read {quote(folder)} {quote(sheet)} --fact speed_mm_s={slow:.5g}",
    ]
