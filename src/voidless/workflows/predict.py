"""Predict every response of a setting by physics alone."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from voidless.errors import InputError
from voidless.machines import Machine, load_machine
from voidless.materials import Material, load_material
from voidless.physics.melt.limit import RateLimits
from voidless.quantities import QUANTITIES, Role, suggest
from voidless.settings import resolve
from voidless.specimens.catalogue import specimens_for
from voidless.specimens.order import SpecimenOrder
from voidless.toolpath.build import plan_build
from voidless.toolpath.layer_time import gauge_times, layer_times
from voidless.toolpath.moves import Toolpath
from voidless.twin.context import DEFAULT_CONTEXT
from voidless.twin.fast import predict
from voidless.workflows.clock import full_minutes
from voidless.workflows.conditions import check_condition
from voidless.workflows.opening import SCHEMA_VERSION, open_campaign
from voidless.workflows.qualified import machine_notes
from voidless.workflows.writing import write_text

__all__ = ["load_named_machine", "load_named_material", "number_of", "predict_settings"]

_SPECIMENS = ("clarity", "z_ratio", "size_error_mm")
_TOLD = ("exposure_h", "humidity_pct", "room_c", "thickness_mm", "gap_mm", "frequency_lp_mm")
"""Conditions that are told whether they were stated or not: the wetness of the spool, and what clarity means."""
_TIME_ERROR = 0.05
"""Relative error of motion time against real machines. Common practice, no source."""


def load_named_material(name: str) -> Material:
    """Return a material by library name, or from a TOML file."""
    path = Path(name)
    return load_material(path.stem, path) if name.endswith(".toml") else load_material(name)


def load_named_machine(name: str) -> Machine:
    """Return a machine by library name, or from a TOML file."""
    path = Path(name)
    return load_machine(path.stem, path) if name.endswith(".toml") else load_machine(name)


@dataclass(frozen=True)
class _Ground:
    """Material and machine with their names, settings that stand unless others are given, and what to know of them."""

    names: tuple[str, str]
    material: Material
    machine: Machine
    settings: Mapping[str, float]
    own: tuple[str, ...] = ()
    warn: Callable[[Mapping[str, float]], list[str]] = lambda _: []
    orders: tuple[SpecimenOrder, ...] = ()
    """What a build of the campaign prints; none: the usual specimens."""


@contextmanager
def _ground(material: str | None, machine: str | None, campaign: str | Path | None) -> Iterator[_Ground]:
    """Give the ground facts that are named, or those of a campaign with what was measured on its spools and machine."""
    if campaign is not None:
        if material or machine:
            what = "a campaign and a material or machine"
            raise InputError(
                "voidless predict", what, "one or the other", "Leave out --material and --machine."
            )
        with open_campaign(campaign) as opened:
            yield _Ground(
                (opened.campaign.material, opened.campaign.machine),
                opened.material,
                opened.machine,
                opened.settings(opened.space.settings(opened.usual)),
                opened.ground_notes,
                partial(machine_notes, opened),
                opened.orders,
            )
    elif material and machine:
        yield _Ground((material, machine), load_named_material(material), load_named_machine(machine), {})
    else:
        missing = "--machine" if material else "--material"
        expected = "--material and --machine, or --campaign"
        raise InputError("voidless predict", f"no {missing}", expected, "Name it.")


def predict_settings(
    material: str | None = None,
    machine: str | None = None,
    facts: Mapping[str, str | float] | None = None,
    picture: str | Path | None = None,
    campaign: str | Path | None = None,
) -> dict[str, Any]:
    """
    Return every response with its 95 % band, where the model is outside its range, and what to change first.

    Parameters
    ----------
    material, machine : str or None
        Library names or TOML files.
    facts : mapping or None
        Settings by name, and what the twin's context knows (`exposure_h`, `humidity_pct`, ...).
    picture : path or None
        Where to draw the chain of losses, as an HTML page.
    campaign : path or None
        A campaign's folder instead of material and machine: its own settings stand where none are given, and what was
        measured on its spools and machine stands in place of the library's numbers (`own` says which).

    Raises
    ------
    InputError
        A name or value is wrong, or machine or material do not allow the settings.
    """
    if picture is not None and Path(picture).suffix.lower() not in (".html", ".htm"):
        raise InputError(
            "voidless predict --picture",
            f"{str(picture)!r}",
            "a name that ends in .html",
            "The picture is a page.",
        )
    written, context = _sorted_facts(facts or {})
    with _ground(material, machine, campaign) as ground:
        result = _predicted(ground, {**ground.settings, **written}, context)
    if picture is not None:
        from voidless.reporting.chain import chain_figure

        result["picture"] = str(write_text(Path(picture), chain_figure(result)))
    return result


def _predicted(ground: _Ground, written: Mapping[str, float], context: Mapping[str, float]) -> dict[str, Any]:
    polymer, printer = ground.material, ground.machine
    settings = resolve(written, polymer, printer, "voidless predict --set")
    columns = {name: np.array([value]) for name, value in settings.items()}
    usual = specimens_for(_SPECIMENS)
    build = plan_build(usual, settings, printer, even=False)
    told = [name for name in DEFAULT_CONTEXT if name in _TOLD or name in context]
    context = DEFAULT_CONTEXT | _layer_times(build, printer) | dict(context)
    found = predict(columns, polymer, printer, context)
    responses = {
        name: {key: float(getattr(item, key)[0]) for key in ("mean", "low", "high")}
        | {"unit": QUANTITIES[name].unit}
        for name, item in found.responses.items()
    }
    own = plan_build(ground.orders, settings, printer, even=False) if ground.orders else build
    minutes = full_minutes(own, ground.orders or usual, settings, printer)
    responses["build_min"] = _time(minutes)
    return {
        "schema_version": SCHEMA_VERSION,
        "material": ground.names[0],
        "machine": ground.names[1],
        "settings": settings,
        "context": dict(context),
        "conditions": {name: context[name] for name in told},
        "responses": responses,
        "outside_range": list(found.outside_range),
        "chain": found.chain,
        "advice": list(found.advice),
        "notes": [*ground.warn(settings), *found.notes],
        "own": list(ground.own),
        "coarse": {name: float(value[0]) for name, value in found.shape.items()},
        "rate_limits": _limits(found.limits),
    }


def _sorted_facts(facts: Mapping[str, str | float]) -> tuple[dict[str, float], dict[str, float]]:
    settings: dict[str, float] = {}
    context: dict[str, float] = {}
    for name, text in facts.items():
        where = f"voidless predict --set {name}"
        known = QUANTITIES.get(name)
        is_setting = known is not None and known.role is Role.SETTING
        if not is_setting and name not in DEFAULT_CONTEXT:
            names = (*(n for n, q in QUANTITIES.items() if q.role is Role.SETTING), *DEFAULT_CONTEXT)
            if known is not None:
                what = f"{known.words.partition(',')[0]} follows from the settings"
                raise InputError(where, what, "a setting or a condition", "Set what it follows from.")
            raise InputError(
                where,
                f"{name!r} is neither a setting nor a condition",
                "one of " + ", ".join(names),
                suggest(name, names),
            )
        value = number_of(text, where)
        if not is_setting:
            check_condition(name, value, where)
        (settings if is_setting else context)[name] = value
    return settings, context


def number_of(text: str | float, where: str) -> float:
    """Return the number that a text says."""
    try:
        return float(text)
    except ValueError as fault:
        raise InputError(where, f"{text!r} is not a number", "a number", "Correct it.") from fault


def _layer_times(build: Toolpath, machine: Machine) -> dict[str, float]:
    """Return the layer times that upright and flat bars of the usual build see on the way of its own moves."""
    times = layer_times(build, machine)
    flat = [index for index, placed in enumerate(build.placements) if placed.kind == "bar_xy"]
    upright = [gauge.mean_s for gauge in gauge_times(build, machine)]
    found = {"flat_layer_time_s": float(np.nanmean(times[flat]))}
    return found | ({"upright_layer_time_s": float(np.mean(upright))} if upright else {})


def _limits(limits: RateLimits) -> dict[str, Any]:
    """Return the highest rates in shop units; a limit that was never reached is left out."""
    rates = {f"{name}_mm3_s": 1e9 * getattr(limits, name) for name in ("core", "power", "pressure", "least")}
    return {name: rate for name, rate in rates.items() if np.isfinite(rate)} | {"cause": limits.cause}


def _time(minutes: float) -> dict[str, Any]:
    """Return the motion time of a build with its band, a stated share and no model."""
    low, high = minutes * (1.0 - 2 * _TIME_ERROR), minutes * (1.0 + 2 * _TIME_ERROR)
    return {"mean": minutes, "low": low, "high": high, "unit": "min"}
