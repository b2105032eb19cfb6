"""Write the files to print: G-code, specimens, run sheets."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from voidless.campaign.types import Build
from voidless.design.blinding import specimen_test_order
from voidless.errors import InputError
from voidless.quantities import suggest
from voidless.reporting.runsheet import run_sheet_csv, run_sheet_html
from voidless.specimens.catalogue import specimen
from voidless.specimens.mesh import mesh_3mf, mesh_stl
from voidless.toolpath.build import grams
from voidless.toolpath.cautions import BUILD_CAUTIONS
from voidless.toolpath.layer_time import gauge_times, held_layer_time
from voidless.toolpath.listing import limits_listing
from voidless.toolpath.motion import build_time
from voidless.toolpath.moves import Toolpath
from voidless.toolpath.sharing import plan_specimens
from voidless.toolpath.writer import file_name, write_gcode
from voidless.workflows.limits import limit_dict
from voidless.workflows.opening import SCHEMA_VERSION, OpenCampaign, code_version, open_campaign
from voidless.workflows.qualified import machine_notes
from voidless.workflows.training import rng_of
from voidless.workflows.writing import output_folder, write_bytes, write_text

__all__ = ["Making", "make_files"]

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Making:
    """
    How builds are made.

    Attributes
    ----------
    dry : bool
        List the limits that each build respects, and write nothing.
    one_by_one : bool
        Finish each specimen before the next one is begun; the machine states its clearances.
    hold : bool
        Even out layer times over the gauge length of upright bars by pauses.
    mark : bool
        Sink build and position into each specimen that has room for it. Testers then see which build it is.
    """

    dry: bool = False
    one_by_one: bool = False
    hold: bool = False
    mark: bool = False


def make_files(
    folder: str | Path,
    wanted: Sequence[str] = (),
    making: Making = Making(),
    progress: Progress = lambda _: None,
) -> dict[str, Any]:
    """
    Return the files that were written, each with its build and kind, and what each build asks of the machine.

    Parameters
    ----------
    folder : path
        The campaign's folder.
    wanted : sequence of str
        Runs or builds; empty: every open build.
    making : Making
        In which order specimens are printed, whether they are marked, and whether anything is written.

    Raises
    ------
    InputError
        A run or build is not known, nothing is planned, or the machine cannot do what is asked.
    """
    with open_campaign(folder) as opened:
        builds = _chosen(opened, wanted)
        files: list[dict[str, Any]] = []
        checks: list[dict[str, Any]] = []
        for number, build in enumerate(builds, 1):
            progress(f"build {build.label} ({number} of {len(builds)})")
            made = _made(opened, build, making)
            checks.append(_check(opened, made))
            if not making.dry:
                files += _build_files(opened, made)
        if not making.dry:
            progress("specimens")
            files += _specimen_files(opened)
        answer = {"schema_version": SCHEMA_VERSION, "files": files, "checks": checks}
        return {**answer, "dry": making.dry, "cautions": list(_cautions(opened))}


def _cautions(opened: OpenCampaign) -> dict[str, None]:
    """Return cautions of the build and of testing its specimens, each once."""
    kinds = [specimen(order.kind) for order in opened.orders]
    return dict.fromkeys([*BUILD_CAUTIONS, *(kind.caution for kind in kinds if kind.caution)])


def _chosen(opened: OpenCampaign, wanted: Sequence[str]) -> list[Build]:
    builds = opened.store.builds()
    if not wanted:
        open_labels = {item.build for item in opened.store.planned()}
        chosen = [build for build in builds if build.label in open_labels]
        if not chosen:
            raise InputError("voidless make", "no build is open", "a plan", "Plan first: voidless plan DIR")
        return chosen
    known = tuple(dict.fromkeys(label for build in builds for label in (build.run, build.label)))
    for name in wanted:
        if name not in known:
            expected = f"one of {', '.join(known[:12])}" if known else "a planned run"
            raise InputError("voidless make", f"no run or build {name!r}", expected, suggest(name, known))
    return [build for build in builds if build.label in wanted or build.run in wanted]


@dataclass(frozen=True, eq=False)
class _Made:
    """A build in memory: settings, toolpath, and its G-code."""

    build: Build
    settings: Mapping[str, float]
    toolpath: Toolpath
    text: str


def _made(opened: OpenCampaign, build: Build, making: Making) -> _Made:
    settings, machine = {**opened.fixed, **build.settings}, opened.machine
    prefix = build.label.lstrip("B0") if making.mark else None
    toolpath = plan_specimens(opened.orders, settings, machine, making.one_by_one, prefix)
    if making.hold:
        toolpath = held_layer_time(toolpath, machine)
    header = [
        f"Campaign {opened.campaign.name}",
        f"Run {build.run} build {build.label}",
        f"Voidless {code_version()}",
    ]
    return _Made(build, settings, toolpath, write_gcode(toolpath, machine, settings, header))


def _check(opened: OpenCampaign, made: _Made) -> dict[str, Any]:
    """Return what a build asks of the machine, limit by limit, and the layer times of its upright bars."""
    rows = limits_listing(made.text, made.toolpath, made.settings, opened.machine)
    return {
        "build": made.build.label,
        "run": made.build.run,
        "build_min": build_time(made.toolpath, opened.machine).total_s / 60.0,
        "limits": [limit_dict(row) for row in rows],
        "layer_times": [
            {
                "position": bar.position,
                "kind": bar.kind,
                "lowest_s": bar.lowest_s,
                "highest_s": bar.highest_s,
                "steady": bar.steady,
            }
            for bar in gauge_times(made.toolpath, opened.machine)
        ],
        "notes": [
            *machine_notes(opened, made.settings),
            *made.toolpath.notes,
            *_specimen_notes(opened),
        ],
    }


def _specimen_notes(opened: OpenCampaign) -> list[str]:
    kinds = {order.kind: specimen(order.kind) for order in opened.orders}
    return [f"{name}: {kind.note}" for name, kind in kinds.items() if kind.note]


def _build_files(opened: OpenCampaign, made: _Made) -> list[dict[str, Any]]:
    build, folder = made.build, output_folder(opened) / "builds"
    gcode = write_text(folder / file_name(build.label, build.run), made.text)
    facts = _sheet_facts(opened, build, made.settings, made.toolpath)
    html = write_text(folder / f"{build.label}_{build.run}_run-sheet.html", run_sheet_html(facts))
    csv = write_text(folder / f"{build.label}_{build.run}_results.csv", run_sheet_csv(facts))
    kinds = (("gcode", gcode), ("run_sheet", html), ("result_table", csv))
    return [{"build": build.label, "kind": kind, "path": str(path)} for kind, path in kinds]


def _sheet_facts(
    opened: OpenCampaign, build: Build, settings: Mapping[str, float], toolpath: Toolpath
) -> dict[str, Any]:
    temperature, hours = opened.material.drying
    density = opened.material.property("density_g_cm3").value
    return {
        "schema_version": SCHEMA_VERSION,
        "campaign": {
            "name": opened.campaign.name,
            "material": opened.campaign.material,
            "machine": opened.campaign.machine,
            "factors": [{"name": factor.name} for factor in opened.campaign.factors],
        },
        "material": {
            "title": opened.material.title,
            "drying": {"temperature_c": temperature, "hours": hours},
        },
        "machine": {"title": opened.machine.title},
        "build": {
            "run": build.run,
            "build": build.label,
            "order": build.order,
            "session": build.session,
            "settings": dict(settings),
            "build_min": build_time(toolpath, opened.machine).total_s / 60.0,
            "grams": grams(toolpath, density),
        },
        "specimens": _specimens(opened, build),
        "provenance": {"code_version": code_version()},
    }


def _specimens(opened: OpenCampaign, build: Build) -> list[dict[str, Any]]:
    """Return the build's specimens with a blind code and a random test order, the same whenever asked."""
    kinds = {
        f"{order.kind}_{n}": specimen(order.kind)
        for order in opened.orders
        for n in range(1, order.count + 1)
    }
    rng = rng_of(hashlib.sha256((build.label + opened.store.campaign_id).encode()).hexdigest())
    ordered = specimen_test_order(tuple(kinds), rng)
    places = {label: (place, code) for place, (code, label) in enumerate(ordered, 1)}
    return [
        {
            "specimen": label,
            "kind": kind.title,
            "code": places[label][1],
            "test_order": places[label][0],
            "responses": [name for name in kind.responses if name in _wanted(opened)]
            or list(kind.responses[:1]),
            "features": dict(kind.features),
        }
        for label, kind in kinds.items()
    ]


def _wanted(opened: OpenCampaign) -> set[str]:
    asked = {item.response for item in opened.campaign.specifications} | {opened.campaign.objective.response}
    return asked | ({"strength_xy_mpa", "strength_z_mpa"} if "z_ratio" in asked else set())


def _specimen_files(opened: OpenCampaign) -> list[dict[str, Any]]:
    folder = output_folder(opened) / "specimens"
    files = []
    for order in opened.orders:
        kind = specimen(order.kind)
        for ending, write in (("stl", mesh_stl), ("3mf", mesh_3mf)):
            path = write_bytes(folder / f"{order.kind}.{ending}", write(kind))
            files.append({"build": "", "kind": f"specimen_{ending}", "path": str(path)})
    return files
