"""Write the files to print: G-code, specimens, run sheets."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from voidless.campaign.types import Build
from voidless.errors import InputError
from voidless.quantities import suggest
from voidless.reporting.runsheet import run_sheet_csv, run_sheet_html
from voidless.specimens.catalogue import specimen
from voidless.specimens.mesh import mesh_3mf, mesh_stl
from voidless.toolpath.build import grams
from voidless.toolpath.cautions import BUILD_CAUTIONS
from voidless.toolpath.lag_feed import FedAhead
from voidless.toolpath.layer_time import gauge_times, held_layer_time
from voidless.toolpath.listing import limits_listing, own_code_notes
from voidless.toolpath.motion import build_time
from voidless.toolpath.moves import Toolpath
from voidless.toolpath.sharing import plan_specimens
from voidless.toolpath.writer import file_name, write_gcode
from voidless.workflows.beds import shared_bed
from voidless.workflows.blinding import labelled, test_order
from voidless.workflows.feeding import fed_ahead, fed_dict, fed_words
from voidless.workflows.limits import limit_dict
from voidless.workflows.opening import SCHEMA_VERSION, OpenCampaign, code_version, open_campaign
from voidless.workflows.qualified import machine_notes
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
    feed_ahead : bool
        Feed ahead of the machine's measured pressure lag.
    """

    dry: bool = False
    one_by_one: bool = False
    hold: bool = False
    mark: bool = False
    feed_ahead: bool = False


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
        beds = _chosen(opened, wanted)
        files: list[dict[str, Any]] = []
        checks: list[dict[str, Any]] = []
        for number, bed in enumerate(beds, 1):
            progress(f"build {bed[0].label} ({number} of {len(beds)})")
            made = _made(opened, bed, making)
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


def _chosen(opened: OpenCampaign, wanted: Sequence[str]) -> list[list[Build]]:
    """Return the beds, each with all the runs that it carries."""
    builds = opened.store.builds()
    if not wanted:
        open_labels = {item.build for item in opened.store.planned()}
        chosen = [build for build in builds if build.label in open_labels]
        if not chosen:
            raise InputError("voidless make", "no build is open", "a plan", "Plan first: voidless plan DIR")
        return _beds(builds, {build.label for build in chosen})
    known = tuple(dict.fromkeys(label for build in builds for label in (build.run, build.label)))
    for name in wanted:
        if name not in known:
            expected = f"one of {', '.join(known[:12])}" if known else "a planned run"
            raise InputError("voidless make", f"no run or build {name!r}", expected, suggest(name, known))
    return _beds(builds, {build.label for build in builds if build.label in wanted or build.run in wanted})


def _beds(builds: Sequence[Build], labels: Collection[str]) -> list[list[Build]]:
    beds: dict[str, list[Build]] = {}
    for build in builds:
        if build.label in labels:
            beds.setdefault(build.label, []).append(build)
    return list(beds.values())


@dataclass(frozen=True, eq=False)
class _Made:
    """A bed in memory: its runs with their settings, toolpath, run of each placement, and its G-code."""

    builds: Sequence[Build]
    settings: Sequence[Mapping[str, float]]
    toolpath: Toolpath
    run_of: Sequence[str]
    text: str
    fed: FedAhead | None = None
    notes: Sequence[str] = ()

    @property
    def label(self) -> str:
        """Label of the build."""
        return self.builds[0].label

    def places(self, run: str) -> str:
        """Return where a run's specimens stand."""
        pairs = zip(self.toolpath.placements, self.run_of, strict=True)
        return ", ".join(str(placed.position) for placed, which in pairs if which == run)


def _made(opened: OpenCampaign, bed: Sequence[Build], making: Making) -> _Made:
    settings = [{**opened.fixed, **build.settings} for build in bed]
    machine, label = opened.machine, bed[0].label
    notes: Sequence[str] = ()
    run_of: Sequence[str]
    prefix = _digits(label) if making.mark else None
    if len(bed) > 1:
        shared = shared_bed(opened, bed, making.one_by_one, prefix)
        toolpath, run_of, notes = shared.toolpath, shared.run_of, shared.notes
    else:
        toolpath = plan_specimens(opened.orders, settings[0], machine, making.one_by_one, prefix)
        run_of = [bed[0].run] * len(toolpath.placements)
    if making.hold:
        toolpath = held_layer_time(toolpath, machine)
    fed = fed_ahead(toolpath, machine) if making.feed_ahead else None
    toolpath = fed.toolpath if fed else toolpath
    runs = ", ".join(build.run for build in bed)
    header = [f"Campaign {opened.campaign.name}", f"Run {runs} build {label}", f"Voidless {code_version()}"]
    text = write_gcode(toolpath, machine, settings[0], header)
    return _Made(bed, settings, toolpath, run_of, text, fed, notes)


def _digits(label: str) -> str:
    """Return what is sunk into the specimens of a build: its number."""
    number = label.lstrip("B").lstrip("0")
    if not (number.isascii() and number.isdigit()):
        raise InputError(
            "voidless make --mark",
            f"{label!r} has no number to sink",
            "a build such as B07",
            "Leave --mark out.",
        )
    return number


def _check(opened: OpenCampaign, made: _Made) -> dict[str, Any]:
    """Return what a build asks of the machine, limit by limit, and the layer times of its upright bars."""
    rows = limits_listing(made.text, made.toolpath, made.settings[0], opened.machine)
    return {
        "build": made.label,
        "run": made.builds[0].run,
        "runs": [{"run": build.run, "positions": made.places(build.run)} for build in made.builds],
        "build_min": build_time(made.toolpath, opened.machine).total_s / 60.0,
        "limits": [limit_dict(row) for row in rows],
        "lag": fed_dict(made.fed, opened.machine),
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
            *machine_notes(opened, made.settings[0]),
            *filter(None, [fed_words(made.fed, opened.machine)]),
            *own_code_notes(rows, opened.machine),
            *made.toolpath.notes,
            *made.notes,
            *_specimen_notes(opened),
        ],
    }


def _specimen_notes(opened: OpenCampaign) -> list[str]:
    kinds = {order.kind: specimen(order.kind) for order in opened.orders}
    return [f"{name}: {kind.note}" for name, kind in kinds.items() if kind.note]


def _build_files(opened: OpenCampaign, made: _Made) -> list[dict[str, Any]]:
    """Return one G-code for the bed, and a run sheet and a result table for each of its runs."""
    folder = output_folder(opened) / "builds"
    runs = "_".join(build.run for build in made.builds)
    written = [("gcode", write_text(folder / file_name(made.label, runs), made.text))]
    for build, settings in zip(made.builds, made.settings, strict=True):
        facts = _sheet_facts(opened, build, settings, made)
        stem = f"{build.label}_{build.run}"
        written.append(("run_sheet", write_text(folder / f"{stem}_run-sheet.html", run_sheet_html(facts))))
        written.append(("result_table", write_text(folder / f"{stem}_results.csv", run_sheet_csv(facts))))
    return [{"build": made.label, "kind": kind, "path": str(path)} for kind, path in written]


def _sheet_facts(
    opened: OpenCampaign, build: Build, settings: Mapping[str, float], made: _Made
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
            "build_min": build_time(made.toolpath, opened.machine).total_s / 60.0,
            "grams": grams(made.toolpath, density),
            "bed": _bed_said(build, made),
            "feed": fed_words(made.fed, opened.machine),
        },
        "specimens": _specimens(opened, build),
        "provenance": {"code_version": code_version()},
    }


def _bed_said(build: Build, made: _Made) -> str | None:
    """Return with whom a run shares its bed and which specimens are its own; None where it is alone."""
    others = [other.run for other in made.builds if other.run != build.run]
    if not others:
        return None
    return f"shared with {', '.join(others)}; of this run are positions {made.places(build.run)}"


def _specimens(opened: OpenCampaign, build: Build) -> list[dict[str, Any]]:
    """Return the build's specimens with a blind code and a random test order, the same whenever asked."""
    kinds = {label: specimen(kind) for label, kind in labelled(opened.orders).items()}
    ordered = test_order(opened.store, opened.orders, build)
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
